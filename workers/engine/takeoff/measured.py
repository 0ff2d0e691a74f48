"""Quantities as they are measured for payment under a rule, beside what they are.

Three rules. `net`: everything as it is. `deduct_over_1_00_m2` (NRM2, recalled): areas net but for voids up to 1.00 m²,
surfaces up to 500 mm wide in metres, laps deemed included, penetrations enumerated. `deduct_over_2_50_m2` (VOB/C,
DIN 18299 ff. and 18340, published): openings over 2.5 m² deducted, in floors over 0.5 m², bar-like interruptions
wider than 30 cm, in lengths gaps over 1 m each; reveals measured extra.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from api_schema.job import Job
from api_schema.layout import SurfaceLayout
from api_schema.measured_quantity import (
    MEASURED_ITEMS,
    MeasuredItem,
    MeasuredPart,
    MeasuredQuantity,
    MeasuredUnit,
)
from api_schema.standard import MeasurementRule
from api_schema.surface import Surface
from workers.engine.takeoff.areas import DoubledAreas, in_metres
from workers.engine.takeoff.breadth import length_along_mm
from workers.engine.takeoff.edges import EDGE_ITEMS, corner_sides, rings_of
from workers.engine.takeoff.rounding import metres, square_metres
from workers.engine.takeoff.segments import Edge, Rings, length_mm

_GAP_MM = 1000  # VOB/C, published


@dataclass(frozen=True, slots=True)
class _Amount:
    """Doubled mm², mm, or pieces."""

    gross: Decimal
    net: Decimal
    measured: Decimal

    def __add__(self, other: _Amount) -> _Amount:
        return _Amount(self.gross + other.gross, self.net + other.net, self.measured + other.measured)


_Found = dict[MeasuredItem, dict[str, _Amount]]


def measured(
    job: Job,
    layouts: Mapping[str, SurfaceLayout],
    areas: Iterable[tuple[str, DoubledAreas]],
    rule: MeasurementRule,
) -> tuple[MeasuredQuantity, ...]:
    """The job's quantities under the rule, item by item, each with its surfaces. What there is none of is left out."""
    found: _Found = {}
    doubled = dict(areas)
    for surface in job.surfaces:
        for item, amount in _of_surface(surface, layouts.get(surface.id), doubled[surface.id], rule):
            _put(found, item, surface.id, amount)
    surfaces = {surface.id: surface for surface in job.surfaces}
    for side in corner_sides(job, layouts):
        surface = surfaces[side.surface]
        rings = rings_of(surface)
        _put(found, "corner", surface.id, _edge(rings, 0, rings.rings[0][side.edge], rule))
    return tuple(_written(item, found[item]) for item in MEASURED_ITEMS if item in found)


def _of_surface(
    surface: Surface, layout: SurfaceLayout | None, areas: DoubledAreas, rule: MeasurementRule
) -> Iterator[tuple[MeasuredItem, _Amount]]:
    if in_metres(surface, rule):
        yield "narrow", _all(length_along_mm(surface.outline_mm))
    else:
        extra = rule == "deduct_over_2_50_m2" and surface.kind == "reveal"
        gross = Decimal(areas.gross)
        yield (
            "reveal" if extra else "area",
            _Amount(gross, gross - areas.openings, gross - areas.deducted),
        )
    yield from _laps(layout, rule)
    rings = rings_of(surface)
    for end in surface.edges:
        item = EDGE_ITEMS.get(end.finish)
        if item is not None:
            yield item, _edge(rings, 0, rings.rings[0][end.edge], rule)
    for number, opening in enumerate(surface.openings, start=1):
        around: MeasuredItem | None = EDGE_ITEMS.get(opening.finish)
        if around == "frame":
            around = "opening_perimeter"
        if around is not None:
            for edge in rings.rings[number]:  # where no layer is beside it there is nothing to interrupt
                yield around, _all(rings.bare_length_mm(number, edge))
    count = sum(penetration.count for penetration in surface.penetrations)
    yield "penetration", _all(Decimal(count))


def _laps(layout: SurfaceLayout | None, rule: MeasurementRule) -> Iterator[tuple[MeasuredItem, _Amount]]:
    if layout is not None:
        for lap in layout.laps:
            if lap.spans_mm:
                spans = sorted(lap.spans_mm)
                gaps = [Decimal(after[0] - before[1]) for before, after in pairwise(spans)]
                yield "lap", _deemed(_with_gaps(Decimal(spans[-1][1] - spans[0][0]), gaps, rule), rule)
        for strip in layout.strips:
            for end_lap in strip.end_laps:
                yield "end_lap", _deemed(_all(Decimal(end_lap.length_mm)), rule)


def _edge(rings: Rings, ring: int, edge: Edge, rule: MeasurementRule) -> _Amount:
    """An edge from end to end, with the gaps that openings make in it."""
    bare = rings.bare(ring, edge)
    ends = [0, *(end for stretch in bare for end in stretch), 1]
    gaps = [
        length_mm(edge, high - low) for low, high in zip(ends[::2], ends[1::2], strict=True) if low < high
    ]
    return _with_gaps(length_mm(edge), gaps, rule)


def _with_gaps(gross: Decimal, gaps: Iterable[Decimal], rule: MeasurementRule) -> _Amount:
    over = _GAP_MM if rule == "deduct_over_2_50_m2" else 0
    lost = list(gaps)
    return _Amount(
        gross, gross - sum(lost, Decimal(0)), gross - sum((gap for gap in lost if gap > over), Decimal(0))
    )


def _deemed(amount: _Amount, rule: MeasurementRule) -> _Amount:
    """Laps are deemed included in the area under NRM2."""
    return _Amount(amount.gross, amount.net, Decimal(0)) if rule == "deduct_over_1_00_m2" else amount


def _all(amount: Decimal) -> _Amount:
    return _Amount(amount, amount, amount)


def _put(found: _Found, item: MeasuredItem, surface: str, amount: _Amount) -> None:
    if not amount.gross:
        return
    by_surface = found.setdefault(item, {})
    by_surface[surface] = by_surface[surface] + amount if surface in by_surface else amount


def _written(item: MeasuredItem, by_surface: Mapping[str, _Amount]) -> MeasuredQuantity:
    unit, written = _unit(item)
    whole = _Amount(Decimal(0), Decimal(0), Decimal(0))
    for amount in by_surface.values():
        whole += amount

    def figures(amount: _Amount) -> tuple[Decimal, Decimal, Decimal, Decimal]:
        return (
            written(amount.gross),
            written(amount.net),
            written(amount.gross - amount.measured),
            written(amount.measured),
        )

    return MeasuredQuantity(
        item,
        unit,
        *figures(whole),
        tuple(MeasuredPart(surface, *figures(amount)) for surface, amount in by_surface.items()),
    )


def _unit(item: MeasuredItem) -> tuple[MeasuredUnit, Callable[[Decimal], Decimal]]:
    if item in ("area", "reveal"):
        return "m2", lambda amount: square_metres(int(amount))
    return ("piece", lambda amount: amount) if item == "penetration" else ("m", metres)
