"""A price whose every line can be traced and whose totals are the sums of its lines."""

import dataclasses
from decimal import ROUND_HALF_EVEN, Decimal, localcontext

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from api_schema.currency import minor_unit
from api_schema.defaults import default_price_book
from api_schema.labour import Labour, LabourLine
from api_schema.order_line import OrderLine
from api_schema.price import PRICE_GROUPS, Price
from api_schema.price_book import PriceRules
from api_schema.shape import dump, load
from workers.engine.pricing import price

NO_EXTRAS = PriceRules(
    overhead=Decimal(0), contingency=Decimal(0), travel_charge=Decimal(0), minimum_charge=Decimal(0)
)


def book_of(rules, currency="EUR"):
    return dataclasses.replace(default_price_book(), rules=rules, currency=currency)


def bought(packs=2, pack_price="42.00", from_stock="0", size="30", name="Lap tape 60 mm"):
    each = Decimal(pack_price)
    return OrderLine(
        "tape-60", name, "lap_tape", "example-supplies", Decimal(48), Decimal(2), Decimal(from_stock), packs,
        Decimal(size), "m", each, each * packs,
    )  # fmt: skip


def labour_of(hours="10", safe="12", days="0.7"):
    likely = Decimal(hours)
    line = LabourLine("tape_lap", "wall", Decimal(30), "m", Decimal("1.8"), {}, likely, likely, likely)
    return Labour((line,), likely, Decimal(safe), Decimal(days))


IDLE = Labour((), Decimal(0), Decimal(0), Decimal(0))


def test_materials_are_buying_price_with_mark_up():
    """C: 2 packs at 42.00 + 15 % = 96.60."""
    found = price((bought(),), IDLE, book_of(NO_EXTRAS))
    (line,) = found.lines
    assert (line.amount, line.quantity, line.unit) == (Decimal("96.60"), 2, "pack")
    assert line.rule == "buying price 42.00 for a pack of 30 m + 15 % mark-up"
    assert (found.net, found.total) == (Decimal("96.60"), Decimal("115.92"))


def test_what_comes_from_stock_is_charged_at_its_buying_price():
    """C: 20 m of a 30 m pack at 42.00, + 15 % = 32.20."""
    (line,) = price((bought(packs=0, from_stock="20"),), IDLE, book_of(NO_EXTRAS)).lines
    assert (line.amount, line.quantity, line.unit) == (Decimal("32.20"), 20, "m")


def test_labour_is_cost_rate_with_mark_up_by_operation():
    """C: 10 h × 28.00 + 25 % = 350.00."""
    (line,) = price((), labour_of(), book_of(NO_EXTRAS)).lines
    assert (line.name, line.amount, line.rate) == ("Tape laps", 350, 35)


def test_safe_hours_are_priced_as_a_reserve_of_their_own():
    rules = dataclasses.replace(NO_EXTRAS, hours_priced="safe")
    lines = price((), labour_of(), book_of(rules)).lines
    assert [(line.name, line.quantity, line.amount) for line in lines] == [
        ("Tape laps", 10, 350), ("Hours kept in reserve", 2, 70),
    ]  # fmt: skip
    fewer = price((), labour_of(safe="9"), book_of(rules))
    assert fewer.net == 315
    assert load(Price, dump(fewer)) == fewer


def test_everything_on_a_quote_on_paper():
    """C: each step by hand, rounded to the cent where a line is written."""
    rules = PriceRules(access_charge=Decimal("120.00"), discount=Decimal("0.05"))
    found = price((bought(),), labour_of(days="2.1"), book_of(rules))
    assert [(line.group, line.amount) for line in found.lines] == [
        ("materials", Decimal("96.60")),
        ("labour", Decimal("350.00")),
        ("access", Decimal("120.00")),
        ("travel", Decimal("54.00")),  # 2.1 days counted as 3
        ("overhead", Decimal("35.73")),  # 8 % of 446.60 = 35.728
        ("contingency", Decimal("19.69")),  # 3 % of 656.33 = 19.6899
        ("discount", Decimal("-33.80")),  # 5 % of 676.02 = 33.801
    ]
    assert [line.tax_amount for line in found.lines] == [
        Decimal(tax) for tax in ("19.32", "70.00", "24.00", "10.80", "7.15", "3.94", "-6.76")
    ]
    assert (found.net, found.tax[0].amount, found.total) == (
        Decimal("642.22"), Decimal("128.45"), Decimal("770.67"),
    )  # fmt: skip


def test_a_small_job_is_lifted_to_the_minimum_charge():
    found = price(
        (), labour_of("1"), book_of(dataclasses.replace(NO_EXTRAS, minimum_charge=Decimal("350.00")))
    )
    assert found.lines[-1].group == "minimum"
    assert found.lines[-1].rule == "minimum charge 350.00 less 35.00"
    assert found.net == 350


def test_a_job_of_just_the_minimum_is_left_alone():
    found = price((), labour_of(), book_of(dataclasses.replace(NO_EXTRAS, minimum_charge=Decimal("350.00"))))
    assert [line.group for line in found.lines] == ["labour"]


def test_lines_round_half_to_even():
    """C: 0.125 and 0.375 with no mark-up."""
    rules = dataclasses.replace(NO_EXTRAS, material_markup=Decimal(0))
    amounts = [price((bought(1, each),), IDLE, book_of(rules)).net for each in ("0.125", "0.375")]
    assert amounts == [Decimal("0.12"), Decimal("0.38")]


@pytest.mark.parametrize(("currency", "net"), [("JPY", "97"), ("EUR", "96.60"), ("KWD", "96.600")])
def test_lines_are_rounded_to_the_currency_s_minor_unit(currency, net):
    found = price((bought(),), IDLE, book_of(NO_EXTRAS, currency))
    assert str(found.net) == net


def test_amounts_have_the_places_the_documents_print():
    """P: Unicode CLDR supplemental currency data, as Babel carries it."""
    currencies = {*get_global("currency_fractions"), *get_global("all_currencies")} - {"DEFAULT"}
    assert len(currencies) > 150
    for currency in sorted(currencies):
        assert minor_unit(currency) == Decimal(1).scaleb(-get_currency_precision(currency)), currency


def test_a_job_of_nothing_costs_nothing_where_there_is_no_minimum():
    found = price((), IDLE, book_of(NO_EXTRAS))
    assert (found.lines, found.tax, found.net, found.total) == ((), (), 0, 0)


cents = st.integers(0, 100_000_00).map(lambda n: Decimal(n) / 100)
shares = st.integers(0, 1000).map(lambda n: Decimal(n) / 1000)
order_lines = st.builds(
    bought, packs=st.integers(0, 40), pack_price=cents.map(str), from_stock=st.integers(0, 50).map(str),
    size=st.sampled_from(["7", "30", "310"]),
)  # fmt: skip
labours = st.builds(
    lambda hours, spare, days: labour_of(str(hours), str(hours + spare), str(days)),
    st.integers(0, 10**6).map(lambda n: Decimal(n) / 1000),
    st.integers(-100, 10**5).map(lambda n: Decimal(n) / 1000),
    st.integers(0, 500).map(lambda n: Decimal(n) / 10),
)
rules_of = st.builds(
    PriceRules, labour_cost_per_h=cents, labour_markup=shares, material_markup=shares, overhead=shares,
    contingency=shares, discount=shares, access_charge=cents, travel_charge=cents, minimum_charge=cents,
    tax_rate=shares, hours_priced=st.sampled_from(["likely", "safe"]),
)  # fmt: skip


@given(
    lines=st.lists(order_lines, max_size=6).map(tuple), labour=labours, rules=rules_of,
    currency=st.sampled_from(["EUR", "JPY", "KWD"]), precision=st.sampled_from([3, 28]),
)  # fmt: skip
def test_totals_are_the_sums_of_rounded_lines(lines, labour, rules, currency, precision):
    with localcontext() as context:
        context.prec = precision  # the caller's precision is nobody's business
        found = price(lines, labour, book_of(rules, currency))
    step = minor_unit(currency)
    assert found.net == sum(line.amount for line in found.lines)
    assert found.total == found.net + sum(entry.amount for entry in found.tax)
    assert sum(entry.base for entry in found.tax) == found.net
    for line in found.lines:
        with localcontext() as context:
            context.prec = 60
            assert line.amount == (line.quantity * line.rate).quantize(step, ROUND_HALF_EVEN)
            assert line.tax_amount == (line.amount * line.tax_rate).quantize(step, ROUND_HALF_EVEN)
        assert line.rule
    assert found.net >= rules.minimum_charge
    assert load(Price, dump(found)) == found
    order = [PRICE_GROUPS.index(line.group) for line in found.lines]
    assert order == sorted(order)
