"""The columns, and a price book as rows of text."""

from __future__ import annotations

import re
from collections.abc import Iterator

from api_schema.price_book import Pack, PriceBook, Product

COLUMNS = (
    "code", "name", "kind", "supplier", "supplier_name", "unit", "width_mm", "smallest_mm", "largest_mm", "millilitres",
    "on_hand", "pack_size", "pack_price", "price_breaks", "valid_from", "valid_until", "provenance",
    "tax",
)  # fmt: skip
OF_PACK = ("pack_size", "pack_price", "price_breaks", "valid_from", "valid_until")
AMOUNTS = ("millilitres", "on_hand", "pack_size", "pack_price")
LENGTHS = ("width_mm", "smallest_mm", "largest_mm")
BREAKS = "price_breaks"
DAYS = ("valid_from", "valid_until")
REQUIRED = ("code", "name", "kind", "supplier", "unit", "pack_size", "pack_price")
_BREAK = re.compile(r"\A\s*([0-9]{1,9})\s*:\s*([0-9.]{1,24})\s*\Z")


def rows_of(book: PriceBook) -> Iterator[tuple[str, ...]]:
    """Every pack of every product, in the book's order; each row as long as `COLUMNS`."""
    names = {supplier.code: supplier.name for supplier in book.suppliers}
    for product in book.products:
        for pack in product.packs:
            yield _row(product, pack, names.get(product.supplier, ""))


def _row(product: Product, pack: Pack, supplier_name: str) -> tuple[str, ...]:
    def said(value: object) -> str:
        return "" if value is None else str(value)

    return (
        product.code, product.name, product.kind, product.supplier, supplier_name, product.unit,
        said(product.width_mm), said(product.smallest_mm), said(product.largest_mm), said(product.millilitres),
        format(product.on_hand, "f"), format(pack.size, "f"), format(pack.price, "f"),
        "; ".join(f"{step.from_packs}: {step.price:f}" for step in pack.breaks),
        said(pack.valid_from), said(pack.valid_until), product.provenance, said(product.tax),
    )  # fmt: skip


def breaks_in(written: str) -> list[dict[str, object]]:
    """Price breaks written like ``10: 38.00; 50: 35.00``, as JSON of `PriceBreak`. Raises ValueError in words."""
    found: list[dict[str, object]] = []
    for part in written.split(";"):
        if not part.strip():
            continue
        step = _BREAK.match(part)
        if step is None:
            raise ValueError(
                'must be written like "10: 38.00; 50: 35.00", from how many packs and the price of one.'
            )
        found.append({"from_packs": int(step[1]), "price": step[2]})
    return found


__all__ = ["AMOUNTS", "BREAKS", "COLUMNS", "DAYS", "LENGTHS", "OF_PACK", "REQUIRED", "breaks_in", "rows_of"]
