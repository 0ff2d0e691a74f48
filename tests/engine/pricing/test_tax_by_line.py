"""Several tax rates in one price: every line has its own, and what belongs to all lines is split among the rates."""

from __future__ import annotations

import dataclasses
from decimal import ROUND_HALF_EVEN, Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.currency import minor_unit
from api_schema.price import Price
from api_schema.price_book import PriceBook, PriceRules
from api_schema.shape import dump, load
from api_schema.tax import TaxRate
from tests.engine.pricing.test_price import (
    IDLE,
    NO_EXTRAS,
    book_of,
    bought,
    labour_of,
    labours,
    order_lines,
    rules_of,
)
from workers.engine.pricing import price
from workers.engine.pricing.sharing import shared
from workers.engine.refusal import SettingRefused

REDUCED = TaxRate("reduced", "reduced", Decimal("0.05"), "AA")
ZERO = TaxRate("zero", "zero", Decimal(0), "Z")
CODES = (None, "standard", "reduced", "zero")


def with_rates(rules: PriceRules, currency: str = "EUR") -> PriceBook:
    return dataclasses.replace(book_of(rules, currency), tax_rates=(REDUCED, ZERO))


def at(tax: str | None, **line: object) -> object:
    return dataclasses.replace(bought(**line), tax=tax)  # type: ignore[arg-type]


def by_code(found: Price) -> dict[str, tuple[Decimal, Decimal]]:
    return {entry.code: (entry.base, entry.amount) for entry in found.tax}


def test_each_line_has_the_rate_its_product_or_charge_names() -> None:
    """C: 96.60 at 20 % = 19.32; 350.00 at 5 % = 17.50; 120.00 at nothing."""
    rules = dataclasses.replace(
        NO_EXTRAS, labour_tax="reduced", access_charge=Decimal(120), access_tax="zero"
    )
    found = price((bought(),), labour_of(), with_rates(rules))
    assert by_code(found) == {
        "standard": (Decimal("96.60"), Decimal("19.32")),
        "reduced": (Decimal("350.00"), Decimal("17.50")),
        "zero": (Decimal("120.00"), Decimal("0.00")),
    }
    assert [entry.category for entry in found.tax] == ["S", "AA", "Z"]
    assert found.total == Decimal("603.42")


def test_one_rate_for_the_whole_job_goes_before_every_other() -> None:
    rules = PriceRules(labour_tax="zero", travel_tax="standard")
    found = price((at("standard"),), labour_of(), with_rates(rules), "reduced")
    assert {line.tax for line in found.lines} == {"reduced"}
    assert [(entry.code, entry.base) for entry in found.tax] == [("reduced", found.net)]


def test_a_discount_lowers_what_is_taxed_at_every_rate_alike() -> None:
    """C: 10 % of 96.60 + 350.00 is 44.66: 9.66 of it from what is taxed in full, 35.00 from the rest."""
    rules = dataclasses.replace(NO_EXTRAS, labour_tax="reduced", discount=Decimal("0.1"))
    found = price((bought(),), labour_of(), with_rates(rules))
    off = [(line.name, line.amount) for line in found.lines if line.group == "discount"]
    assert off == [
        ("Discount, standard", Decimal("-9.66")),
        ("Discount, reduced", Decimal("-35.00")),
    ]
    assert by_code(found)["standard"] == (Decimal("86.94"), Decimal("17.39"))  # 19.32 − 1.93


def test_overhead_follows_the_materials_and_labour_it_is_a_share_of() -> None:
    rules = dataclasses.replace(
        NO_EXTRAS, overhead=Decimal("0.08"), access_charge=Decimal(500), access_tax="zero"
    )
    found = price((bought(),), IDLE, with_rates(rules))
    assert [line.tax for line in found.lines if line.group == "overhead"] == ["standard"]


def test_what_is_wholly_taken_off_is_lifted_to_the_minimum_at_the_rates_it_had() -> None:
    rules = dataclasses.replace(
        NO_EXTRAS, labour_tax="reduced", discount=Decimal(1), minimum_charge=Decimal("446.60")
    )
    found = price((bought(),), labour_of(), with_rates(rules))
    assert {code: base for code, (base, _) in by_code(found).items()} == {
        "standard": Decimal("96.60"), "reduced": Decimal("350.00"),
    }  # fmt: skip


@pytest.mark.parametrize("where", ["line", "job", "rules"])
def test_a_rate_nobody_named_is_refused_with_those_there_are(where: str) -> None:
    rules = dataclasses.replace(NO_EXTRAS, labour_tax="other" if where == "rules" else None)
    line = at("other" if where == "line" else None)
    with pytest.raises(SettingRefused, match=r'no tax rate "other".*standard, reduced, zero'):
        price((line,), labour_of(), with_rates(rules), "other" if where == "job" else None)  # type: ignore[arg-type]


@given(
    lines=st.lists(st.builds(lambda line, tax: dataclasses.replace(line, tax=tax), order_lines, st.sampled_from(CODES)), max_size=6).map(tuple),
    labour=labours,
    rules=st.builds(
        lambda rules, labour, access, travel: dataclasses.replace(rules, labour_tax=labour, access_tax=access, travel_tax=travel),
        rules_of, st.sampled_from(CODES), st.sampled_from(CODES), st.sampled_from(CODES),
    ),
    currency=st.sampled_from(["EUR", "JPY", "KWD"]),
)  # fmt: skip
def test_bases_and_taxes_of_all_rates_are_the_sums_of_the_lines(lines, labour, rules, currency) -> None:
    book = with_rates(rules, currency)
    found = price(lines, labour, book)
    step = minor_unit(currency)
    assert sum(entry.base for entry in found.tax) == found.net == sum(line.amount for line in found.lines)
    taxes = sum(line.tax_amount for line in found.lines)
    assert sum(entry.amount for entry in found.tax) == taxes == found.total - found.net
    for entry in found.tax:
        alike = [line for line in found.lines if line.tax == entry.code]
        assert entry.base == sum(line.amount for line in alike)
        assert entry.amount == sum(line.tax_amount for line in alike)
        assert entry.base >= 0  # no discount takes more from a rate than stands at it
    with localcontext() as context:
        context.prec = 60
        for line in found.lines:
            assert line.amount == (line.quantity * line.rate).quantize(step, ROUND_HALF_EVEN)
            assert line.tax_amount == (line.amount * line.tax_rate).quantize(step, ROUND_HALF_EVEN)
    one = price(lines, labour, book, "reduced")
    assert abs(one.net - found.net) == 0  # rates of tax change no price before tax
    assert load(Price, dump(found)) == found == price(lines, labour, book)


@given(
    amount=st.integers(-(10**9), 10**9).map(lambda n: Decimal(n) / 100),
    weights=st.lists(st.integers(0, 10**8).map(lambda n: Decimal(n) / 100), min_size=1, max_size=5),
)
def test_what_is_shared_adds_up_and_nobody_is_a_step_off(amount: Decimal, weights: list[Decimal]) -> None:
    names = [f"rate-{place}" for place in range(len(weights))]
    parts = shared(amount, names, dict(zip(names, weights, strict=True)), Decimal("0.01"))
    assert sum(parts.values()) == amount
    whole = sum(weights)
    for name, weight in zip(names, weights, strict=True):
        exact = amount * weight / whole if whole else amount / len(names)
        assert abs(parts[name] - exact) < Decimal("0.01") + Decimal("0.000001")
