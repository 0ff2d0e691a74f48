"""Penetrations of the whole job, staples, tapes and the rest that is counted."""

from __future__ import annotations

from api_schema.take_off import Quantity
from workers.documents.site_pack.pack import Pack


def penetration_rows(pack: Pack) -> list[dict[str, str]]:
    """Every penetration with its sealing, surface by surface."""
    return [
        {
            "surface": surface.id,
            "name": penetration.id,
            "what": pack.what(penetration),
            "how": pack.how_sealed(sealing),
        }
        for _, surface in pack.layout_and_surface()
        for sealing, penetration in pack.sealings_of(surface.id)
    ]


def fixings_in_words(pack: Pack) -> str:
    """How far apart staples stand, what drives them, and the battens where the job has any."""
    words = [
        pack.texts(f"pack.fixing.{pack.job.insulation}", centres=pack.fixing_centres_mm),
        pack.texts(f"pack.stapler.{pack.job.stapler}"),
    ]
    if any(one.item == "batten" for one in pack.plan.take_off.quantities):
        blown_in = pack.job.insulation == "blown_in"
        where = pack.standard.battens_blown_in if blown_in else pack.standard.battens_in_place
        words.append(
            pack.texts(
                f"pack.battens.{pack.standard.batten_run}",
                where=pack.texts(f"pack.battens.on.{where}"),
                centres=pack.standard.batten_centres_mm,
            )
        )
    return " ".join(words)


def quantity_rows(pack: Pack) -> list[tuple[str, str]]:
    """Everything the take-off counted, in plain words."""
    return [(_item(pack, one), _quantity(pack, one)) for one in pack.plan.take_off.quantities]


def _item(pack: Pack, one: Quantity) -> str:
    return pack.product(one.product) if one.product else pack.texts(f"item.{one.item}")


def _quantity(pack: Pack, one: Quantity) -> str:
    places = {"m2": 1, "m": 1, "ml": 0, "piece": 0}[one.unit]
    return f"{pack.formats.number(one.quantity, places)} {pack.texts.unit(one.unit, one.quantity)}"
