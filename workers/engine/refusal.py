"""What the account's own settings make impossible."""

from __future__ import annotations

from typing import Literal

SettingName = Literal["standard", "outputs", "price book"]


class SettingRefused(ValueError):  # noqa: N818 - reads as what it says
    """A job cannot be planned with the standard, outputs or price book as they stand; the words say what to change."""

    def __init__(self, setting: SettingName, detail: str) -> None:
        self.setting = setting
        super().__init__(detail)
