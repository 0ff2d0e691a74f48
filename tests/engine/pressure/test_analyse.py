import dataclasses
import json
import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api_schema.job import Job, Target
from api_schema.pressure_result import PressureTestResult
from api_schema.pressure_test import BuildingSize, PressureTestInput, Reading, faults_in_test
from api_schema.problem import SurveyFaults
from api_schema.shape import dump, load
from tests.engine.pressure.invented import fan_test, readings
from workers.engine.pressure import analyse, csv_of
from workers.engine.pressure.analyse import with_job


@given(
    c=some.floats(1, 5000),
    n=some.floats(0.5, 1),
    zero=some.floats(-4, 4),
    direction=some.sampled_from(["depressurisation", "pressurisation"]),
    method=some.sampled_from(["iso_9972", "flow_weighted"]),
)
def test_readings_on_a_line_give_the_line_back(c, n, zero, direction, method):
    test = fan_test(readings(c, n, zero=zero, direction=direction), method=method)
    (way,) = analyse(test).directions
    assert way.n.value == pytest.approx(n, rel=1e-9)
    assert way.c_l_m3_h_pa_n.value == pytest.approx(c, rel=1e-8)
    assert way.figures.flow_50_m3_h.value == pytest.approx(c * 50**n, rel=1e-9)
    assert way.figures.n50_per_h.value == pytest.approx(c * 50**n / 412, rel=1e-9)


@given(order=some.permutations(range(10)))
def test_the_order_of_the_readings_does_not_matter(order):
    way = readings(change={3: 1.02, 7: 0.97})
    mixed = dataclasses.replace(way, readings=tuple(way.readings[place] for place in order))
    assert analyse(fan_test(mixed)).figures == analyse(fan_test(way)).figures


@given(times=some.floats(0.01, 100))
def test_twice_the_flow_is_twice_the_leak(times):
    way = readings(change={2: 1.01, 5: 0.98})
    more = dataclasses.replace(
        way, readings=tuple(Reading(each.pressure_pa, each.flow_m3_h * times) for each in way.readings)
    )
    once, scaled = analyse(fan_test(way)), analyse(fan_test(more))
    assert scaled.directions[0].n.value == pytest.approx(once.directions[0].n.value, rel=1e-9)
    assert scaled.figures.n50_per_h.low == pytest.approx(once.figures.n50_per_h.low * times, rel=1e-9)


def test_the_barometer_changes_the_density_and_with_it_the_flow_at_standard_air():
    low = analyse(fan_test(barometer_pa=90_000.0)).directions[0]
    usual = analyse(fan_test()).directions[0]
    assert low.c_env_m3_h_pa_n == usual.c_env_m3_h_pa_n
    ratio = low.c_l_m3_h_pa_n.value / usual.c_l_m3_h_pa_n.value
    assert ratio == pytest.approx((90_000 / 101_325) ** (1 - 0.65), rel=1e-9)


def test_zero_flow_is_the_mean_of_the_mean_before_and_the_mean_after():
    way = readings(zero_flow_before_pa=(-2.0, -1.0, 0.0), zero_flow_after_pa=(-3.0,))
    assert analyse(fan_test(way)).directions[0].zero_flow_pa == -2.0


def test_the_result_goes_out_as_json_and_comes_back_the_same():
    result = analyse(fan_test(target=Target(n50_per_h=Decimal("1.0"))))
    assert load(PressureTestResult, json.loads(json.dumps(dump(result)))) == result


def test_a_test_sent_as_json_becomes_the_record():
    test = fan_test(readings(), readings(direction="pressurisation"), target=Target(n50_per_h=Decimal("0.6")))
    assert load(PressureTestInput, json.loads(json.dumps(dump(test)))) == test


def test_sizes_that_are_not_known_leave_their_figures_empty():
    figures = analyse(fan_test(building=BuildingSize())).figures
    assert (figures.n50_per_h, figures.q50_m3_h_m2, figures.w50_m3_h_m2) == (None, None, None)


def test_the_mean_has_a_narrower_interval_than_either_direction():
    out = readings(change={2: 1.02, 6: 0.98})
    into = readings(36.0, direction="pressurisation", change={2: 1.02, 6: 0.98})
    result = analyse(fan_test(out, into))
    flows = [way.figures.flow_50_m3_h for way in result.directions]
    mean = result.figures.flow_50_m3_h
    assert mean.value == pytest.approx((flows[0].value + flows[1].value) / 2)
    assert mean.high - mean.low < min(flow.high - flow.low for flow in flows)


def test_a_job_lends_its_volume_and_target_only_where_the_test_brings_none():
    job = Job("PX-014", volume_m3=Decimal("300"), target=Target(n50_per_h=Decimal("0.6")))
    bare = with_job(fan_test(building=BuildingSize()), job)
    assert (bare.building.volume_m3, bare.target) == (300.0, job.target)
    own = with_job(fan_test(target=Target(n50_per_h=Decimal("1"))), job)
    assert (own.building.volume_m3, own.target.n50_per_h) == (412.0, Decimal("1"))


@pytest.mark.parametrize(("n50", "finding", "words"), [
    ("1.2", "met", "lies under the target"), ("0.9", "not_met", "lies over the target"), ("1.05", "unclear", "reaches across"),
])  # fmt: skip
def test_the_target_is_judged_by_the_whole_interval(n50, finding, words):
    way = readings(change={2: 1.05, 4: 0.95, 6: 1.05, 8: 0.95})
    result = analyse(fan_test(way, target=Target(n50_per_h=Decimal(n50))))
    assert result.target.finding == finding
    assert words in result.target.words


def test_a_target_by_envelope_area_is_judged_by_envelope_area():
    result = analyse(fan_test(target=Target(q50_m3_h_m2=Decimal("3"))))
    assert result.target.measure == "q50_m3_h_m2"
    assert result.target.measured == result.figures.q50_m3_h_m2


def test_a_target_whose_size_nobody_gave_is_said_to_be_unchecked():
    test = fan_test(building=BuildingSize(), target=Target(n50_per_h=Decimal("0.6")), job="job_1")
    result = analyse(test)
    assert result.target is None
    assert [check.level for check in result.checks if check.code == "target"] == ["not_checked"]


def test_the_table_has_every_figure_point_and_check():
    result = analyse(fan_test(readings(), readings(direction="pressurisation")))
    lines = csv_of(result).split("\r\n")
    assert lines[0] == "part,direction,name,unit,value,low,high,note"
    assert sum(line.startswith("point,") for line in lines) == 20
    assert sum(line.startswith("check,") for line in lines) == len(result.checks)
    assert f"{result.figures.n50_per_h.value:.7g}" in next(
        line for line in lines if line.startswith("result,mean,n50_per_h")
    )


def test_a_reference_that_looks_like_a_formula_is_not_run_by_a_spreadsheet():
    assert "'=1+1" in csv_of(analyse(fan_test(reference="=1+1")))


def faults(*ways, **more):
    return {fault.pointer: fault.detail for fault in faults_in_test(fan_test(*ways, **more))}


def test_a_direction_sent_twice_is_refused():
    assert "again" in faults(readings(), readings())["/directions/1/direction"]


def test_a_step_where_the_fan_did_nothing_is_refused_with_its_place():
    way = readings()
    idle = dataclasses.replace(way, readings=(*way.readings, Reading(-1.2, 30.0)))
    assert "the fan did nothing" in faults(idle)["/directions/0/readings/10/pressure_pa"]


def test_steps_that_are_not_spread_out_are_refused():
    assert "spread out" in faults(readings(steps=(50.0, 51.0, 52.0)))["/directions/0/readings"]


def test_too_few_readings_and_no_zero_flow_are_both_named_at_once():
    found = faults(readings(steps=(50.0, 20.0)), readings(direction="pressurisation", zero_flow_before_pa=()))
    assert set(found) == {"/directions/0/readings", "/directions/1/zero_flow_before_pa"}


def test_a_target_without_the_size_it_needs_is_refused_unless_a_job_brings_it():
    target = Target(n50_per_h=Decimal("0.6"))
    assert "/building/volume_m3" in faults(building=BuildingSize(), target=target)
    assert not faults(building=BuildingSize(), target=target, job="job_1")
    assert "/building/envelope_area_m2" in faults(
        building=BuildingSize(), target=Target(q50_m3_h_m2=Decimal("3"))
    )


def test_the_engine_refuses_what_has_faults():
    with pytest.raises(SurveyFaults, match="spread out"):
        analyse(fan_test(readings(steps=(50.0, 51.0, 52.0))))


@given(
    some.lists(some.tuples(some.floats(-120, -5), some.floats(0.001, 1e6)), min_size=3, max_size=12),
    some.sampled_from(["iso_9972", "flow_weighted"]),
)
def test_any_readings_give_finite_figures_or_clear_faults(points, method):
    way = dataclasses.replace(readings(), readings=tuple(Reading(*point) for point in points))
    test = fan_test(way, method=method)
    if faults_in_test(test):
        return
    figures = analyse(test).figures
    assert math.isfinite(figures.flow_50_m3_h.value)
    assert figures.flow_50_m3_h.low <= figures.flow_50_m3_h.value
