"""What is said of how a table was read, and what whoever sends it may say beforehand."""

from __future__ import annotations

from dataclasses import dataclass

from service.sheets.writings import Order, Sign

PARTED_BY = {",": "commas", ";": "semicolons", "\t": "tabs"}
SIGN_WORDS = {".": "decimal points", ",": "decimal commas"}
ORDER_WORDS = {"day_first": "the day first", "month_first": "the month first"}


@dataclass(frozen=True, slots=True)
class Told:
    """What whoever sends the table says of it; None where the file shall show it."""

    sign: Sign | None = None
    order: Order | None = None


@dataclass(frozen=True, slots=True)
class ByTheOthers:
    """A cell that could be read in two ways by itself, and was read as the others of its file are."""

    row: int
    column: str
    written: str
    read: str


@dataclass(frozen=True, slots=True)
class Habits:
    """How a table was read; as text, in words for whoever sent it."""

    separator: str = ""
    """What parts its cells; "" in a spreadsheet."""
    letters: str = ""
    """Its encoding where that is not UTF-8."""
    sign: str = ""
    """Its decimal sign; "" where nothing shows it."""
    thousands: tuple[str, ...] = ()
    days: tuple[str, ...] = ()
    by_the_others: tuple[ByTheOthers, ...] = ()

    def __str__(self) -> str:
        said = [f"{PARTED_BY[self.separator]} between cells" if self.separator else "cells of a spreadsheet"]
        said += [SIGN_WORDS[self.sign]] if self.sign else []
        said += [f"{sign} between thousands" for sign in self.thousands]
        said += [f"days as {' and '.join(self.days)}"] if self.days else []
        return ", ".join([*said, *([f"letters as {self.letters}"] if self.letters else [])])
