"""The price of a lap at every position: its length inside the region, and where it runs too near to something."""

from __future__ import annotations

from dataclasses import dataclass
from math import isqrt

import numpy as np

from api_schema.surface import Surface
from workers.engine.layout.frame import MemberLines, into_frame, is_upright
from workers.engine.layout.prices import Prices, Whole, no_prices
from workers.engine.layout.rates import FORBIDDEN, Rates
from workers.engine.layout.slabs import Slab, Slabs, Span, merged


@dataclass(frozen=True, slots=True)
class Zone:
    """Where a lap is penalised: strictly between two heights, from one place along the run to another."""

    low: int
    high: int
    start: int
    stop: int


def zones_of(surface: Surface, direction: str, clear_mm: int) -> tuple[Zone, ...]:
    """Zones of a surface in the run frame: round each penetration, and along each opening edge parallel to the run.

    Round a penetration the zone is the rectangle that holds it, `clear_mm` larger all round; along an opening edge
    it reaches `clear_mm` to both sides.
    """
    zones: list[Zone] = []
    for one in surface.penetrations:
        wide = one.diameter_mm or one.width_mm or 0
        tall = one.diameter_mm or one.height_mm or one.width_mm or 0
        if not is_upright(direction) and one.diameter_mm is None:
            wide = tall = isqrt(wide * wide + tall * tall) + 1  # its diagonal, whichever way it is turned
        ((s, t),) = into_frame((one.at_mm,), direction)
        along, over = (tall, wide) if direction == "up" else (wide, tall)
        half_s, half_t = -(-along // 2) + clear_mm, -(-over // 2) + clear_mm
        zones.append(Zone(t - half_t, t + half_t, s - half_s, s + half_s))
    for opening in surface.openings:
        corners = into_frame(opening.outline_mm, direction)
        for (s0, t0), (s1, t1) in zip(corners, corners[1:] + corners[:1], strict=True):
            if abs(t0 - t1) <= (0 if is_upright(direction) else 1) and s0 != s1:
                zones.append(Zone(min(t0, t1) - clear_mm, max(t0, t1) + clear_mm, min(s0, s1), max(s0, s1)))
    return tuple(zones)


def penalised(spans: list[Span], at: int, zones: tuple[Zone, ...]) -> int:
    """How many mm of a lap at height `at` with these spans lie in zones."""
    touched = merged([(zone.start, zone.stop) for zone in zones if zone.low < at < zone.high])
    return sum(max(0, min(b, d) - max(a, c)) for a, b in spans for c, d in touched)


def lap_prices(region: Slabs, zones: tuple[Zone, ...], rates: Rates, members: MemberLines | None) -> Prices:
    """The price of a lap at every whole-mm height; forbidden where `members` must carry it and do not."""
    first, last = region.low, region.high - 1
    prices = no_prices(first, last)
    changes = set(region.heights[1:-1])
    for zone in zones:
        changes |= {zone.low + 1, zone.high}
    starts = [first, *sorted(change for change in changes if first < change <= last)]
    for start, after in zip(starts, [*starts[1:], last + 1], strict=True):
        slab = region.above(start)
        if slab is None or not any(side.ds for pair in slab.trapezoids for side in pair):
            spans = region.spans(start)
            length = sum(high - low for low, high in spans)
            near = penalised(spans, start, zones)
            prices.put(start, after, rates.lap_by_mm * length + rates.penalty_by_mm * near, length)
        else:
            _slanted(slab, (start, after - 1), zones, rates, prices)
    if members is not None:
        _forbid(prices, members)
    return prices


def _forbid(prices: Prices, members: MemberLines) -> None:
    """Forbid every lap that has a length and lies on no member."""
    off = (np.arange(prices.first, prices.last + 1, dtype=np.int64) - members.first_mm) % members.centres_mm
    bare = 2 * np.minimum(off, members.centres_mm - off) > members.width_mm
    prices.costs[bare & (prices.ties > 0)] = FORBIDDEN


def _slanted(slab: Slab, where: Span, zones: tuple[Zone, ...], rates: Rates, prices: Prices) -> None:
    """Price every height inside one slab with slanted sides, where the same zones hold throughout."""
    first, last = where
    positions = np.arange(first, last + 1, dtype=np.int64)
    touched = merged([(zone.start, zone.stop) for zone in zones if zone.low < first < zone.high])
    length = np.zeros_like(positions)
    near = np.zeros_like(positions)
    before: Whole | None = None
    for left, right in slab.trapezoids:
        low = left.s0 + left.ds * (positions - left.t0) // left.dt
        high = right.s0 - (-right.ds * (positions - right.t0)) // right.dt
        if before is not None:
            low = np.maximum(low, before)  # neighbours that round into each other are one span
        before = high
        length += high - low
        for start, stop in touched:
            near += np.maximum(0, np.minimum(high, stop) - np.maximum(low, start))
    prices.put(first, last + 1, rates.lap_by_mm * length + rates.penalty_by_mm * near, length)
