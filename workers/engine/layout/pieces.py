"""What one band is cut into: pieces, and the end laps of those too long to be handled.

A gap between two parts of the region (an opening that crosses the whole band) separates pieces where that is
cheaper than covering the gap and cutting it out; where both cost the same, the one piece is kept.
"""

from __future__ import annotations

from dataclasses import dataclass

from workers.engine.layout.frame import MemberLines
from workers.engine.layout.rates import NEVER, LayoutError, Product, key
from workers.engine.layout.slabs import Slabs, Span


@dataclass(frozen=True, slots=True)
class Joint:
    """An end lap centred on `at_mm`, with its length across the strip inside the region."""

    at_mm: int
    low_mm: int
    high_mm: int
    length_mm: int
    on_member: bool


@dataclass(frozen=True, slots=True)
class Run:
    """Pieces in one row without a gap: their extents along the run and the joints between them."""

    pieces: tuple[Span, ...]
    joints: tuple[Joint, ...] = ()


@dataclass(frozen=True, slots=True)
class Ends:
    """Where end laps may lie: on members that cross the strips, or anywhere where none do."""

    members: MemberLines | None
    end_lap_mm: int
    by_mm: int
    sections: Slabs  # the region turned, s and t exchanged: what a line across the strips meets

    def joint(self, at: int, band: Span, *, on_member: bool) -> Joint:
        """A joint at `at` in a band."""
        low, high = band
        length = sum(max(0, min(b, high) - max(a, low)) for a, b in self.sections.spans(at))
        start = at - self.end_lap_mm // 2
        return Joint(at, start, start + self.end_lap_mm, length, on_member)


def merged(extents: list[Span]) -> list[Span]:
    """Sorted extents with those that touch or overlap joined."""
    found: list[Span] = []
    for low, high in sorted(extents):
        if found and low <= found[-1][1]:
            if high > found[-1][1]:
                found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return found


def cheapest_runs(parts: list[Span], product: Product, ends: Ends, band: Span) -> tuple[int, tuple[Run, ...]]:
    """The cheapest way to cut the parts of one band into pieces, with its key.

    `parts` are the separate extents of the region in `band` (from, to), in order. Every way to cover
    or leave the gaps between neighbours is weighed.
    """
    best: list[tuple[int, tuple[Run, ...]]] = [(0, ())]
    for last in range(len(parts)):
        found: tuple[int, tuple[Run, ...]] = (NEVER, ())
        for first in range(last, -1, -1):
            if first < last and _never_worth_covering(parts[first + 1][0] - parts[first][1], product):
                break
            cost, run = _run((parts[first][0], parts[last][1]), product, ends, band)
            before, runs = best[first]
            if before + cost < found[0]:
                found = (before + cost, (*runs, run))
        best.append(found)
    return best[-1]


def _never_worth_covering(gap: int, product: Product) -> bool:
    """Leaving a gap costs at most one piece and twice the rounding to the cut step more; covering costs the gap."""
    return product.by_mm * (gap - 2 * product.step_mm) > product.piece


def _run(extent: Span, product: Product, ends: Ends, band: Span) -> tuple[int, Run]:
    start, stop = extent
    if stop - start <= product.longest_mm:
        return product.key_of(stop - start), Run(((start, stop),))
    return _joined(extent, product, ends, band)


def _joined(extent: Span, product: Product, ends: Ends, band: Span) -> tuple[int, Run]:
    """The cheapest row of pieces with end laps: every choice of joints is weighed, on members where possible."""
    if product.longest_mm <= ends.end_lap_mm:
        raise LayoutError(
            f"A piece of {product.code} may be {product.longest_mm} mm long at most, not longer than an end lap of "
            f"{ends.end_lap_mm} mm. Allow longer pieces or choose a longer roll."
        )
    start, stop = extent
    half = ends.end_lap_mm // 2
    if ends.members is not None:
        places = ends.members.between(start - ends.end_lap_mm, stop + ends.end_lap_mm)
        found = _through(extent, [ends.joint(at, band, on_member=True) for at in places], product, ends)
        if found is not None:
            return found
    pitch = product.longest_mm - ends.end_lap_mm
    count = -(-(stop - start) // pitch)
    free = {start + pitch * k + half for k in range(1, count)} | {
        stop - pitch * k - half for k in range(1, count)
    }
    found = _through(extent, [ends.joint(at, band, on_member=False) for at in sorted(free)], product, ends)
    if found is None:  # pieces of full length from one end always reach the other
        raise AssertionError("full-length pieces do not reach the end of the strip")
    return found


def _through(extent: Span, places: list[Joint], product: Product, ends: Ends) -> tuple[int, Run] | None:
    """Cheapest way over an extent with joints at some of `places`; none where no choice reaches."""
    start, stop = extent
    joints = [joint for joint in places if joint.low_mm > start and joint.high_mm < stop]
    states: list[tuple[int, Run]] = []
    final: tuple[int, Run] | None = None
    for number in range(len(joints) + 1):
        end = joints[number].high_mm if number < len(joints) else stop
        tape = ends.by_mm * joints[number].length_mm if number < len(joints) else 0
        best: tuple[int, int] | None = None
        for before in range(number - 1, -2, -1):
            begin = joints[before].low_mm if before >= 0 else start
            if end - begin > product.longest_mm:
                break
            if before >= 0 and states[before][0] >= NEVER:
                continue
            total = (states[before][0] if before >= 0 else 0) + product.key_of(end - begin) + key(tape)
            if best is None or total < best[0]:
                best = (total, before)
        if best is None:
            states.append((NEVER, Run(())))
            continue
        total, before = best
        begin = joints[before].low_mm if before >= 0 else start
        earlier = states[before][1] if before >= 0 else Run(())
        through = earlier.joints + ((joints[before],) if before >= 0 else ())
        states.append((total, Run((*earlier.pieces, (begin, end)), through)))
        final = states[-1] if number == len(joints) else None
    return final
