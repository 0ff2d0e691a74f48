"""A job described by its building: derived, read back, changed surface by surface, planned, drawn and printed."""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from service.api.examples import JOB
from tests.service.api.office import Office

WorkNow = Callable[[Office], list[str]]

HOUSE: dict[str, Any] = {
    "reference": "PX-020",
    "building": {
        "storeys": [
            {
                "id": "ground",
                "footprint_mm": [[0, 0], ["8 m", 0], ["8 m", "6 m"], [0, "6 m"]],
                "wall_names": ["south", "east", "north", "west"],
                "height_mm": 2500,
                "roof": {"form": "gable", "pitch_deg": 40},
            }
        ],
        "openings": [
            {"id": "w1", "kind": "window", "wall": "south", "from_left_mm": 1000, "from_floor_mm": 900,
             "width_mm": 1200, "height_mm": 1200}
        ],
        "penetrations": [
            {"id": "p1", "kind": "pipe", "diameter_mm": 110, "wall": "north", "from_left_mm": 2000, "from_floor_mm": 300}
        ],
    },
}  # fmt: skip


@pytest.fixture
def planned(office: Office, work_now: WorkNow) -> str:
    sent = office.post("/v1/jobs", HOUSE)
    assert sent.status_code == 202, sent.text
    work_now(office)
    return str(sent.json["id"])


def test_a_building_is_planned_like_a_survey_made_by_hand(
    office: Office, work_now: WorkNow, planned: str
) -> None:
    plan = office.get(f"/v1/jobs/{planned}/plan").json
    assert (plan["status"], plan["problem"]) == ("ready", None)
    survey = office.get(f"/v1/jobs/{planned}/survey").json
    names = [surface["id"] for surface in survey["surfaces"]]
    assert len(names) == 6
    assert [surface["id"] for surface in plan["layout"]["surfaces"]] == names
    assert {sealing["penetration"] for sealing in plan["take_off"]["penetrations"]} == {"p1"}
    for check in plan["checks"]:
        found = re.match(r"/surfaces/(\d+)", check["pointer"])
        if found:
            assert survey["surfaces"][int(found[1])]["id"] in check["message"]

    by_hand = {
        "reference": "PX-021",
        "surfaces": survey["surfaces"],
        "junctions": survey["junctions"],
        "volume_m3": float(survey["volume_m3"]),
    }
    other = office.post("/v1/jobs", by_hand)
    assert other.status_code == 202, other.text
    work_now(office)
    alike = office.get(f"/v1/jobs/{other.json['id']}/plan").json
    for part in ("layout", "cut_list", "take_off", "labour", "order_lines", "price"):
        assert alike[part] == plan[part], part
    quote = office.post(f"/v1/jobs/{planned}/quotes")
    assert (quote.status_code, quote.json["price"]["net"]) == (201, plan["price"]["net"])
    assert "quote" in work_now(office)
    kinds = {document["kind"] for document in office.get(f"/v1/jobs/{planned}/documents").json["items"]}
    assert {"quote", "site_pack"} <= kinds


def test_the_survey_has_areas_volume_and_a_closed_shape(office: Office, planned: str) -> None:
    read = office.get(f"/v1/jobs/{planned}/survey")
    survey = read.json
    assert (survey["job"], survey["revision"], survey["derived"]) == (planned, 1, True)
    assert Decimal(survey["floor_area_m2"]) == 48
    rise = 3 * 0.8390996311772799  # tan 40°
    assert float(survey["volume_m3"]) == pytest.approx(8 * 6 * 2.5 + 8 * 6 * rise / 2, rel=1e-5)
    edges: dict[tuple[int, int], int] = {}
    for face in survey["mesh"]["faces"]:
        for a, b in zip(face["corners"], face["corners"][1:] + face["corners"][:1], strict=True):
            edges[a, b] = edges.get((a, b), 0) + 1
    assert all(edges.get((b, a), 0) == count for (a, b), count in edges.items())
    joined = {(end["surface"], end["edge"]) for one in survey["junctions"] for end in (one["a"], one["b"])}
    for surface in survey["surfaces"]:
        finished = {edge["edge"] for edge in surface["edges"]}
        for edge in range(len(surface["outline_mm"])):
            assert (edge in finished) != ((surface["id"], edge) in joined)
    assert [row["surface"] for row in survey["measured"]] == [one["id"] for one in survey["surfaces"]]
    unchanged = office.get(f"/v1/jobs/{planned}/survey", If_None_Match=read.headers["ETag"])
    assert unchanged.status_code == 304


def test_one_derived_surface_is_changed_and_the_rest_still_follows_the_building(
    office: Office, work_now: WorkNow, planned: str
) -> None:
    survey = office.get(f"/v1/jobs/{planned}/survey").json
    (wall,) = [surface for surface in survey["surfaces"] if surface["openings"]]
    job = office.get(f"/v1/jobs/{planned}")
    assert job.json["surfaces"] == []
    wider = [[900, 900], [2700, 900], [2700, 2100], [900, 2100]]
    own = {**wall, "openings": [{"id": "w1", "kind": "window", "outline_mm": wider}]}
    changed = office.send(
        "PUT", f"/v1/jobs/{planned}", {**job.json, "surfaces": [own]}, If_Match=job.headers["ETag"]
    )
    assert (changed.status_code, changed.json["revision"]) == (202, 2)
    work_now(office)
    after = office.get(f"/v1/jobs/{planned}/survey").json
    assert (after["revision"], after["replaced"], after["derived"]) == (2, [wall["id"]], True)
    for one, other in zip(survey["surfaces"], after["surfaces"], strict=True):
        if one["id"] == wall["id"]:
            assert other["openings"][0]["outline_mm"] == wider
        else:
            assert other == one
    assert office.get(f"/v1/jobs/{planned}").json["building"] == job.json["building"]
    drawn = office.get(f"/v1/jobs/{planned}/drawings/{wall['id']}.svg")
    assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")


def test_the_building_is_drawn_with_the_names_of_its_surfaces(office: Office, planned: str) -> None:
    drawn = office.get(f"/v1/jobs/{planned}/isometric.svg")
    assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")
    assert "sandbox" in drawn.headers["Content-Security-Policy"]
    for surface in office.get(f"/v1/jobs/{planned}/survey").json["surfaces"]:
        assert surface["id"] in drawn.text
    assert (
        office.post("/v1/jobs", {**JOB, "surfaces": [{**JOB["surfaces"][0], "id": "_isometric"}]}).status_code
        == 422
    )


def test_a_job_without_a_building_gives_its_own_surfaces_and_no_drawing_of_the_whole(
    office: Office, work_now: WorkNow
) -> None:
    job = office.job()
    assert office.get(f"/v1/jobs/{job}/survey").json["code"] == "plan_not_ready"
    work_now(office)
    survey = office.get(f"/v1/jobs/{job}/survey").json
    assert (survey["derived"], survey["mesh"], survey["envelope_area_m2"]) == (False, None, None)
    assert [surface["id"] for surface in survey["surfaces"]] == ["living-north", "living-east"]
    assert office.get(f"/v1/jobs/{job}/isometric.svg").status_code == 404


def test_a_building_that_cannot_be_derived_fails_with_its_places_named(
    office: Office, work_now: WorkNow
) -> None:
    crossing = [[0, 0], [8000, 6000], [8000, 0], [0, 6000]]
    storey = {**HOUSE["building"]["storeys"][0], "footprint_mm": crossing}
    job = office.job(surfaces=[], junctions=[], building={"storeys": [storey]})
    work_now(office)
    plan = office.get(f"/v1/jobs/{job}/plan").json
    assert (plan["status"], plan["problem"]["code"]) == ("failed", "cannot_be_planned")
    assert all(fault["pointer"].startswith("/building/storeys/0") for fault in plan["problem"]["errors"])


def test_faults_of_surfaces_beside_a_building_are_still_named_at_once(office: Office) -> None:
    crossing = {
        **JOB["surfaces"][0],
        "outline_mm": [[0, 0], [6200, 2450], [6200, 0], [0, 2450]],
        "openings": [],
    }
    answer = office.post("/v1/jobs", {**HOUSE, "surfaces": [crossing]})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"].startswith("/surfaces/0")


def test_a_junction_with_a_surface_nobody_has_fails_where_the_building_is_derived(
    office: Office, work_now: WorkNow
) -> None:
    nowhere = {"a": {"surface": "ground-south", "edge": 1}, "b": {"surface": "attic", "edge": 0}}
    job = office.post("/v1/jobs", {**HOUSE, "junctions": [nowhere]}).json["id"]
    work_now(office)
    plan = office.get(f"/v1/jobs/{job}/plan").json
    assert plan["status"] == "failed"
    assert "/junctions/0/b/surface" in {fault["pointer"] for fault in plan["problem"]["errors"]}


def test_the_budget_by_envelope_counts_the_whole_envelope(office: Office, work_now: WorkNow) -> None:
    job = office.post("/v1/jobs", {**HOUSE, "target": {"q50_m3_h_m2": 2.0}}).json["id"]
    work_now(office)
    survey = office.get(f"/v1/jobs/{job}/survey").json
    budget = office.get(f"/v1/jobs/{job}/leakage-budget").json["budget"]
    assert budget["allowed_m3_h"] == pytest.approx(2.0 * float(survey["envelope_area_m2"]), rel=1e-6)
