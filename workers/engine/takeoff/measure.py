"""The take-off: every quantity of a job with the surfaces it comes from."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, localcontext

from api_schema.cut_list import CutList
from api_schema.job import Job
from api_schema.layout import Layout, SurfaceLayout
from api_schema.price_book import PriceBook
from api_schema.standard import Standard
from api_schema.surface import Surface
from api_schema.take_off import ITEMS, ItemName, Quantity, QuantityUnit, Sealing, SurfaceQuantity, TakeOff
from workers.engine.takeoff.areas import areas_of, as_record, totals
from workers.engine.takeoff.battens import battens
from workers.engine.takeoff.bought import bought_by_surface
from workers.engine.takeoff.edges import corners_by_surface, finishes_of, laps_of, opening_perimeter
from workers.engine.takeoff.fixings import staples
from workers.engine.takeoff.measured import measured
from workers.engine.takeoff.penetrations import seal
from workers.engine.takeoff.rounding import EXACT, PI, metres, millilitres, square_metres

Figures = dict[ItemName, Decimal]  # mm, doubled mm², mm³ or pieces; rounded only when written down

_PIECES: frozenset[ItemName] = frozenset(
    {"staples", "collar", "opening", "piece", "captive", "section", "flue"}
)


def measure(
    job: Job, layout: Layout, cut_list: CutList, standard: Standard, price_book: PriceBook
) -> TakeOff:
    """Everything counted from the geometry of a job, its layout and its cut list.

    `job` has outlines that pass `api_schema.survey.find_faults`. Quantities of nothing are left out. Each figure
    is exact until it is rounded once, half-even; a total is rounded from its exact sum, so it may differ from the
    sum of its rounded parts by less than a unit of the last digit for each part. Collars that others bring are not
    counted; `penetrations` names them all the same.

    Raises:
        SettingRefused: if captive pipes cannot be taped with the tape and overlap given.
    """
    layouts = {one.id: one for one in layout.surfaces}
    with localcontext(EXACT):
        areas = [(s.id, areas_of(s, layouts.get(s.id), standard.measurement_rule)) for s in job.surfaces]
        sealings = tuple(seal(s.id, p, price_book, standard) for s in job.surfaces for p in s.penetrations)
        corners = corners_by_surface(job, layouts)
        figures = {
            surface.id: _figures_of(surface, layouts.get(surface.id), job, standard, corners.get(surface.id))
            for surface in job.surfaces
        }
        for surface_id, found in areas:
            figures[surface_id]["membrane_laid"] = Decimal(found.laid)
        for sealing in sealings:
            _count_sealing(figures[sealing.surface], sealing)
        under_rule = measured(job, layouts, areas, standard.measurement_rule)
        bought = bought_by_surface([s.id for s in job.surfaces], layout.surfaces, cut_list)
        quantities = [_quantity(item, figures) for item in ITEMS if item != "collar"]
    return TakeOff(
        surfaces=tuple(as_record(surface_id, found, bought[surface_id]) for surface_id, found in areas),
        totals=totals([found for _, found in areas], cut_list),
        quantities=(*filter(None, quantities), *(_collars(sealings) if job.collars == "by_us" else ())),
        penetrations=sealings,
        measured=under_rule,
    )


def _figures_of(
    surface: Surface, layout: SurfaceLayout | None, job: Job, standard: Standard, corner: Decimal | None
) -> Figures:
    figures: Figures = {**laps_of(layout), **finishes_of(surface)}
    figures["corner"] = corner or Decimal(0)
    figures["opening"] = Decimal(len(surface.openings))
    figures["opening_perimeter"] = opening_perimeter(surface)
    if layout is not None:
        centres = (
            standard.fixing_centres_blown_in_mm
            if job.insulation == "blown_in"
            else standard.fixing_centres_in_place_mm
        )
        figures["staples"] = Decimal(staples(surface, layout, centres))
        where = standard.battens_blown_in if job.insulation == "blown_in" else standard.battens_in_place
        figures["batten"] = battens(surface, where, standard.batten_run, standard.batten_centres_mm)
        figures["piece"] = Decimal(sum(len(strip.pieces) for strip in layout.strips))
    on_ground = figures.get("masonry_edge", Decimal(0)) + figures.get("slab_edge", Decimal(0))
    figures["primer"] = on_ground
    figures["bead"] = on_ground * PI / 4 * standard.bead_mm**2  # a round bead
    figures["lap_tape"] = figures.get("lap", Decimal(0)) + figures.get("end_lap", Decimal(0))
    figures["corner_tape"] = figures["corner"]
    figures["timber_edge_tape"] = figures.get("timber_edge", Decimal(0))
    figures["frame_tape"] = figures.get("frame", Decimal(0)) + figures["opening_perimeter"]
    return figures


def _count_sealing(figures: Figures, sealing: Sealing) -> None:
    counted: dict[str, tuple[ItemName, ItemName | None]] = {
        "taped": ("captive", "captive_tape"),
        "section_taped": ("section", "section_tape"),
        "non_combustible": ("flue", None),
    }
    if sealing.method in counted:
        item, tape = counted[sealing.method]
        figures[item] = figures.get(item, Decimal(0)) + sealing.count
        if tape is not None:
            figures[tape] = figures.get(tape, Decimal(0)) + sealing.tape_m * 1000


def _quantity(item: ItemName, figures: dict[str, Figures]) -> Quantity | None:
    unit, written = _unit(item)
    parts = [(surface, found[item]) for surface, found in figures.items() if found.get(item)]
    if not parts:
        return None
    return Quantity(
        item,
        written(sum((figure for _, figure in parts), Decimal(0))),
        unit,
        tuple(SurfaceQuantity(surface, written(figure)) for surface, figure in parts),
    )


def _unit(item: ItemName) -> tuple[QuantityUnit, Callable[[Decimal], Decimal]]:
    if item in _PIECES:
        return "piece", lambda figure: figure
    if item == "membrane_laid":
        return "m2", lambda figure: square_metres(int(figure))
    return ("ml", millilitres) if item == "bead" else ("m", metres)


def _collars(sealings: tuple[Sealing, ...]) -> list[Quantity]:
    """A quantity for every collar used, in the order they are met."""
    counts: dict[str, dict[str, int]] = {}
    for sealing in sealings:
        if sealing.product is not None:
            by_surface = counts.setdefault(sealing.product, {})
            by_surface[sealing.surface] = by_surface.get(sealing.surface, 0) + sealing.count
    return [
        Quantity(
            "collar",
            Decimal(sum(by_surface.values())),
            "piece",
            tuple(SurfaceQuantity(surface, Decimal(count)) for surface, count in by_surface.items()),
            product,
        )
        for product, by_surface in counts.items()
    ]
