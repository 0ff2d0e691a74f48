"""What is said of the prices a plan was made with."""

from __future__ import annotations

import copy
from typing import Any

from api_schema.defaults import default_price_book
from api_schema.shape import dump
from service.pages.price_standing import compared


def _book() -> dict[str, Any]:
    made: dict[str, Any] = copy.deepcopy(dump(default_price_book()))
    return made


def test_the_prices_everybody_starts_with_are_called_invented() -> None:
    assert compared(_book(), _book()) == "invented"


def test_a_firms_own_prices_need_no_words() -> None:
    own = _book()
    own["products"][0]["provenance"] = "yours"
    assert compared(own, own) == ""


def test_a_price_or_rate_changed_since_the_plan_is_told_and_stock_or_the_tax_of_the_account_is_not() -> None:
    dearer, slower, fuller = _book(), _book(), _book()
    dearer["products"][0]["packs"][0]["price"] = "133.00"
    slower["rules"]["labour_markup"] = "0.31"
    assert compared(_book(), dearer) == compared(_book(), slower) == "older"
    fuller["products"][0]["on_hand"] = "40"
    fuller["rules"]["tax_rate"] = "0.05"
    assert compared(_book(), fuller) == "invented"
