"""The cut list of a job: its pieces from the layout, rolls and offcuts from the price book."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from api_schema.cut_list import CutList
from api_schema.layout import Layout, Piece
from api_schema.price_book import PriceBook, Product
from api_schema.standard import Standard
from workers.engine.cutting.plan_cuts import cut
from workers.engine.cutting.records import PieceToCut, Slants, Stock


def cut_job(layout: Layout, price_book: PriceBook, standard: Standard) -> CutList:
    """Cut every piece of a layout from offcuts and rolls on hand and rolls to buy.

    Remnants of at least `standard.keep_remnant_mm` are kept. Raises `CannotBeCut` where a piece fits no roll.
    """
    pieces = tuple(pieces_of(layout, slanted=standard.slanted_cuts_allowed))
    used = {piece.product for piece in pieces}
    return cut(
        pieces, tuple(stock_of(price_book, used)), standard.keep_remnant_mm, cut_step_mm=standard.cut_step_mm
    )


def pieces_of(layout: Layout, *, slanted: bool = False) -> Iterator[PieceToCut]:
    """Every piece of every strip, in laying order; with its slanted ends where those may be cut."""
    order = 0
    for surface in layout.surfaces:
        for strip in surface.strips:
            for piece in strip.pieces:
                yield PieceToCut(
                    piece.id,
                    surface.id,
                    strip.product,
                    piece.cut_length_mm,
                    piece.cut_width_mm,
                    order,
                    slants=_slants(piece, surface.direction) if slanted else None,
                )
                order += 1


def _slants(piece: Piece, direction: str) -> Slants | None:
    """The slants as the membrane lies face up: the frame of strips that run up is a mirrored one."""
    if not (piece.start_slant_mm or piece.end_slant_mm):
        return None
    sign = -1 if direction == "up" else 1
    return Slants(piece.to_mm - piece.from_mm, sign * piece.start_slant_mm, sign * piece.end_slant_mm)


def stock_of(price_book: PriceBook, products: set[str]) -> Iterator[Stock]:
    """Rolls and offcuts of the named membranes.

    Each pack of a membrane is a roll, its size the length in metres. What is on hand counts as whole rolls of the
    first pack's size. Prices for quantity are the order's concern and do not change which rolls are cheapest here.
    """
    for product in price_book.products:
        if product.kind == "membrane" and product.code in products and product.width_mm is not None:
            yield from _rolls(product, product.width_mm)
    for offcut in price_book.offcuts:
        if offcut.product in products:
            yield Stock(offcut.product, offcut.length_mm, offcut.width_mm, Decimal(0), offcut.count, "offcut")


def _rolls(product: Product, width_mm: int) -> Iterator[Stock]:
    on_hand = int(product.on_hand // product.packs[0].size)
    if on_hand > 0:
        yield Stock(product.code, _roll_length_mm(product.packs[0].size), width_mm, Decimal(0), on_hand)
    for pack in product.packs:
        if _roll_length_mm(pack.size) > 0:
            yield Stock(product.code, _roll_length_mm(pack.size), width_mm, pack.price)


def _roll_length_mm(metres: Decimal) -> int:
    return int(metres * 1000)
