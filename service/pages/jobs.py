"""The list of jobs, removing one, and what every page of a job shows at its head."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import Response, request

from service.api import jobs as operations
from service.api.paging import page_of
from service.pages.price_standing import Standing, standing_of
from service.pages.serving import Pages, Visit, go
from service.records import hours, jobs, orders, pressure_tests, quotes, runs, tables

_PAGE = 25
STATES = {
    "not_planned": "not planned",
    "queued": "waiting to be planned",
    "running": "being planned",
    "ready": "planned",
    "failed": "cannot be planned",
    "cancelled": "planning stopped",
}


def add_jobs(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs", job_list)
    pages.add("/jobs/<job>", job_home)
    pages.add("/jobs/<job>/remove", remove, scope="write", methods=("GET", "POST"))


def job_list(visit: Visit) -> Response:
    """Every job, newest first, with its state; searched by reference and title."""
    words = request.args.get("words", "").strip()[:100]
    found = page_of(
        {"limit": _PAGE, "cursor": request.args.get("cursor")},
        lambda limit, after: jobs.list_jobs(
            visit.session, visit.account_id, limit=limit, after=after, words=words or None
        ),
        lambda row: {
            "row": row,
            "state": _state(runs.latest_run(visit.session, visit.account_id, row.id, revision=row.revision)),
            "customer": jobs.job_body(visit.session, visit.account_id, row.id, row.revision)["customer"][
                "name"
            ],
            "quote": next(iter(quotes.list_quotes(visit.session, visit.account_id, row.id)), None),
        },
    ).body
    return visit.page(
        "jobs.html", title="Jobs", items=found["items"], following=found.get("next"), words=words, states=STATES,
        first=not request.args.get("cursor"),
    )  # fmt: skip


def _state(run: tables.Run | None) -> str:
    return "not_planned" if run is None else run.state


def job_home(visit: Visit, job: str) -> Response:
    """Leads to where the job stands."""
    head = head_of(visit, job)
    return go(f"/jobs/{job}/{'plan' if head.run is not None else 'measure'}")


def remove(visit: Visit, job: str) -> Response:
    """Asks, then removes."""
    head = head_of(visit, job)
    if request.method == "GET":
        return visit.page("job_remove.html", title="Remove", head=head, step="measure")
    operations.remove_job(visit.asked(if_match=f'"{head.etag}"'), job)
    return go("/jobs", "removed")


@dataclass(frozen=True, slots=True)
class Head:
    """A job and how far it has come, for the steps at the head of its pages."""

    row: tables.Job
    body: dict[str, Any]
    run: tables.Run | None
    """The newest plan of the present revision."""
    etag: str
    quotes: list[tables.Quote]
    orders: list[tables.Order]
    hours: list[tables.RecordedHours]
    tests: list[tables.PressureTest]
    """Its newest fan test, where there is one."""
    prices: Callable[[], Standing]
    """What is to be said of the plan's prices, looked up only where it is shown."""

    @property
    def state(self) -> str:
        """How far the plan is."""
        return _state(self.run)

    @property
    def measured(self) -> str:
        """What was measured, in few words."""
        count = len(self.body["surfaces"])
        if self.body.get("building"):
            return "a building" + (f" and {count} surfaces" if count else "")
        return "1 surface" if count == 1 else f"{count} surfaces"

    @property
    def planned(self) -> str:
        """How far the plan is, in words."""
        return STATES[self.state]

    @property
    def quoted(self) -> str:
        """Where the newest quote stands."""
        return f"{self.quotes[0].number} {self.quotes[0].state}" if self.quotes else "none yet"

    @property
    def ordered(self) -> str:
        """How many orders there are."""
        return {0: "none yet", 1: "1 order"}.get(len(self.orders), f"{len(self.orders)} orders")

    @property
    def fitted(self) -> str:
        """Whether hours were recorded."""
        return {0: "no hours yet", 1: "hours recorded"}.get(
            len(self.hours), f"hours recorded {len(self.hours)} times"
        )

    @property
    def tested(self) -> str:
        """What the newest fan test found."""
        if not self.tests:
            return "not yet"
        result = self.tests[0].result
        if result is None:
            return "readings taken"
        changes = result["figures"]["n50_per_h"]
        return (
            f"{changes['value']:.2f} per h"
            if changes
            else f"{result['figures']['flow_50_m3_h']['value']:.0f} m³/h"
        )


def head_of(visit: Visit, job: str) -> Head:
    """A job with what hangs on it. Raises NotFound."""
    row = jobs.get_job(visit.session, visit.account_id, job)
    run = runs.latest_run(visit.session, visit.account_id, job, revision=row.revision)
    made = quotes.list_quotes(visit.session, visit.account_id, job)
    return Head(
        row=row,
        body=jobs.job_body(visit.session, visit.account_id, job, row.revision),
        run=run,
        etag=operations.etag_of("job", row.id, row.version),
        quotes=made,
        orders=orders.list_orders(visit.session, visit.account_id, job),
        hours=hours.list_hours(visit.session, visit.account_id, job),
        tests=pressure_tests.list_tests(visit.session, visit.account_id, limit=1, job_id=job),
        prices=lambda: "" if run is None or run.state != "ready" else standing_of(visit, run, made),
    )
