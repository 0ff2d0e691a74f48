"""What the analysis says, by key and in English."""

import dataclasses
import math
from decimal import Decimal

from api_schema.engine_words import in_english
from api_schema.engine_words_pressure import PRESSURE_WORDS
from api_schema.job import Target
from api_schema.pressure_test import TEST_DIRECTIONS, BuildingSize, Reading
from api_schema.said import said as kept
from tests.engine.pressure.invented import fan_test, readings
from workers.engine.pressure import analyse
from workers.engine.pressure.words import places, significant


def typed(place, pressure_pa=None, flow_m3_h=None):
    """Exact readings of which one was typed wrongly."""
    way = readings()
    steps = list(way.readings)
    was = steps[place - 1]
    steps[place - 1] = Reading(pressure_pa or was.pressure_pa, flow_m3_h or was.flow_m3_h)
    return dataclasses.replace(way, readings=tuple(steps))


def turned(way, *steps):
    """The readings with the sign of some turned round."""
    return dataclasses.replace(way, readings=tuple(
        Reading(-each.pressure_pa, each.flow_m3_h) if place in steps else each
        for place, each in enumerate(way.readings, start=1)
    ))  # fmt: skip


def target(n50):
    return Target(n50_per_h=Decimal(n50))


SCATTER = {1: 1.01, 4: 0.99, 7: 1.01, 9: 0.99}
WARM = readings(outdoor_c=-20.0)
BOTH = (readings(), readings(direction="pressurisation"))
TESTS = [
    fan_test(*BOTH, wind_m_s=7.0, building=BuildingSize(412.0, 386.0, 164.0)),
    fan_test(readings(), readings(40.0, direction="pressurisation"), wind_m_s=None),
    fan_test(WARM, building=BuildingSize(412.0, height_m=9.0), method="flow_weighted"),
    fan_test(building=BuildingSize(), target=target("0.6"), job="job_1"),
    fan_test(target=Target(q50_m3_h_m2=Decimal("3"))),
    *(fan_test(readings(change=SCATTER), target=target(n50)) for n50 in ("1.2", "0.9", "1.045", "1.055")),
    fan_test(readings(zero_flow_after_pa=())),
    fan_test(readings(zero_flow_before_pa=(7.0,))),
    fan_test(readings(zero_flow_before_pa=(17.0, -6.0))),
    fan_test(readings(zero_flow_before_pa=(7.0, -7.0), zero_flow_after_pa=(9.0,))),
    fan_test(readings(zero_flow_before_pa=(7.0, -7.0), zero_flow_after_pa=(9.0, -9.0))),
    fan_test(readings(steps=(60.0, 50.0, 30.0, 6.0))),
    fan_test(readings(steps=(48.0, 40.0, 30.0, 25.0, 20.0))),
    *(fan_test(readings(steps=(60.0, 50.0, 40.0, 30.0, low), zero=-4.0)) for low in (12.0, 20.0, 26.0)),
    *(fan_test(turned(readings(direction=way, zero=0.0), *steps)) for way in TEST_DIRECTIONS for steps in ((3,), range(1, 11))),
    fan_test(readings(n=1.05)),
    fan_test(readings(change={1: 0.7, 4: 1.3, 7: 0.7, 9: 1.3})),
    *(fan_test(readings(change={5: factor})) for factor in (0.1, 10.0, 0.01, 100.0, 1.3, 0.77, 3.1)),
    fan_test(typed(5, flow_m3_h=734.0)), fan_test(typed(5, flow_m3_h=347.0)), fan_test(typed(10, flow_m3_h=711.0)),
    fan_test(typed(6, -63.0)), fan_test(typed(9, -12.0)), fan_test(typed(1, -16.0)),
]  # fmt: skip


def sentences(result):
    """Everything a result says: taken apart, and in words."""
    found = [(check.said, check.message) for check in result.checks]
    found += [(result.method_said, result.method_words), (result.interval_said, result.interval_words)]
    return found + ([(result.target.said, result.target.words)] if result.target else [])


def test_every_sentence_is_kept_by_its_key_and_none_in_the_table_is_never_said():
    said = set()
    for test in TESTS:
        for sentence, words in sentences(analyse(test)):
            assert in_english(sentence) == words
            said |= {sentence.key} | {part.value for part in sentence.parts if part.kind == "key"}
    assert said == set(PRESSURE_WORDS)


def test_a_sentence_names_numbers_and_keys_alone():
    for test in TESTS:
        for sentence, _ in sentences(analyse(test)):
            for part in sentence.parts:
                assert (
                    part.value in PRESSURE_WORDS if part.kind == "key" else math.isfinite(float(part.value))
                )


def test_a_number_in_a_sentence_keeps_its_places():
    assert (str(places(7.0, 1)), str(places(-0.25, 3))) == ("7.0", "-0.250")
    assert (significant(374.0), significant(0.1234567, 2)) == (Decimal("374"), Decimal("0.12"))
    (written,) = kept("any", times=significant(123.0, 2)).parts
    assert written.value == "120"  # no power of ten in a sentence
