"""The cheapest layout by trying every whole millimetre: slow, plain, and independent of the engine's own code.

Measured with fractions on the outline and its openings; no allowances are known here.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import combinations, pairwise
from math import ceil, floor

from api_schema.standard import Standard
from api_schema.surface import Surface
from workers.engine.costs import LayoutCosts

Corners = tuple[tuple[int, int], ...]
Extent = tuple[int, int]


class Brute:
    """One surface in one direction."""

    def __init__(self, surface: Surface, standard: Standard, costs: LayoutCosts, *, along: bool) -> None:
        upright = surface.members.direction == "up"
        swap = upright == along  # strips run up where u and v change places
        rings = [surface.outline_mm, *(opening.outline_mm for opening in surface.openings)]
        self.rings = [tuple((y, x) if swap else (x, y) for x, y in ring) for ring in rings]
        self.surface, self.standard, self.costs, self.along, self.swap = surface, standard, costs, along, swap
        self.edges = [
            (min(a, b, key=lambda c: c[1]), max(a, b, key=lambda c: c[1]))
            for ring in self.rings
            for a, b in pairwise((*ring, ring[0]))
            if a[1] != b[1]
        ]
        self.heights = sorted({y for ring in self.rings for _, y in ring})
        self.low, self.high = self.heights[0], self.heights[-1]

    def crossings(self, y: Fraction) -> list[Fraction]:
        """Where a level line meets the edges, left to right; y is no corner's height."""
        found = []
        for (x0, y0), (x1, y1) in self.edges:
            if y0 < y < y1:
                found.append(x0 + Fraction(x1 - x0) * (y - y0) / (y1 - y0))
        return sorted(found)

    def row(self, low: Fraction, high: Fraction) -> list[tuple[Fraction, Fraction]]:
        """Extents between two heights with no corner between them."""
        third = (high - low) / 3
        near, far = self.crossings(low + third), self.crossings(high - third)
        ends = []
        for number, (a, b) in enumerate(zip(near, far, strict=True)):
            at_low, at_high = 2 * a - b, 2 * b - a  # straight on from the thirds to the ends
            ends.append(min(at_low, at_high) if number % 2 == 0 else max(at_low, at_high))
        return list(zip(ends[::2], ends[1::2], strict=True))

    def parts(self, low: int, high: int) -> list[Extent]:
        """Separate extents of the surface in an open band."""
        cuts = [low, *(y for y in self.heights if low < y < high), high]
        extents = []
        for a, b in pairwise(cuts):
            if (a >= self.low and b <= self.high) or (self.low < b and self.high > a):
                extents += [(floor(p), ceil(q)) for p, q in self.row(Fraction(a), Fraction(b))]
        joined: list[list[int]] = []
        for a, b in sorted(extents):
            if joined and a <= joined[-1][1]:
                joined[-1][1] = max(joined[-1][1], b)
            else:
                joined.append([a, b])
        return [(a, b) for a, b in joined]

    def spans(self, y: int) -> list[Extent]:
        """What a line just above y has inside the surface."""
        above = min((h for h in self.heights if h > y), default=y + 1)
        near, far = Fraction(above - y) / 3 + y, Fraction(above - y) * 2 / 3 + y
        ends = [2 * a - b for a, b in zip(self.crossings(near), self.crossings(far), strict=True)]
        joined: list[list[int]] = []
        for a, b in zip(ends[::2], ends[1::2], strict=True):
            if joined and floor(a) <= joined[-1][1]:
                joined[-1][1] = max(joined[-1][1], ceil(b))
            elif ceil(b) > floor(a):
                joined.append([floor(a), ceil(b)])
        return [(a, b) for a, b in joined]

    def lap_cost(self, y: int) -> Decimal | None:
        """Money of a lap at y; none where it must lie on a member and does not."""
        spans = self.spans(y)
        members = self.surface.members
        if self.along and spans:
            off = (y - members.first_mm) % members.centres_mm
            if 2 * min(off, members.centres_mm - off) > members.width_mm:
                return None
        length = sum(b - a for a, b in spans)
        clear = self.standard.lap_clear_mm
        near = set()
        for ring in self.rings[1:]:
            for (x0, y0), (x1, y1) in pairwise((*ring, ring[0])):
                if y0 == y1 and abs(y - y0) < clear:
                    near |= set(range(min(x0, x1), max(x0, x1)))
        for one in self.surface.penetrations:
            x, at = one.at_mm[::-1] if self.swap else one.at_mm
            half = ceil(Fraction(one.diameter_mm or 0, 2)) + clear
            if abs(y - at) < half:
                near |= set(range(x - half, x + half))
        inside = {x for a, b in spans for x in range(a, b)}
        rate = self.costs.lap_cost_per_m * length + self.standard.lap_penalty_per_m * len(near & inside)
        return rate / 1000

    def piece_cost(self, length: int, membrane: int) -> Decimal | None:
        one = self.costs.membranes[membrane]
        if length > min(one.roll_length_mm, self.standard.handled_length_mm):
            return None
        step = self.standard.cut_step_mm
        cut = min(-(-length // step) * step, one.roll_length_mm)
        return one.price_per_m * cut / 1000 + self.costs.piece_cost

    def run_cost(self, a: int, b: int, membrane: int, band: Extent) -> Decimal | None:
        """Money of one row of pieces from a to b: the fewest that will do, the cheapest joints on members."""
        whole = self.piece_cost(b - a, membrane)
        if whole is not None:
            return whole
        lap = self.standard.end_lap_mm
        members = self.surface.members
        middles = [
            middle
            for middle in range(a - lap, b + lap)
            if (middle - members.first_mm) % members.centres_mm == 0
            and middle - lap // 2 > a
            and middle - lap // 2 + lap < b
        ]
        if self.along:
            middles = []
        for count in range(1, len(middles) + 1):
            best = None
            for joints in combinations(middles, count):
                starts = [a, *(m - lap // 2 for m in joints)]
                stops = [*(m - lap // 2 + lap for m in joints), b]
                costs = [self.piece_cost(q - p, membrane) for p, q in zip(starts, stops, strict=True)]
                if any(cost is None for cost in costs):
                    continue
                tape = sum(self.section(m, band) for m in joints) * self.costs.end_lap_cost_per_m / 1000
                total = sum(costs) + tape
                best = total if best is None else min(best, total)
            if best is not None:
                return best
        return None

    def section(self, x: int, band: Extent) -> int:
        """How much of the surface a line just right of x meets inside a band."""
        turned = Brute.__new__(Brute)
        turned.rings = [tuple((b, a) for a, b in ring) for ring in self.rings]
        turned.edges = [
            (min(a, b, key=lambda c: c[1]), max(a, b, key=lambda c: c[1]))
            for ring in turned.rings
            for a, b in pairwise((*ring, ring[0]))
            if a[1] != b[1]
        ]
        turned.heights = sorted({y for ring in turned.rings for _, y in ring})
        return sum(max(0, min(b, band[1]) - max(a, band[0])) for a, b in turned.spans(x))

    def band_cost(self, low: int, membrane: int) -> Decimal | None:
        """Money of a band: the cheapest way to group its parts into rows of pieces."""
        band = (low, low + self.costs.membranes[membrane].width_mm)
        parts = self.parts(*band)
        best: list[Decimal | None] = [Decimal(0)]
        for last in range(len(parts)):
            found = None
            for first in range(last + 1):
                cost = self.run_cost(parts[first][0], parts[last][1], membrane, band)
                if cost is not None and best[first] is not None:
                    total = best[first] + cost
                    found = total if found is None else min(found, total)
            best.append(found)
        return best[-1]

    def cheapest(self) -> Decimal | None:
        """Every row of bands at every whole mm, from the top down."""
        widest = max(one.width_mm for one in self.costs.membranes)
        gaps: list[tuple[int, int]] = []
        for a, b in pairwise(self.heights):
            if not self.crossings(Fraction(a + b, 2)):
                gaps.append((gaps.pop()[0] if gaps and gaps[-1][1] == a else a, b))
        best_from: dict[tuple[int, int], Decimal] = {}
        laps = {y: self.lap_cost(y) for y in range(self.low, self.high)}
        for low in range(self.high - 1, self.low - widest, -1):
            for membrane, one in enumerate(self.costs.membranes):
                end = low + one.width_mm
                own = self.band_cost(low, membrane) if end > self.low else None
                if own is None:
                    continue
                if end >= self.high:
                    best_from[low, membrane] = own
                    continue
                options = []
                for after in range(low + 1, self.high):
                    for other in range(len(self.costs.membranes)):
                        rest = best_from.get((after, other))
                        if rest is None or after <= self.low:
                            continue
                        over_gap = any(a <= after <= b and end >= a for a, b in gaps)
                        if over_gap:
                            options.append(rest)
                        elif after <= end - self.standard.lap_mm and laps[after] is not None:
                            options.append(rest + laps[after])
                if options:
                    best_from[low, membrane] = own + min(options)
        starts = [cost for (low, _), cost in best_from.items() if low <= self.low]
        return min(starts, default=None)
