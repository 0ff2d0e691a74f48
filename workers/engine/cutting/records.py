"""What goes into a cutting plan: the pieces wanted and the stock they may be cut from."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal


@dataclass(frozen=True, slots=True)
class PieceToCut:
    """One piece of membrane; `order` is its place in the laying order of the job.

    `slants` say how its ends may be cut; none where they are to be square. `pair` is what a piece made of two holds.
    """

    id: str
    surface: str
    product: str
    length_mm: int
    width_mm: int
    order: int = 0
    slants: Slants | None = None
    pair: Pair | None = None


@dataclass(frozen=True, slots=True)
class Slants:
    """The true extent of a piece, and how much a slanted cut may leave off its ends.

    Seen face up with the start to the left: above 0 off the far edge, below 0 off the near edge, 0 square.
    """

    extent_mm: int
    start_mm: int = 0
    end_mm: int = 0


@dataclass(frozen=True, slots=True)
class Pair:
    """Two pieces from left to right, parted by a slanted cut; which of them lie turned half round."""

    pieces: tuple[PieceToCut, PieceToCut]
    turned: tuple[bool, bool]
    near_mm: int
    far_mm: int


@dataclass(frozen=True, slots=True)
class Stock:
    """Rolls or offcuts alike of one product.

    `price` is what one more of them costs: 0 where it is on hand already. `on_hand` is how many there are; None
    means that any number can be bought.
    """

    product: str
    length_mm: int
    width_mm: int
    price: Decimal
    on_hand: int | None = None
    kind: Literal["roll", "offcut"] = "roll"


class CannotBeCut(ValueError):  # noqa: N818 - read aloud where it is raised: "raise CannotBeCut"
    """Pieces that no stock can give; names them and says what to do."""

    def __init__(self, message: str, pieces: tuple[str, ...]) -> None:
        super().__init__(message)
        self.pieces = pieces


def check(pieces: tuple[PieceToCut, ...], stock: tuple[Stock, ...]) -> None:
    """Refuse what can never be cut: raises `CannotBeCut` for the first product at fault, naming its pieces."""
    seen: set[str] = set()
    for piece in pieces:
        if piece.id in seen:
            raise CannotBeCut(
                f"Two pieces are called {piece.id}; give every piece its own name.", (piece.id,)
            )
        seen.add(piece.id)
        if piece.length_mm < 1 or piece.width_mm < 1:
            raise CannotBeCut(
                f"Piece {piece.id} measures {piece.length_mm} × {piece.width_mm} mm; both must be at least 1 mm.",
                (piece.id,),
            )
    for each in stock:
        if each.length_mm < 1 or each.width_mm < 1 or each.price < 0 or (each.on_hand or 0) < 0:
            raise ValueError(
                f"Stock of {each.product} has a length, width, price or count below what is possible."
            )
    _refuse_what_fits_nothing(pieces, stock)


def _refuse_what_fits_nothing(pieces: tuple[PieceToCut, ...], stock: tuple[Stock, ...]) -> None:
    sizes: dict[str, list[tuple[int, int]]] = {}
    for each in stock:
        if each.on_hand is None or each.on_hand > 0:
            sizes.setdefault(each.product, []).append((each.length_mm, each.width_mm))
    misfits: dict[str, list[PieceToCut]] = {}
    for piece in pieces:
        if not any(
            piece.length_mm <= length and piece.width_mm <= width
            for length, width in sizes.get(piece.product, ())
        ):
            misfits.setdefault(piece.product, []).append(piece)
    for product, those in misfits.items():
        raise CannotBeCut(
            _why_nothing_fits(product, those, sizes.get(product, [])), tuple(p.id for p in those)
        )


def _why_nothing_fits(product: str, misfits: list[PieceToCut], sizes: list[tuple[int, int]]) -> str:
    first = misfits[0]
    others = f" (and {len(misfits) - 1} more)" if len(misfits) > 1 else ""
    what = f"Piece {first.id}{others}, {first.length_mm} mm long and {first.width_mm} mm wide,"
    if not sizes:
        return (
            f"{what} is to be cut from {product}, but there is no roll of it: add a roll size with its price."
        )
    longest, widest = max(size[0] for size in sizes), max(size[1] for size in sizes)
    if first.length_mm > longest:
        return (
            f"{what} is longer than every roll of {product} (the longest is {longest} mm): split the strip with "
            "an end lap by setting a shorter handled length, or add a longer roll."
        )
    if first.width_mm > widest:
        return (
            f"{what} is wider than every roll of {product} (the widest is {widest} mm): lay the surface in more "
            "strips, or add a wider roll."
        )
    return (
        f"{what} fits no single roll of {product}: those long enough are too narrow. Split the strip with an end "
        "lap, or add a roll that is both long and wide enough."
    )
