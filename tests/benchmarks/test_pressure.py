"""How long the analysis of ten thousand fan tests takes on one core, beside its own bare fit."""

import json
import math
import time
from pathlib import Path

import pytest

from api_schema.pressure_test import BuildingSize, DirectionReadings, PressureTestInput, Reading
from workers.engine.pressure import analyse
from workers.engine.pressure.line import fit

DATA = Path(__file__).parents[1] / "published" / "data" / "pressure_tests.json"
RUNS = 10_000


@pytest.mark.benchmark
def test_ten_thousand_analyses():
    tests = [
        PressureTestInput(
            reference=test["id"],
            method="flow_weighted",
            building=BuildingSize(volume_m3=test["volume_m3"]),
            directions=(
                DirectionReadings(
                    "depressurisation",
                    tuple(Reading(each["pressure_pa"], 3.6 * each["flow_l_s"]) for each in test["readings"]),
                    (test["zero_flow_pa"][0],),
                    test["indoor_c"],
                    test["outdoor_c"],
                    zero_flow_after_pa=(test["zero_flow_pa"][1],),
                ),
            ),
        )
        for test in json.loads(DATA.read_text("utf-8"))["tests"]
    ]
    start = time.process_time()
    for run in range(RUNS):
        analyse(tests[run % len(tests)])
    whole = time.process_time() - start

    logs = [
        [(math.log(abs(each.pressure_pa)), math.log(each.flow_m3_h)) for each in test.directions[0].readings]
        for test in tests
    ]
    columns = [tuple(zip(*points, strict=True)) for points in logs]
    start = time.process_time()
    for run in range(RUNS):
        fit(*columns[run % len(columns)])
    bare = time.process_time() - start
    print(
        f"\n{RUNS} analyses: {whole:.2f} s CPU, {1e6 * whole / RUNS:.0f} µs each; "
        f"the bare fit alone {1e6 * bare / RUNS:.0f} µs; ratio {whole / bare:.1f}"
    )
