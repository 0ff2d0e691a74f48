"""What was bought for each surface: the rolls opened, shared out among the surfaces that are cut from them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, localcontext

from api_schema.cut_list import CutList
from api_schema.layout import SurfaceLayout
from workers.engine.pricing.sharing import shared
from workers.engine.takeoff.rounding import EXACT, square_metres

_MM2 = Decimal(1)
_DIGIT = Decimal("0.0001")


def bought_by_surface(
    surfaces: Sequence[str], layouts: Sequence[SurfaceLayout], cut_list: CutList
) -> dict[str, Decimal]:
    """As-bought m² by surface; the parts add up to the job's, to the last digit.

    Each new roll's area is shared in proportion to the pieces cut from it, length times width as cut, so waste and
    remnant go along with them. Rolls and offcuts from stock were bought before and count for nothing.
    """
    pieces = {
        piece.id: (layout.id, Decimal(piece.cut_length_mm * piece.cut_width_mm))
        for layout in layouts
        for strip in layout.strips
        for piece in strip.pieces
    }
    with localcontext(EXACT):
        found = dict.fromkeys(surfaces, Decimal(0))
        for roll in cut_list.rolls:
            if roll.from_stock:
                continue
            cut: dict[str, Decimal] = {}
            for name in (name for one in roll.cuts for name in one.pieces):
                surface, area = pieces[name]
                cut[surface] = cut.get(surface, Decimal(0)) + area
            for surface, part in shared(
                Decimal(roll.length_mm * roll.width_mm), tuple(cut), cut, _MM2
            ).items():
                found[surface] += part
        whole = square_metres(2 * int(sum(found.values())))
        return shared(whole, surfaces, found, _DIGIT) if whole else found
