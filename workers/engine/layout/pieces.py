"""What one band is cut into: pieces, and the end laps of those too long to be handled.

A gap between two parts of the region (an opening that crosses the whole band) separates pieces where that is
cheaper than covering the gap and cutting it out; where both cost the same, the one piece is kept. What is longer
than can be handled is made of as few pieces as will do, joined on members that cross the strips where they can be;
of all such rows of joints the cheapest is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

from workers.engine.layout.frame import MemberLines
from workers.engine.layout.rates import NEVER, LayoutError, Product, key
from workers.engine.layout.region import Rings
from workers.engine.layout.slabs import Slabs, Span, slabs_of

_MANY_PIECES = 30  # a strip of about 150 m in pieces of 10 m


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
class Place:
    """A line across the strips where an end lap may be: what it meets of the region, by height."""

    at_mm: int
    spans: tuple[Span, ...]

    def length(self, band: Span) -> int:
        """How much of the region the line meets inside a band."""
        low, high = band
        return sum(min(b, high) - max(a, low) for a, b in self.spans if a < high and b > low)


@dataclass(frozen=True, slots=True)
class Ends:
    """Where end laps may lie: on members that cross the strips, or anywhere where none do."""

    places: tuple[Place, ...]  # on members, in order; empty where none cross, or where no strip is long
    end_lap_mm: int
    by_mm: int
    sections: Slabs  # the region turned, s and t exchanged; empty where no strip is long
    most_pieces: int  # no row of pieces needs more

    @property
    def many(self) -> bool:
        """Rows of so many pieces that not every choice of joints is weighed."""
        return self.most_pieces > _MANY_PIECES

    def joint(self, place: Place, band: Span, *, on_member: bool) -> Joint:
        """The joint at a place in a band."""
        start = place.at_mm - self.end_lap_mm // 2
        return Joint(place.at_mm, start, start + self.end_lap_mm, place.length(band), on_member)


def ends_of(rings: Rings, members: MemberLines | None, end_lap_mm: int, by_mm: int, longest_mm: int) -> Ends:
    """The places for end laps on a region, where some strip may be longer than `longest_mm` at all."""
    run = [s for ring in rings for s, _ in ring]
    if max(run) - min(run) <= longest_mm:
        return Ends((), end_lap_mm, by_mm, Slabs((), (0,)), 1)
    sections = slabs_of(tuple(tuple((t, s) for s, t in ring) for ring in rings))
    lines = members.between(sections.low, sections.high) if members is not None else []
    places = tuple(Place(at, tuple(sections.spans(at))) for at in lines)
    most = 2 * (max(run) - min(run)) // max(longest_mm - end_lap_mm, 1) + 2
    return Ends(places, end_lap_mm, by_mm, sections, most)


def cheapest_runs(parts: list[Span], product: Product, ends: Ends, band: Span) -> tuple[int, tuple[Run, ...]]:
    """The cheapest way to cut the parts of one band into pieces, with its key.

    `parts` are the separate extents of the region in `band` (from, to), in order. Every way to cover or leave the
    gaps between neighbours is weighed.
    """
    best: list[tuple[int, tuple[Run, ...]]] = [(0, ())]
    for last in range(len(parts)):
        found: tuple[int, tuple[Run, ...]] = (NEVER, ())
        for first in range(last, -1, -1):
            if first < last and never_worth_covering(parts[first + 1][0] - parts[first][1], product):
                break
            cost, run = _run((parts[first][0], parts[last][1]), product, ends, band)
            before, runs = best[first]
            if before + cost < found[0]:
                found = (before + cost, (*runs, run))
        best.append(found)
    return best[-1]


def never_worth_covering(gap: int, product: Product) -> bool:
    """Leaving a gap costs at most one piece and twice the rounding to the cut step more; covering costs the gap."""
    return product.by_mm * (gap - 2 * product.step_mm) > product.piece


def _run(extent: Span, product: Product, ends: Ends, band: Span) -> tuple[int, Run]:
    if extent[1] - extent[0] <= product.longest_mm:
        return product.key_of(extent[1] - extent[0]), Run((extent,))
    return joined_run(extent, product, ends, band)


def joined_run(extent: Span, product: Product, ends: Ends, band: Span) -> tuple[int, Run]:
    """The key and the row of pieces over an extent too long for one.

    Raises:
        LayoutError: where a piece may not even be as long as an end lap.
    """
    if product.longest_mm <= ends.end_lap_mm:
        raise LayoutError(
            f"A piece of {product.code} may be {product.longest_mm} mm long at most, not longer than an end lap of "
            f"{ends.end_lap_mm} mm. Allow longer pieces or choose a longer roll."
        )
    places = _farthest(extent, product, ends) if ends.many else list(ends.places)
    found = _joined(extent, [ends.joint(one, band, on_member=True) for one in places], product, ends)
    if found is None:
        places = _free_places(extent, product, ends)
        found = _joined(extent, [ends.joint(one, band, on_member=False) for one in places], product, ends)
    if found is None:
        raise AssertionError("pieces of full length from one end always reach the other")
    return found


def _farthest(extent: Span, product: Product, ends: Ends) -> list[Place]:
    """From the start on, always the farthest member that one piece reaches."""
    found: list[Place] = []
    begin, half = extent[0], ends.end_lap_mm // 2
    for number, place in enumerate(ends.places):
        following = (
            ends.places[number + 1].at_mm if number + 1 < len(ends.places) else extent[1] + product.longest_mm
        )
        beyond = following - half + ends.end_lap_mm - begin > product.longest_mm
        if beyond and place.at_mm - half > begin:
            found.append(place)
            begin = place.at_mm - half
    return found


def _free_places(extent: Span, product: Product, ends: Ends) -> list[Place]:
    """Joints of pieces of full length laid from the one end, and from the other."""
    start, stop = extent
    pitch, half = product.longest_mm - ends.end_lap_mm, ends.end_lap_mm // 2
    count = -(-(stop - start - ends.end_lap_mm) // pitch)
    from_start = {start + pitch * k + half for k in range(1, count)}
    from_stop = {stop - pitch * k - (ends.end_lap_mm - half) for k in range(1, count)}
    return [Place(at, tuple(ends.sections.spans(at))) for at in sorted(from_start | from_stop)]


_State = tuple[int, tuple[Joint, ...]]


def _joined(extent: Span, joints: list[Joint], product: Product, ends: Ends) -> tuple[int, Run] | None:
    """The cheapest of the rows with the fewest pieces over an extent; none where no choice of joints reaches."""
    start, stop = extent
    usable = [joint for joint in joints if joint.low_mm > start and joint.high_mm < stop]
    layer: list[tuple[Joint, _State]] = [
        (joint, (product.key_of(joint.high_mm - start) + key(ends.by_mm * joint.length_mm), (joint,)))
        for joint in usable
        if joint.high_mm - start <= product.longest_mm
    ]
    while layer:
        done = [
            (total + product.key_of(stop - joint.low_mm), through)
            for joint, (total, through) in layer
            if stop - joint.low_mm <= product.longest_mm
        ]
        if done:
            total, through = min(done, key=lambda state: state[0])
            begins = (start, *(joint.low_mm for joint in through))
            finishes = (*(joint.high_mm for joint in through), stop)
            return total, Run(tuple(zip(begins, finishes, strict=True)), through)
        following: list[tuple[Joint, _State]] = []
        for joint in usable:
            near = [
                (total + product.key_of(joint.high_mm - before.low_mm), through)
                for before, (total, through) in layer
                if before.low_mm < joint.low_mm and joint.high_mm - before.low_mm <= product.longest_mm
            ]
            if near:
                total, through = min(near, key=lambda state: state[0])
                following.append((joint, (total + key(ends.by_mm * joint.length_mm), (*through, joint))))
        if following and following[-1][0].low_mm <= layer[-1][0].low_mm:
            return None  # the members are too far apart to get any farther
        layer = following
    return None
