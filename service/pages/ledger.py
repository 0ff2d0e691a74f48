"""What jobs came to: quoted beside actual hours, packs and money, for one job and over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from flask import Response, request

from service.api.paging import page_of
from service.api.problems import Refusal
from service.pages.jobs import head_of
from service.pages.operations import ask
from service.pages.serving import Pages, Visit
from service.records import jobs, own_values, tables
from service.records.errors import NotPossibleNow

_PAGE = 20
_NOTHING = Decimal(0)


def add_ledger(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/ledger", overview)
    pages.add("/jobs/<job>/ledger", job_ledger)


def job_ledger(visit: Visit, job: str) -> Response:
    """One job's ledger."""
    head = head_of(visit, job)
    book = own_values.get_value(visit.session, visit.account_id, "price_book").body
    return visit.page(
        "job_ledger.html", title="Quoted and actual", head=head, step="ledger", ledger=_ledger(visit, job),
        products={product["code"]: product for product in book["products"]},
    )  # fmt: skip


def _ledger(visit: Visit, job: str) -> dict[str, Any] | None:
    """The ledger, with its figures as numbers; None before there is a plan."""
    try:
        found: dict[str, Any] = ask(visit, "read_ledger", job).body
    except (Refusal, NotPossibleNow):
        return None
    for name in ("quoted_h", "recorded_h"):
        found[name] = Decimal(found[name])
    found["in_money"] = {
        name: value if name == "currency" or value is None else Decimal(value)
        for name, value in found["in_money"].items()
    }
    return found


def overview(visit: Visit) -> Response:
    """The newest jobs with what each was quoted at and what it took, and how far off the hours were in all."""

    def shown(row: tables.Job) -> dict[str, Any]:
        return {"row": row, "ledger": _ledger(visit, row.id)}

    found = page_of(
        {"limit": _PAGE, "cursor": request.args.get("cursor")},
        lambda limit, after: jobs.list_jobs(visit.session, visit.account_id, limit=limit, after=after),
        shown,
    ).body
    items = found["items"]
    return visit.page(
        "ledger.html", title="Quoted and actual", items=items, following=found.get("next"), sums=_sums(items, visit.currency),
        first=not request.args.get("cursor"),
    )  # fmt: skip


def _sums(items: Sequence[dict[str, Any]], currency: str) -> dict[str, Any]:
    """Over the jobs shown that have hours written down: only those can be held beside their quotes.

    Of money, over those in one currency.
    """
    worked = [one["ledger"] for one in items if one["ledger"] and one["ledger"]["recorded_h"]]
    quoted = sum((one["quoted_h"] for one in worked), _NOTHING)
    recorded = sum((one["recorded_h"] for one in worked), _NOTHING)
    sums = [one["in_money"] for one in worked if one["in_money"]["currency"] == currency]
    results = [one["result"] for one in sums if one["result"] is not None]
    return {
        "jobs": len(worked),
        "quoted_h": quoted,
        "recorded_h": recorded,
        "ratio": recorded / quoted if quoted else None,
        "result": sum(results, _NOTHING) if results else None,
        "results": len(results),
    }
