"""Every page there is, from the map of routes: at a phone in the dark and at a desk by day, nobody shut out."""

from __future__ import annotations

import re
from collections.abc import Callable

from flask import Flask

from tests.pages.desk import Desk
from tests.pages.firm import Firm

_NO_PAGES = re.compile(r"\.(css|csv|dxf|json|pdf|png|svg|xlsx|zip)$|^/assets/|^/documents/|/state$")
_FURTHER = (
    "/jobs/new?from=building",
    "/jobs/new?from=surfaces",
    "/jobs/new?model={model}",
    "/jobs/{job}/measure?at=/building/openings/0",
    "/jobs/{job}/measure?take={surface}",
    "/account/audit?subject={job}",
    "/no-such-page",
    "/jobs/job_none/plan",
)
"""The same routes with something asked of them, and what answers where there is none."""
_ALIKE = (
    "#content > section:not(:first-of-type, :last-of-type), #content > section:last-of-type > article ~ article, "
    ".contents ul ~ p, .contents ul ~ ul"
)
"""Hundreds of parts of the reference come from one template: all but the first of each."""


def pages_of(app: Flask) -> list[str]:
    """The rule of everything a browser shows as a page."""
    return sorted(
        rule.rule
        for rule in app.url_map.iter_rules()
        if rule.endpoint.startswith("page_")
        and "GET" in (rule.methods or ())
        and not _NO_PAGES.search(rule.rule)
    )


def test_every_page_shuts_nobody_out(app: Flask, firm: Firm, desk_of: Callable[..., Desk]) -> None:
    desk = desk_of(firm)
    desk.sign_in()
    rules = pages_of(app)
    assert {"/jobs", "/jobs/<job>/plan", "/offer/<token>", "/models/<model>", "/price-book/table"} <= set(
        rules
    )
    with desk.axe_everywhere():
        for rule in (*rules, *_FURTHER):
            path = re.sub(r"[<{](\w+)[>}]", lambda found: firm.things[found[1]], rule)
            desk.open(path)
            assert desk.all("main#content h1"), f"{rule} has no heading"
            assert desk.one("title").get_attribute("textContent").strip(), rule
            desk.fits()
            desk.at("phone", dark=True)
            desk.look(alike=_ALIKE if rule == "/reference" else "", markup=False)
            if rule != "/reference":  # its tables of words are read at a desk
                desk.in_reach()
            desk.at("desk")
            desk.look()
    assert desk.complaints() == []
