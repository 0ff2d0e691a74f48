"""The refusal of a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from api_schema.problem import Fault

if TYPE_CHECKING:
    from service.sheets.habits import Habits


class BadTable(ValueError):  # noqa: N818 - reads as what it says
    """The table cannot be used; carries a fault for every row and column that is wrong.

    Where its cells were read at all, `habits` says how: what looks wrong may be a wrong guess.
    """

    def __init__(self, faults: Sequence[Fault], habits: Habits | None = None) -> None:
        self.faults = tuple(faults)
        self.habits = habits
        super().__init__("; ".join(f"{fault.pointer} {fault.detail}" for fault in self.faults))
