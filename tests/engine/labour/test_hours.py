"""Hours of a job, line by line."""

import dataclasses
from decimal import Decimal

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.labour import Labour
from api_schema.outputs import Condition
from api_schema.shape import dump, load
from api_schema.surface import Surface
from tests.engine.takeoff.samples import (
    STUDS,
    covering,
    cut_list_of,
    job_of,
    layout_of,
    rectangle,
    sample_layout,
    sample_wall,
    wall,
)
from workers.engine.labour import hours
from workers.engine.labour.conditions import Place, factors, working_height_mm
from workers.engine.takeoff import measure

OUTPUTS = default_outputs()
PLAIN = dataclasses.replace(OUTPUTS, conditions=())


def worked(job, layout, outputs=OUTPUTS):
    take_off = measure(job, layout, cut_list_of(layout), default_standard(), default_price_book())
    return hours(job, layout, take_off, outputs)


def sample(outputs=OUTPUTS, **more):
    return worked(job_of(sample_wall(), **more), layout_of(sample_layout()), outputs)


def by_operation(labour):
    return {line.operation: line for line in labour.operations}


def test_hours_are_quantity_times_minutes_times_factors():
    """C: each line of the sample wall on paper."""
    lines = by_operation(sample())
    assert lines["hang_membrane"].hours == Decimal("0.772")  # 11.14 m² × 4.16 min
    assert lines["tape_lap"].hours == Decimal("0.105")  # 3.5 m × 1.8
    assert lines["seal_slab_edge"].hours == Decimal("0.574")  # 5.3 m × 6.5
    assert lines["seal_frame"].quantity == Decimal("11.1")
    assert lines["fit_collar"].quantity == 3
    assert lines["tape_captive"].quantity == 2
    assert lines["set_up_room"].position == "job"


def test_no_hours_are_planned_for_a_flue():
    with_flue = sample_wall()
    without = dataclasses.replace(
        with_flue, penetrations=tuple(p for p in with_flue.penetrations if p.kind != "flue")
    )
    assert worked(job_of(without), layout_of(sample_layout())) == sample()


def test_likely_hours_are_the_sum_of_the_lines():
    labour = sample()
    assert labour.likely_h == sum(line.hours for line in labour.operations)
    assert all(line.low_h <= line.hours <= line.high_h for line in labour.operations)


def test_safe_hours_lie_between_likely_and_the_worst():
    labour = sample()
    assert labour.likely_h < labour.safe_h < sum(line.high_h for line in labour.operations)


def test_crew_days_are_rounded_up_to_a_tenth():
    labour = sample()
    days = labour.likely_h / (2 * Decimal("7.5"))
    assert days <= labour.crew_days < days + Decimal("0.1")
    assert labour.crew_days == labour.crew_days.quantize(Decimal("0.1"))


def test_labour_travels_as_json():
    assert load(Labour, dump(sample())) == sample()


@pytest.mark.parametrize(
    ("kind", "position", "factor"),
    [
        ("wall", "wall", "1"),
        ("slope", "slope", "1.25"),
        ("ceiling", "overhead", "1.30"),
        ("floor", "floor", "0.90"),
    ],
)
def test_position_changes_the_hours(kind, position, factor):
    surface = dataclasses.replace(wall(), kind=kind, working_height_mm=2400)
    line = by_operation(worked(job_of(surface), layout_of(covering(surface))))["hang_membrane"]
    plain = by_operation(worked(job_of(surface), layout_of(covering(surface)), PLAIN))["hang_membrane"]
    assert line.position == position
    assert line.hours == (line.quantity * Decimal("4.16") * Decimal(factor) / 60).quantize(Decimal("0.001"))
    assert plain.hours == (line.quantity * Decimal("4.16") / 60).quantize(Decimal("0.001"))


@pytest.mark.parametrize(
    ("stapler", "factor"), [("hand", "1.60"), ("electric", "1.00"), ("pneumatic", "0.80")]
)
def test_the_stapler_changes_stapling_alone(stapler, factor):
    lines = by_operation(sample(stapler=stapler))
    assert lines["staple"].factors[next(iter(lines["staple"].factors))] == Decimal(factor)
    others = {name: line for name, line in lines.items() if name != "staple"}
    assert others == {name: line for name, line in by_operation(sample()).items() if name != "staple"}


def test_blown_in_insulation_takes_more_staples_and_more_care_at_joints():
    lines, before = by_operation(sample(insulation="blown_in")), by_operation(sample())
    assert lines["staple"].quantity > 1.9 * float(before["staple"].quantity)
    assert lines["tape_lap"].factors == {"blown-in": Decimal("1.10")}


@pytest.mark.parametrize(
    ("height", "factor"), [(2500, None), (2501, "1.10"), (3501, "1.25"), (5001, "1.40"), (None, None)]
)
def test_the_highest_band_reached_applies_alone(height, factor):
    found = factors(OUTPUTS.conditions, "tape_lap", Place("wall", "electric", "in_place", height))
    assert list(found.values()) == ([] if factor is None else [Decimal(factor)])


@pytest.mark.parametrize(("area", "factor"), [("1.9", "0.70"), ("2", None), ("10", None), ("10.1", "1.50")])
def test_large_pieces_take_longer_to_hang_and_small_ones_less(area, factor):
    found = factors(
        OUTPUTS.conditions, "hang_piece", Place("wall", "electric", "in_place", 2000, Decimal(area))
    )
    assert list(found.values()) == ([] if factor is None else [Decimal(factor)])


def test_a_condition_without_operations_holds_for_all_of_them():
    winter = Condition("frost", "insulation", "in_place", Decimal("1.2"))
    cold = sample(dataclasses.replace(PLAIN, conditions=(winter,)))
    assert all(line.factors == {"frost": Decimal("1.2")} for line in cold.operations)


def test_a_band_that_cannot_be_read_is_refused_with_an_example():
    vague = Condition("high", "height", "very high", Decimal(2))
    with pytest.raises(ValueError, match="over_2500_mm"):
        sample(dataclasses.replace(PLAIN, conditions=(vague,)))


def test_an_operation_the_job_needs_and_the_outputs_lack_is_named():
    lacking = dataclasses.replace(
        PLAIN, operations=tuple(o for o in PLAIN.operations if o.operation != "tape_lap")
    )
    with pytest.raises(ValueError, match="tape_lap"):
        sample(lacking)


def test_an_output_by_the_wrong_unit_is_refused():
    wrong = tuple(
        dataclasses.replace(o, unit="piece") if o.operation == "tape_lap" else o for o in PLAIN.operations
    )
    with pytest.raises(ValueError, match="tape_lap is by piece"):
        sample(dataclasses.replace(PLAIN, operations=wrong))


def test_a_ceiling_is_as_high_as_the_highest_wall_of_its_room():
    ceiling = Surface("ceiling", "ceiling", rectangle(0, 0, 6200, 8000), STUDS, room="hall")
    low = wall("low", room="hall")
    high = wall("high", rectangle(0, 0, 3000, 3100), room="hall")
    elsewhere = wall("tower", rectangle(0, 0, 3000, 9000), room="stairs")
    assert working_height_mm(ceiling, job_of(ceiling, low, high, elsewhere)) == 3100
    assert working_height_mm(ceiling, job_of(ceiling)) is None


def test_rooms_are_set_up_once_each():
    surfaces = [wall("a", room="hall"), wall("b", room="hall"), wall("c", room="bath")]
    lines = by_operation(worked(job_of(*surfaces), layout_of(*(covering(one) for one in surfaces))))
    assert lines["set_up_room"].quantity == lines["clear_away"].quantity == 2


def test_an_empty_job_takes_no_hours():
    labour = worked(job_of(), layout_of())
    assert (labour.likely_h, labour.safe_h, labour.crew_days, labour.operations) == (0, 0, 0, ())
