"""The costs of a layout as whole numbers, and keys that order layouts by cost and then by the tie rules.

Money is counted in thousand-millionths of the currency's unit, so that a rate by the millimetre is a whole number.
A *key* packs cost, pieces, lap metres and offset into one whole number: keys are added and compared, and the
smaller key is the better layout (cheaper; then fewer pieces; then fewer metres of lap; then the smaller offset).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from api_schema.standard import Standard
from workers.engine.costs import LayoutCosts, Membrane

UNITS = 10**9
_OFFSET_BITS, _LAP_BITS, _PIECE_BITS = 24, 40, 20
_LAP_AT = _OFFSET_BITS
_PIECE_AT = _LAP_AT + _LAP_BITS
_COST_AT = _PIECE_AT + _PIECE_BITS
NEVER = 1 << 300  # the key of what cannot be laid
_DEAREST = 100_000  # money by metre or piece; beyond it sums would outgrow a machine word
FORBIDDEN = 1 << 60  # its cost in units; no real one comes near


class LayoutError(ValueError):
    """A surface cannot be covered with the membranes of the price book; the message says why and what to do."""


def key(cost: int = 0, pieces: int = 0, lap_mm: int = 0, offset_mm: int = 0) -> int:
    """Cost in units, pieces, lap in mm and offset in mm as one key."""
    return (cost << _COST_AT) + (pieces << _PIECE_AT) + (lap_mm << _LAP_AT) + offset_mm


def cost_in(packed: int) -> int:
    """The cost in units that a key holds."""
    return packed >> _COST_AT


def tie(pieces: int = 0, lap_mm: int = 0) -> int:
    """Pieces and lap in mm as one number that fits a machine word."""
    return (pieces << (_PIECE_AT - _LAP_AT)) + lap_mm


def joined_key(cost: int, tied: int) -> int:
    """The key of a cost and a `tie`."""
    return (cost << _COST_AT) + (tied << _LAP_AT)


def parted_key(packed: int) -> tuple[int, int]:
    """Cost and `tie` of a key without offset."""
    return packed >> _COST_AT, (packed >> _LAP_AT) & ((1 << (_COST_AT - _LAP_AT)) - 1)


def money(units: int) -> Decimal:
    """Units as money, exactly."""
    return Decimal(units) / UNITS


@dataclass(frozen=True, slots=True)
class Product:
    """A membrane with whole-number rates. `longest_mm` is what one piece may be: handled length or roll."""

    code: str
    width_mm: int
    roll_mm: int
    longest_mm: int
    by_mm: int
    piece: int
    step_mm: int

    def cut_mm(self, extent: int) -> int:
        """Length to cut for an extent: rounded up to the cut step, but never more than is on the roll."""
        return min(-(-extent // self.step_mm) * self.step_mm, self.roll_mm)

    def key_of(self, extent: int) -> int:
        """Key of one piece of that extent, without joints."""
        return key(self.by_mm * self.cut_mm(extent) + self.piece, 1)


@dataclass(frozen=True, slots=True)
class Rates:
    """Everything the layout weighs, in units and whole mm."""

    products: tuple[Product, ...]
    lap_by_mm: int
    penalty_by_mm: int
    end_lap_by_mm: int
    lap_mm: int
    end_lap_mm: int
    clear_mm: int


def rates_of(costs: LayoutCosts, standard: Standard) -> Rates:
    """Whole-number rates; of several membranes of one width that can never win, only the best is kept.

    Raises:
        LayoutError: where no membrane is left to lay, or a price is beyond all reason.
    """
    if not costs.membranes:
        raise LayoutError(
            "The price book has no membrane with a width and a roll length; add one before planning."
        )
    usable = [m for m in costs.membranes if m.width_mm > standard.lap_mm and m.roll_length_mm > 0]
    if not usable:
        widest = max(m.width_mm for m in costs.membranes)
        raise LayoutError(
            f"The widest membrane is {widest} mm, not wider than the lap of {standard.lap_mm} mm, so strips cannot "
            "overlap. Choose a wider membrane or a smaller lap."
        )
    for what, rate in (
        *((f"A metre of {m.product}", m.price_per_m) for m in usable),
        ("A metre of lap", costs.lap_cost_per_m + standard.lap_penalty_per_m),
        ("A metre of end lap", costs.end_lap_cost_per_m),
        ("Hanging a piece", costs.piece_cost),
    ):
        if rate > _DEAREST:
            raise LayoutError(
                f"{what} would cost {rate}; layouts are reckoned up to {_DEAREST}. Check the prices."
            )
    products = [_product(m, costs, standard) for m in usable]
    products = [p for p in products if p.longest_mm > standard.end_lap_mm] or products
    return Rates(
        tuple(_worth_keeping(products)),
        _by_mm(costs.lap_cost_per_m),
        _by_mm(standard.lap_penalty_per_m),
        _by_mm(costs.end_lap_cost_per_m),
        standard.lap_mm,
        standard.end_lap_mm,
        standard.lap_clear_mm,
    )


def _product(membrane: Membrane, costs: LayoutCosts, standard: Standard) -> Product:
    return Product(
        code=membrane.product,
        width_mm=membrane.width_mm,
        roll_mm=membrane.roll_length_mm,
        longest_mm=min(standard.handled_length_mm, membrane.roll_length_mm),
        by_mm=_by_mm(membrane.price_per_m),
        piece=_units(costs.piece_cost),
        step_mm=standard.cut_step_mm,
    )


def _worth_keeping(products: list[Product]) -> list[Product]:
    """Widest first; of equal width, one is dropped where another is no dearer and no shorter."""
    kept: list[Product] = []
    for one in sorted(products, key=lambda p: (-p.width_mm, p.by_mm, -p.roll_mm, p.code)):
        if not any(other.width_mm == one.width_mm and other.roll_mm >= one.roll_mm for other in kept):
            kept.append(one)
    return kept


def _units(amount: Decimal) -> int:
    return int((amount * UNITS).to_integral_value(ROUND_HALF_EVEN))


def _by_mm(per_m: Decimal) -> int:
    return int((per_m * UNITS / 1000).to_integral_value(ROUND_HALF_EVEN))
