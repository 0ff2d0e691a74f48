"""Order lines: which packs of which products to buy for a take-off and its cut list."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal, localcontext

from api_schema.currency import minor_unit
from api_schema.cut_list import CutList, Roll
from api_schema.order_line import OrderLine
from api_schema.price_book import PRODUCT_KINDS, Pack, PriceBook, Product, ProductKind
from api_schema.standard import Standard
from api_schema.take_off import ItemName, TakeOff
from workers.engine.packs.cheapest import EXACT, cheapest_packs, pack_price
from workers.engine.refusal import SettingRefused

_ITEMS_OF: dict[ProductKind, tuple[ItemName, ...]] = {
    "lap_tape": ("lap_tape", "corner_tape", "timber_edge_tape", "captive_tape", "section_tape"),
    "frame_tape": ("frame_tape",),
    "sealant": ("bead",),
    "primer": ("primer",),
    "staples": ("staples",),
    "batten": ("batten",),
}
_NOTHING = Decimal(0)
_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class _Need:
    kind: ProductKind
    needed: Decimal
    waste: Decimal
    product: str | None = None  # where the take-off has chosen it by size


def order(
    take_off: TakeOff, cut_list: CutList, price_book: PriceBook, standard: Standard
) -> tuple[OrderLine, ...]:
    """What to buy for a job: packs by product, after waste and stock on hand, at the least money.

    Membrane comes as the rolls of the cut list, in metres at full width; its waste is in the cuts already. Collars
    are those the take-off chose by size. Of tape, sealant, primer, staples and battens one product each is used on a job,
    since joints should be of one system: the one whose packs to buy, after its own stock, cost least, and one whose
    prices are not in force only where no other can be had; ties go to the one that leaves less to buy, then to the
    price book's order. Tape, primer, staples and battens gain their waste
    share; sealant is divided by (1 − waste). Frame tape falls to the lap tape where the price book has none.

    One line for each pack size bought, its price rounded half-even to the currency's minor unit. `needed`, `waste` and `from_stock` stand on a product's first line, so
    that their sums are the job's; a product taken wholly from stock has one line of no packs. What no product in
    the price book can provide is left out; `unbought` names it.

    Raises:
        SettingRefused: if the cut list uses a roll the price book does not sell, or a pack is absurdly small.
    """
    with localcontext(EXACT):
        lines = [*_membrane_lines(cut_list, price_book)]
        for need in _needs(take_off, price_book, standard):
            lines.extend(_cheapest_lines(need, price_book))
    return tuple(lines)


def unbought(take_off: TakeOff, price_book: PriceBook, standard: Standard) -> tuple[ProductKind, ...]:
    """Kinds of product a job needs and the price book cannot provide."""
    with localcontext(EXACT):
        needs = _needs(take_off, price_book, standard)
        return tuple(
            dict.fromkeys(need.kind for need in needs if not list(_offers(need, price_book.products)))
        )


def _needs(take_off: TakeOff, price_book: PriceBook, standard: Standard) -> list[_Need]:
    amounts = dict.fromkeys(_ITEMS_OF, _NOTHING)
    has_frame_tape = any(product.kind == "frame_tape" for product in price_book.products)
    for kind, items in _ITEMS_OF.items():
        amount = sum((q.quantity for q in take_off.quantities if q.item in items), _NOTHING)
        amounts["lap_tape" if kind == "frame_tape" and not has_frame_tape else kind] += amount
    shares: dict[ProductKind, Decimal] = {
        "lap_tape": standard.tape_waste,
        "frame_tape": standard.tape_waste,
        "sealant": 1 / (1 - standard.bead_waste) - 1,  # a cartridge gives only (1 − waste) of its content
        "primer": standard.primer_waste,
        "staples": standard.staple_waste,
        "batten": standard.batten_waste,
    }
    needs = [
        _Need(kind, amount, _rounded_up(amount * shares[kind], "1" if kind == "staples" else "0.001"))
        for kind, amount in amounts.items()
        if amount > 0
    ]
    collars = [
        _Need("collar", quantity.quantity, _NOTHING, quantity.product)
        for quantity in take_off.quantities
        if quantity.item == "collar"
    ]
    return sorted(needs + collars, key=lambda need: PRODUCT_KINDS.index(need.kind))


def _cheapest_lines(need: _Need, price_book: PriceBook) -> Iterable[OrderLine]:
    choices = []
    for place, (product, packs, on_hand) in enumerate(_offers(need, price_book.products)):
        wanted = need.needed + need.waste
        from_stock = min(on_hand, wanted)
        counts = cheapest_packs(packs, wanted - from_stock)
        money = sum(
            (count * pack_price(pack, count) for pack, count in zip(packs, counts, strict=True)), _NOTHING
        )
        old = money > 0 and not _in_force(product, price_book.as_of)
        choices.append((old, money, wanted - from_stock, place, product, packs, counts, from_stock))
    if not choices:
        return ()
    *_, product, packs, counts, from_stock = min(choices, key=lambda choice: choice[:4])
    step = minor_unit(price_book.currency)
    return _lines(product, need, from_stock, tuple(zip(packs, counts, strict=True)), step)


def _in_force(product: Product, day: datetime.date | None) -> bool:
    """Does one of the product's prices hold on the day? Always where no day is named."""
    return day is None or any(
        (pack.valid_from is None or pack.valid_from <= day)
        and (pack.valid_until is None or day <= pack.valid_until)
        for pack in product.packs
    )


def _offers(need: _Need, products: Iterable[Product]) -> Iterator[tuple[Product, tuple[Pack, ...], Decimal]]:
    """Products that can meet a need, with their packs and stock in the need's unit."""
    wanted_unit = {"lap_tape": "m", "frame_tape": "m", "sealant": "ml", "primer": "m", "batten": "m"}.get(
        need.kind, "piece"
    )
    for product in products:
        if product.kind != need.kind or (need.product is not None and product.code != need.product):
            continue
        if product.unit == wanted_unit:
            yield product, product.packs, product.on_hand
        elif need.kind == "sealant" and product.unit == "piece" and product.millilitres is not None:
            content = product.millilitres  # sold by the cartridge: packs and stock turned into millilitres
            packs = tuple(Pack(pack.size * content, pack.price, pack.breaks) for pack in product.packs)
            yield product, packs, product.on_hand * content


def _membrane_lines(cut_list: CutList, price_book: PriceBook) -> Iterator[OrderLine]:
    products = {product.code: product for product in price_book.products}
    for code in dict.fromkeys(roll.product for roll in cut_list.rolls):
        product = products.get(code)
        if product is None or product.width_mm is None:
            raise SettingRefused(
                "price book",
                f"The cut list uses {code}, which is no membrane with a width in the price book.",
            )
        rolls = [roll for roll in cut_list.rolls if roll.product == code]
        lengths = [roll.length_mm for roll in rolls if not roll.from_stock]
        bought: list[tuple[Pack, int]] = []
        for length in dict.fromkeys(lengths):
            packs = _roll_packs(product, length)
            # more rolls than are cut, where a price for quantity makes them cheaper
            counts = cheapest_packs(packs, lengths.count(length) * packs[0].size)
            bought.extend(zip(packs, counts, strict=True))
        need = _Need("membrane", _metres_cut(rolls, product.width_mm), _NOTHING)
        from_stock = _metres_cut((roll for roll in rolls if roll.from_stock), product.width_mm)
        yield from _lines(product, need, from_stock, tuple(bought), minor_unit(price_book.currency))


def _roll_packs(product: Product, length_mm: int) -> tuple[Pack, ...]:
    """The packs of that length; several where two prices of one roll hold at a time."""
    packs = tuple(pack for pack in product.packs if int(pack.size * 1000) == length_mm)
    if not packs:
        raise SettingRefused(
            "price book", f"{product.code} is not sold in rolls of {length_mm} mm, but the cut list uses one."
        )
    return packs


def _metres_cut(rolls: Iterable[Roll], width_mm: int) -> Decimal:
    """Metres cut, at the product's full width: a metre of a narrower offcut counts for its share of it."""
    cut = sum(cut.length_mm * roll.width_mm for roll in rolls for cut in roll.cuts)
    return (Decimal(cut) / width_mm / 1000).quantize(_THOUSANDTH)


def _lines(
    product: Product, need: _Need, from_stock: Decimal, bought: tuple[tuple[Pack, int], ...], step: Decimal
) -> Iterator[OrderLine]:
    unit = "ml" if product.kind == "sealant" else product.unit
    first = (need.needed, need.waste, from_stock)
    used = [(pack, count) for pack, count in bought if count] or [
        (bought[0][0] if bought else product.packs[0], 0)
    ]
    for place, (pack, count) in enumerate(used):
        each = pack_price(pack, count)
        needed, waste, stock = first if place == 0 else (_NOTHING, _NOTHING, _NOTHING)
        yield OrderLine(
            product.code, product.name, product.kind, product.supplier, needed, waste, stock, count, pack.size,
            unit, each, (each * count).quantize(step, ROUND_HALF_EVEN), product.tax,
        )  # fmt: skip


def _rounded_up(amount: Decimal, step: str) -> Decimal:
    return amount.quantize(Decimal(step), ROUND_CEILING)
