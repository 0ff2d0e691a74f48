"""Slanted cuts and splices on the plan's pages: tried on one job, shown with their lengths, rolls and savings."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import requests

from api_schema.cut_list import CutList
from api_schema.layout import Layout
from api_schema.shape import load
from api_schema.slanted import slanted_pieces
from tests.pages.desk import Desk


def _surface(name: str, outline: list[list[int]], centres: int) -> dict[str, Any]:
    return {
        "id": name, "kind": "wall", "outline_mm": outline, "run": "across_members",
        "members": {"direction": "up", "centres_mm": centres, "width_mm": 45},
    }  # fmt: skip


_GABLE = [[0, 0], [8000, 0], [8000, 400], [4000, 5400], [0, 400]]
_WALL = [[0, 0], [6300, 0], [6300, 1400], [0, 1400]]
_BODY = {
    "reference": "CUTS-1",
    "surfaces": [
        *(_surface(f"gable-{side}", _GABLE, 400) for side in ("west", "east")),
        *(_surface(f"w{number}", _WALL, 600) for number in range(1, 6)),
    ],
}


def _api(desk: Desk, method: str, path: str, body: Any = None, **headers: str) -> requests.Response:
    answer = requests.request(
        method,
        desk.url + path,
        json=body,
        headers={"Authorization": f"Bearer {desk.key}", **headers},
        timeout=60,
    )
    assert answer.ok, answer.text
    return answer


def _ten_metre_rolls_only(desk: Desk) -> None:
    read = _api(desk, "GET", "/v1/price-book")
    book = read.json()
    book["products"] = [
        one for one in book["products"] if one["kind"] != "membrane" or one["code"] == "membrane-1500"
    ]
    membrane = next(one for one in book["products"] if one["kind"] == "membrane")
    membrane["packs"] = [{**membrane["packs"][0], "size": "10", "price": "60.00", "breaks": []}]
    _api(desk, "PUT", "/v1/price-book", book, **{"If-Match": read.headers["ETag"]})


def test_splices_and_slanted_cuts_are_tried_on_a_plan_and_shown(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at("phone")
    desk.sign_in()
    _ten_metre_rolls_only(desk)
    job = _api(desk, "POST", "/v1/jobs", _BODY, Prefer="wait=30").json()["id"]
    whole = _api(desk, "GET", f"/v1/jobs/{job}/plan").json()
    assert whole["cut_list"]["spliced"] is None
    desk.open(f"/jobs/{job}/plan")
    assert "Splices" not in desk.text()
    for tick in ("try-splices", "try-slanted"):
        desk.browser.execute_script("document.getElementById(arguments[0]).click()", tick)
    desk.press("Plan with these")
    desk.until(lambda: "This plan beside the one made" in desk.text(), what="the comparison")
    assert "spliced pieces yes (your standard: no)" in desk.text()
    assert "slanted pieces sharing a cut yes (your standard: no)" in desk.text()

    plan = _api(desk, "GET", f"/v1/jobs/{job}/plan").json()
    spliced = plan["cut_list"]["spliced"]
    assert Decimal(plan["price"]["net"]) < Decimal(whole["price"]["net"])
    desk.browser.execute_script("document.querySelectorAll('details').forEach((one) => one.open = true)")
    said = desk.text()
    assert f"{spliced['money_saved']}" in said.replace(",", "")
    for one in spliced["splices"]:
        assert f"{one['parts'][0]} is part 1 of {one['piece']}; {one['parts'][1]} comes from roll" in said
    found = slanted_pieces(load(Layout, plan["layout"]), load(CutList, plan["cut_list"]))
    assert found
    assert len(desk.all("svg.pair")) * 2 == len(found)
    for name, one in found.items():
        words = f"{name}: {one.long_edge} edge {one.long_mm} mm, {one.short_edge} edge {one.short_mm} mm"
        turned = "; lies turned half round on the roll, never over" if one.turned else "."
        assert f"{words}, slanted at its {one.at}{turned}" in said
    desk.look()

    first = spliced["splices"][0]
    surface, _, short = first["piece"].rpartition("/")
    desk.open(f"/jobs/{job}/surfaces/{surface}")
    assert f"{short}.1 is part 1 of {short}" in desk.text()
    assert f"{short}.1 and 2, a splice" in desk.text()
    desk.look()
    slanted = next(iter(found.values()))
    desk.open(f"/jobs/{job}/surfaces/{slanted.piece.rpartition('/')[0]}")
    assert f"from one cut with {slanted.partner}" in desk.text()
    assert desk.complaints() == []


def test_a_standard_that_allows_splices_holds_for_a_batch(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    _ten_metre_rolls_only(desk)
    desk.open("/standard")
    desk.browser.execute_script(
        "document.querySelector('[type=checkbox][name=\"/splices_allowed\"]').click()"
    )
    desk.type("/splice_part_mm", "90 cm")
    desk.press("Save the standard")
    desk.until(lambda: "Saved." in desk.text())
    standard = _api(desk, "GET", "/v1/standard").json()
    assert (standard["splices_allowed"], standard["splice_part_mm"]) == (True, 900)
    walls = _BODY["surfaces"][2:]
    bodies = [{"reference": f"CUTS-{number}", "surfaces": walls[:number]} for number in (3, 5)]
    made = _api(desk, "POST", "/v1/batches", {"reference": "Cuts", "jobs": bodies}).json()
    address = f"/v1/batches/{made['id']}"
    desk.until(lambda: _api(desk, "GET", address).json()["counts"]["ready"] == len(bodies), what="the batch")
    jobs = [one["id"] for one in _api(desk, "GET", "/v1/jobs").json()["items"]]
    plans = [_api(desk, "GET", f"/v1/jobs/{job}/plan").json()["cut_list"] for job in jobs]
    assert sorted((one["rolls_opened"], len(one["spliced"]["splices"])) for one in plans) == [(2, 1), (4, 1)]
