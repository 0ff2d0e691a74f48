"""The leakage budget: what the target allows at 50 Pa, and what each detail of the job may take of it.

Allowed flow = n50 · volume, or q50 · envelope area. A detail's area at 4 Pa (discharge coefficient 1) = quantity ×
value × the account's factor; its flow at 50 Pa = A · 3600 · √(2·4/ρ0) · (50/4)ⁿ with n = 0.65, so 1 cm² passes
4.79 m³/h. The likely total is the sum; its low and high ends take the details as independent: distance² of the
total = Σ distance² of the details.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from decimal import Decimal

from api_schema.job import Job, Target
from api_schema.leakage import (
    LeakageBudget,
    LeakageLine,
    LeakagePlace,
    LeakageValue,
    LeakageValues,
    LeakDetail,
    LeakRange,
)
from api_schema.take_off import TakeOff
from workers.engine.pressure import air
from workers.engine.pressure.details import WORDS, Detail, details_of
from workers.engine.pressure.rounding import digits

TEN = 10


def allowed_flow_m3_h(
    target: Target | None, volume_m3: float | None, envelope_area_m2: float | None
) -> float | None:
    """Flow at 50 Pa in m³/h that a target allows, or nothing where the target or its size is not known."""
    if target is None:
        return None
    if target.n50_per_h is not None and volume_m3 is not None:
        return float(target.n50_per_h) * volume_m3
    if target.q50_m3_h_m2 is not None and envelope_area_m2 is not None:
        return float(target.q50_m3_h_m2) * envelope_area_m2
    return None


def leakage_budget(
    job: Job,
    take_off: TakeOff,
    values: LeakageValues,
    *,
    target: Target | None = None,
    volume_m3: float | None = None,
    envelope_area_m2: float | None = None,
) -> LeakageBudget:
    """The budget of a job; target and volume are the job's, the envelope area its surfaces', where not given.

    Raises:
        KeyError: if `values` lacks a detail that the job has.
    """
    target = target or job.target
    if volume_m3 is None and job.volume_m3 is not None:
        volume_m3 = float(job.volume_m3)
    if envelope_area_m2 is None:
        envelope_area_m2 = float(take_off.totals.gross_m2)
    allowed = allowed_flow_m3_h(target, volume_m3, envelope_area_m2)
    by_detail = {value.detail: value for value in values.values}
    details = details_of(job, take_off)
    lines = _lines(details, by_detail, values, allowed)
    forgotten = _flow(_area(1.0, by_detail["forgotten_penetration"], 1.0), values.exponent)
    total = _total([line.flow_50_m3_h for line in lines])
    return LeakageBudget(
        lines=lines,
        most_important=_places(details, by_detail, values, allowed),
        flow_50_m3_h=total,
        forgotten_pipe_m3_h=forgotten,
        words=_words(total, forgotten, allowed, values),
        target=target,
        allowed_m3_h=None if allowed is None else digits(allowed),
        forgotten_pipe_share=None if allowed is None else digits(forgotten.likely / allowed),
        factor=values.factor,
        tests_behind=values.tests_behind,
    )


def _lines(
    details: tuple[Detail, ...],
    by_detail: dict[LeakDetail, LeakageValue],
    values: LeakageValues,
    allowed: float | None,
) -> tuple[LeakageLine, ...]:
    quantities: dict[LeakDetail, Decimal] = {}
    for each in details:
        quantities[each.detail] = quantities.get(each.detail, Decimal(0)) + each.quantity
    lines = []
    for detail, quantity in quantities.items():
        value = by_detail[detail]
        area = _area(float(quantity), value, values.factor)
        flow = _flow(area, values.exponent)
        lines.append(
            LeakageLine(
                detail, WORDS[detail], quantity, value.unit, area, flow, _share(flow, allowed), value.provenance, value.note
            )
        )  # fmt: skip
    return tuple(sorted(lines, key=lambda line: -line.flow_50_m3_h.likely))


def _places(
    details: tuple[Detail, ...],
    by_detail: dict[LeakDetail, LeakageValue],
    values: LeakageValues,
    allowed: float | None,
) -> tuple[LeakagePlace, ...]:
    """The ten places where care decides most: the widest range from low to high, then the order of the job."""
    places = []
    for each in details:
        value = by_detail[each.detail]
        flow = _flow(_area(float(each.quantity), value, values.factor), values.exponent)
        places.append(
            LeakagePlace(each.surface, each.detail, each.words, each.quantity, value.unit, flow, _share(flow, allowed))
        )  # fmt: skip
    places.sort(key=lambda place: place.flow_50_m3_h.low - place.flow_50_m3_h.high)
    return tuple(places[:TEN])


def _area(quantity: float, value: LeakageValue, factor: float) -> LeakRange:
    times = quantity * factor
    return _each(lambda unit: unit * times, LeakRange(value.low_cm2, value.likely_cm2, value.high_cm2))


def _flow(area: LeakRange, exponent: float) -> LeakRange:
    return _each(lambda cm2: air.flow_of_area_m3_h(cm2, 4.0, exponent), area)


def _each(change: Callable[[float], float], of: LeakRange) -> LeakRange:
    return LeakRange(digits(change(of.low)), digits(change(of.likely)), digits(change(of.high)))


def _total(flows: Iterable[LeakRange]) -> LeakRange:
    known = list(flows)
    likely = math.fsum(flow.likely for flow in known)
    below = math.hypot(*(flow.likely - flow.low for flow in known))
    above = math.hypot(*(flow.high - flow.likely for flow in known))
    return LeakRange(digits(likely - below), digits(likely), digits(likely + above))


def _share(flow: LeakRange, allowed: float | None) -> float | None:
    return None if allowed is None else digits(flow.likely / allowed)


def _words(total: LeakRange, forgotten: LeakRange, allowed: float | None, values: LeakageValues) -> str:
    expected = f"All details together are expected to pass {total.likely:.0f} m³/h at 50 Pa ({total.low:.0f} to {total.high:.0f})"
    counted = (
        "one fan test of yours" if values.tests_behind == 1 else f"{values.tests_behind} fan tests of yours"
    )
    source = (
        f"The values are those of ordinary houses, times {values.factor:.2f} from {counted}."
        if values.tests_behind
        else "The values are those of ordinary houses, not yet moved by fan tests of yours: use them to see which details weigh most, not to promise a figure."
    )
    if allowed is None:
        return f"{expected}. One forgotten pipe adds about {forgotten.likely:.0f} m³/h. {source}"
    if total.likely <= allowed:
        side = f"{allowed - total.likely:.0f} m³/h less than"
    else:
        side = f"{total.likely - allowed:.0f} m³/h more than"
    return (
        f"The target allows {allowed:.0f} m³/h at 50 Pa. {expected}: {side} allowed. "
        f"One forgotten pipe adds about {forgotten.likely:.0f} m³/h, {100 * forgotten.likely / allowed:.0f} % of what is allowed. {source}"
    )
