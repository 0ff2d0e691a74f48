"""The measured quantities: gross, net, deducted and as measured under the firm's rule, areas surface by surface."""

from __future__ import annotations

from api_schema.measured_quantity import MeasuredPart, MeasuredQuantity
from workers.documents.site_pack.pack import Pack

_PLACES = {"m2": 2, "m": 2, "piece": 0}
_BY_SURFACE = ("area", "reveal", "narrow")


def measured_in_words(pack: Pack) -> str:
    """The rule, and the areas of the whole job beside each other."""
    totals = pack.plan.take_off.totals
    return pack.texts(
        "pack.measured_how",
        rule=pack.texts(f"pack.rule.{pack.standard.measurement_rule}"),
        gross=pack.formats.number(totals.gross_m2, 2),
        net=pack.formats.number(totals.net_m2, 2),
        deducted=pack.formats.number(totals.deducted_m2, 2),
        measured=pack.formats.number(totals.as_measured_m2, 2),
        laid=pack.formats.number(totals.as_laid_m2, 2),
        bought=pack.formats.number(totals.as_bought_m2, 2),
    )


def measured_rows(pack: Pack) -> list[dict[str, str]]:
    """Every item, those of areas with their surfaces below them."""
    rows = []
    for one in pack.plan.take_off.measured:
        rows.append(_row(pack, pack.texts(f"measured.{one.item}"), one, one))
        if one.item in _BY_SURFACE:
            rows += [
                _row(pack, pack.texts("measured.area_of", surface=part.surface), one, part)
                for part in one.from_
            ]
    return rows


def _row(
    pack: Pack, name: str, of: MeasuredQuantity, figures: MeasuredQuantity | MeasuredPart
) -> dict[str, str]:
    def figure(name: str) -> str:
        return pack.formats.number(getattr(figures, name), _PLACES[of.unit])

    return {
        "name": name,
        "gross": figure("gross"),
        "net": figure("net"),
        "deducted": figure("deducted"),
        "as_measured": f"{figure('as_measured')} {pack.texts.unit(of.unit, figures.as_measured)}",
    }
