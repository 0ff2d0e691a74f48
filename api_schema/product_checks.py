"""What one field of a product alone does not show: ranges upside down, and what its kind asks for."""

from __future__ import annotations

from collections.abc import Iterator

from api_schema.price_book import Pack, Product, ProductKind, ProductUnit
from api_schema.problem import Fault

_UNITS: dict[ProductKind, tuple[ProductUnit, ...]] = {
    "membrane": ("m",),
    "lap_tape": ("m",),
    "frame_tape": ("m",),
    "collar": ("piece",),
    "sealant": ("ml", "piece"),
    "primer": ("m",),
    "staples": ("piece",),
    "batten": ("m",),
}


def faults_of_product(product: Product) -> Iterator[Fault]:
    """What makes a product of no use, each with a JSON Pointer into the product."""
    units = _UNITS[product.kind]
    if product.unit not in units:
        yield Fault(
            "/unit", f"must be {' or '.join(units)}: what a job needs of {product.kind} is counted so."
        )
    if product.kind == "sealant" and product.unit == "piece" and product.millilitres is None:
        yield Fault("/millilitres", "is missing: sealant sold by the piece needs the content of one.")
    if product.kind == "membrane" and product.width_mm is None:
        yield Fault("/width_mm", "is missing: a membrane needs the width of its roll.")
    smallest, largest = product.smallest_mm, product.largest_mm
    if product.kind == "collar" and (smallest is None or largest is None):
        yield Fault("", "needs smallest_mm and largest_mm: the diameters the collar seals.")
    elif smallest is not None and largest is not None and smallest > largest:
        yield Fault("/smallest_mm", "is more than largest_mm; exchange the two.")
    for place, pack in enumerate(product.packs):
        yield from _faults_of_pack(f"/packs/{place}", pack)


def _faults_of_pack(here: str, pack: Pack) -> Iterator[Fault]:
    if pack.valid_from is not None and pack.valid_until is not None and pack.valid_from > pack.valid_until:
        yield Fault(f"{here}/valid_until", f"lies before the first day, {pack.valid_from}; exchange the two.")
    counts = [step.from_packs for step in pack.breaks]
    for place, count in enumerate(counts):
        if count in counts[:place]:
            yield Fault(
                f"{here}/breaks/{place}/from_packs", f"{count} stands twice; each may have one price."
            )
