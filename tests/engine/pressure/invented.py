"""Invented fan tests for the tests in this folder."""

from __future__ import annotations

import math

from api_schema.pressure_test import BuildingSize, DirectionReadings, PressureTestInput, Reading

STEPS_PA = (60.0, 55.0, 50.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 12.0)


def readings(c=34.0, n=0.65, *, direction="depressurisation", steps=STEPS_PA, zero=-1.0, change=None, **more):
    """Readings that lie exactly on flow = c · pressureⁿ at 20 °C on both sides; `change` maps a step to a factor."""
    sign = -1 if direction == "depressurisation" else 1
    change = change or {}
    return DirectionReadings(
        **{
            "direction": direction,
            "readings": tuple(
                Reading(sign * step + zero, c * math.pow(step, n) * change.get(place, 1.0))
                for place, step in enumerate(steps, start=1)
            ),
            "zero_flow_before_pa": (zero,),
            "zero_flow_after_pa": (zero,),
            "indoor_c": 20.0,
            "outdoor_c": 20.0,
            **more,
        }
    )


def fan_test(*directions, **more):
    """A test of an invented house of 412 m³."""
    return PressureTestInput(
        **{
            "reference": "PT-007",
            "directions": directions or (readings(),),
            "building": BuildingSize(412.0, 386.0, 164.0, 6.4),
            "wind_m_s": 2.0,
            **more,
        }
    )
