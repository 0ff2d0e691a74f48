"""The README is true: its commands run, its table is the plan's, its picture is what the service draws."""

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.shape import load
from workers.documents import draw_surface
from workers.engine.plan import plan_job

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```bash\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def job() -> Job:
    return load(Job, json.loads((ROOT / "deploy/demo/house.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def plan(job: Job) -> Plan:
    return plan_job(job, default_standard(), default_outputs(), default_price_book())


def test_the_tour_runs_as_written(tmp_path: Path) -> None:
    assert len(BLOCKS) >= 5
    command = Path(sys.executable).with_name("lapwise")
    environment = {**os.environ, "LAPWISE_DATA": str(tmp_path / "data")}
    server = subprocess.Popen(
        [command, "serve", "--data", tmp_path / "data", "--port", "0"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    try:
        assert server.stdout is not None
        environment["LAPWISE"] = json.loads(server.stdout.readline())["url"]
        (tmp_path / ".venv").symlink_to(Path(sys.prefix))
        (tmp_path / "deploy").symlink_to(ROOT / "deploy")
        script = "set -euo pipefail\n" + "\n".join(BLOCKS)
        ran = subprocess.run(
            ["bash", "-c", script],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            timeout=600,  # a guard against hanging
            check=False,
        )
        assert ran.returncode == 0, ran.stdout + ran.stderr
        assert "ready" in ran.stdout
    finally:
        server.send_signal(signal.SIGTERM)
        assert server.wait(300) == 0
        server.stdout.close()


def test_the_table_is_what_the_plan_says(job: Job, plan: Plan) -> None:
    said = dict(
        re.findall(
            r"^\| ([^|]+) \| ([^|]+) \|$",
            README.split("<!-- demo table")[1].split("<!-- end")[0],
            re.MULTILINE,
        )
    )
    count = (
        len(job.surfaces),
        sum(len(surface.openings) for surface in job.surfaces),
        sum(one.count for surface in job.surfaces for one in surface.penetrations),
    )
    assert said["surfaces, openings, penetrations"] == ", ".join(str(number) for number in count)
    assert said["area net of openings"] == f"{plan.take_off.totals.net_m2} m²"
    assert said["membrane as laid"] == f"{plan.take_off.totals.as_laid_m2} m²"
    proven = sum(surface.proven for surface in plan.layout.surfaces)
    assert plan.economy is not None
    assert said["laid otherwise because the rolls gain"] == str(len(plan.economy.swaps))
    assert said["layouts proven cheapest by themselves"] == f"{proven} of {len(plan.layout.surfaces)}"
    rolls = plan.cut_list
    assert (
        said["rolls opened, and none fewer as cheaply than"] == f"{rolls.rolls_opened}, {rolls.rolls_bound}"
    )
    assert said["hours, likely"] == f"{plan.labour.likely_h} h"
    assert said["quote, net"] == f"{plan.price.net} {plan.price.currency}"


def test_the_picture_is_what_the_service_draws(job: Job, plan: Plan) -> None:
    number = [surface.id for surface in job.surfaces].index("gable-west")
    assert f"“{plan.layout.surfaces[number].reason}”" in README
    sealings = tuple(one for one in plan.take_off.penetrations if one.surface == "gable-west")
    standard = default_standard()
    drawn = draw_surface(
        job.surfaces[number],
        plan.layout.surfaces[number],
        sealings,
        standard,
        standard.fixing_centres_in_place_mm,
    )
    assert drawn == (ROOT / "deploy/demo/gable-west.svg").read_bytes()
