"""What the outputs learnt is shown with what stands behind it, and is what the next plan counts with."""

from collections.abc import Callable
from decimal import Decimal
from math import exp, log
from typing import Any

import pytest

from tests.service.api.office import Office

PlanNow = Callable[[Office, str], None]


def learnt(office: Office) -> dict[str, dict[str, Any]]:
    answer = office.get("/v1/outputs/learnt")
    assert answer.status_code == 200, answer.text
    return {one["operation"]: one for one in answer.json["outputs"]}


def planned(office: Office, plan_now: PlanNow, reference: str) -> tuple[str, dict[str, Any]]:
    job = office.job(reference=reference)
    plan_now(office, job)
    return job, office.get(f"/v1/jobs/{job}/plan").json["labour"]


def hours_of(labour: dict[str, Any], operation: str) -> Decimal:
    return sum((Decimal(x["hours"]) for x in labour["operations"] if x["operation"] == operation), Decimal(0))


def test_without_history_every_output_is_as_it_started(office: Office) -> None:
    shown = office.get("/v1/outputs/learnt").json
    assert shown["jobs"] == 0
    assert "exp(mu)" in shown["formula"]
    assert "1967" in shown["source"]
    outputs = office.get("/v1/outputs").json["operations"]
    assert [one["now"] for one in shown["outputs"]] == outputs
    assert [one["start"] for one in shown["outputs"]] == outputs
    assert {one["weight"] for one in shown["outputs"]} == {"0"}
    assert {one["own_ratio"] for one in shown["outputs"]} == {None}


def test_the_next_plan_counts_with_the_figures_shown(office: Office, plan_now: PlanNow) -> None:
    started = learnt(office)
    ratios = [Decimal("1.3"), Decimal("1.1")]
    jobs = []
    for number, ratio in enumerate(ratios):
        job, labour = planned(office, plan_now, f"J{number}")
        if number == 0:
            first = labour
        took = (hours_of(first, "tape_lap") * ratio).quantize(Decimal("0.001"))
        body = {"operations": [{"operation": "tape_lap", "hours": str(took)}]}
        assert office.post(f"/v1/jobs/{job}/hours", body).status_code == 201
        jobs.append(job)
    shown = learnt(office)
    lap = shown["tape_lap"]
    assert [one["job"] for one in lap["jobs"]] == jobs
    assert Decimal(lap["weight"]) == Decimal("0.4")  # 2 ÷ (2 + 3)
    assert float(lap["own_ratio"]) == pytest.approx(exp(log(1.3 * 1.1) / 2), abs=1e-3)
    assert float(lap["factor"]) == pytest.approx(exp(0.4 * log(1.3 * 1.1) / 2), abs=1e-3)
    assert lap["held_back"] == 0
    assert lap["start"] == started["tape_lap"]["start"]
    assert shown["tape_corner"]["now"] == started["tape_corner"]["now"]

    _, labour = planned(office, plan_now, "NEXT")
    for line in labour["operations"]:
        now = shown[line["operation"]]["now"]
        assert line["minutes_per_unit"] == now["likely_minutes"], line["operation"]
        assert line["jobs_behind"] == now["jobs_behind"] == len(shown[line["operation"]]["jobs"])


def test_a_wild_job_is_said_to_be_held_back(office: Office, plan_now: PlanNow) -> None:
    for number, ratio in enumerate((1, 1, 1, 50)):
        job, labour = planned(office, plan_now, f"J{number}")
        if number == 0:
            first = labour
        took = hours_of(first, "tape_lap") * ratio
        office.post(f"/v1/jobs/{job}/hours", {"operations": [{"operation": "tape_lap", "hours": str(took)}]})
    lap = learnt(office)["tape_lap"]
    assert (len(lap["jobs"]), lap["held_back"]) == (4, 1)
    assert Decimal(lap["factor"]) < Decimal("1.1")
