"""Areas of a surface: gross, net, deducted and as measured under a rule of measurement, as laid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from api_schema.cut_list import CutList
from api_schema.layout import SurfaceLayout
from api_schema.standard import MeasurementRule
from api_schema.surface import Surface
from api_schema.survey import doubled_area_mm2
from api_schema.take_off import AreaTotals, SurfaceAreas
from workers.engine.takeoff.breadth import at_most
from workers.engine.takeoff.rounding import square_metres

# An opening is deducted when twice its area in mm² is over this. NRM2 (recalled): voids up to 1.00 m² are not
# deducted for sheet coverings. VOB/C, DIN 18299 ff. (published): openings over 2.5 m² are, in floors over 0.5 m².
_ONE_M2 = 2 * 1_000_000
_DEDUCTED_OVER: dict[MeasurementRule, int] = {
    "net": 0,
    "deduct_over_1_00_m2": _ONE_M2,
    "deduct_over_2_50_m2": 5 * _ONE_M2 // 2,
}
_FLOORS_DEDUCTED_OVER = _ONE_M2 // 2
_NARROW_MM = 500  # NRM2, recalled: narrower surfaces are measured in metres
_BAR_MM = (
    300  # VOB/C (published): a post, beam or chimney breast wider than this is deducted, whatever its area
)


@dataclass(frozen=True, slots=True)
class DoubledAreas:
    """Twice the areas of one surface in mm², so that they stay whole."""

    gross: int
    openings: int
    deducted: int
    measured: int
    laid: int


def in_metres(surface: Surface, rule: MeasurementRule) -> bool:
    """Is the surface so narrow that the rule measures its length and not its area?"""
    return rule == "deduct_over_1_00_m2" and at_most(surface.outline_mm, _NARROW_MM)


def areas_of(surface: Surface, layout: SurfaceLayout | None, rule: MeasurementRule) -> DoubledAreas:
    """Areas of one surface, by the shoelace formula; `laid` counts every piece as it is cut.

    Penetrations are counted one by one and never deducted. Of a surface measured in metres no area is measured.
    """
    gross = abs(doubled_area_mm2(surface.outline_mm))
    holes = [abs(doubled_area_mm2(opening.outline_mm)) for opening in surface.openings]
    over = _DEDUCTED_OVER[rule]
    if rule == "deduct_over_2_50_m2" and surface.kind == "floor":
        over = _FLOORS_DEDUCTED_OVER
    pieces = [piece for strip in layout.strips for piece in strip.pieces] if layout is not None else []
    deducted = sum(
        hole
        for hole, opening in zip(holes, surface.openings, strict=True)
        if (
            not at_most(opening.outline_mm, _BAR_MM)
            if rule == "deduct_over_2_50_m2" and opening.kind == "obstruction"
            else hole > over
        )
    )
    narrow = in_metres(surface, rule)
    return DoubledAreas(
        gross=gross,
        openings=sum(holes),
        deducted=0 if narrow else deducted,
        measured=0 if narrow else gross - deducted,
        laid=2 * sum(piece.cut_length_mm * piece.cut_width_mm for piece in pieces),
    )


def as_record(surface_id: str, areas: DoubledAreas, bought_m2: Decimal) -> SurfaceAreas:
    """The areas of one surface in m²."""
    return SurfaceAreas(surface_id, *_figures([areas]), as_bought_m2=bought_m2)


def totals(areas: Iterable[DoubledAreas], cut_list: CutList) -> AreaTotals:
    """The areas of the job in m². As bought: new rolls only; stock and offcuts on hand were bought before."""
    bought = sum(roll.length_mm * roll.width_mm for roll in cut_list.rolls if not roll.from_stock)
    return AreaTotals(*_figures(list(areas)), as_bought_m2=square_metres(2 * bought))


def _figures(areas: list[DoubledAreas]) -> tuple[Decimal, Decimal, Decimal, Decimal, Decimal]:
    gross = sum(one.gross for one in areas)
    return (
        square_metres(gross),
        square_metres(gross - sum(one.openings for one in areas)),
        square_metres(sum(one.deducted for one in areas)),
        square_metres(sum(one.measured for one in areas)),
        square_metres(sum(one.laid for one in areas)),
    )
