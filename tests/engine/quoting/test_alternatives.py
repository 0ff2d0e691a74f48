"""Alternatives: which choices there are, each priced as if it alone had been asked for, and what is refused."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.quote_alternatives import (
    Alternative,
    OfferedAlternative,
    alternative_faults,
    choice_faults,
    choices,
    in_order,
    offered,
    overlaid,
    sets,
)
from api_schema.quote_options import QuoteOptions
from api_schema.shape import load
from service.api.examples import JOB
from workers.engine.plan import plan_job
from workers.engine.quoting import OfferedChoice, price_choices, price_with, with_differences

STANDARD, OUTPUTS, BOOK = default_standard(), default_outputs(), default_price_book()
EXAMPLE = load(Job, JOB)
OWN_COLLARS = Alternative(name="Collars by your trades", collars="by_others")
BLOWN_IN = Alternative(name="Blown in later", fixing="blown_in")
OWN_PLATFORMS = Alternative(name="Your own platforms", access_charge=Decimal(0))
OUR_PLATFORMS = Alternative(name="Our platforms", access_charge=Decimal("310.00"))
ALL_FOUR = (OWN_COLLARS, BLOWN_IN, OWN_PLATFORMS, OUR_PLATFORMS)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(EXAMPLE, STANDARD, OUTPUTS, BOOK)


def priced(
    plan: Plan,
    alternatives: tuple[OfferedAlternative, ...],
    options: QuoteOptions | None = None,
    book: PriceBook = BOOK,
) -> dict[tuple[str, ...], OfferedChoice]:
    found = price_choices(EXAMPLE, plan, options or QuoteOptions(), alternatives, STANDARD, OUTPUTS, book)
    return {one.chosen: one for one in found}


def test_letters_are_given_where_no_code_is_named_and_those_that_set_the_same_exclude_each_other() -> None:
    found = offered((dataclasses.replace(OWN_COLLARS, code="b"), BLOWN_IN, OWN_PLATFORMS, OUR_PLATFORMS))
    assert [one.code for one in found] == ["b", "a", "c", "d"]
    assert [one.excludes for one in found] == [(), (), ("d",), ("c",)]
    assert [tuple(one.code for one in choice) for choice in choices(found)] == [
        (), ("b",), ("a",), ("c",), ("d",), ("b", "a"), ("b", "c"), ("b", "d"), ("a", "c"), ("a", "d"),
        ("b", "a", "c"), ("b", "a", "d"),
    ]  # fmt: skip


def test_every_choice_is_priced_as_if_it_alone_had_been_asked_for(plan: Plan) -> None:
    found = priced(plan, offered(ALL_FOUR))
    assert len(found) == 12
    wanted = QuoteOptions(collars="by_others", fixing="blown_in", access_charge=Decimal("310.00"))
    assert found[("a", "b", "d")].offered == price_with(EXAMPLE, plan, wanted, STANDARD, OUTPUTS, BOOK)
    assert found[()].offered.price == plan.price
    assert not any(line.kind == "collar" for line in found[("a",)].offered.order_lines)


def test_a_minimum_charge_swallows_what_differences_added_up_would_take_off(plan: Plan) -> None:
    floor = dataclasses.replace(BOOK.rules, minimum_charge=plan.price.net - 5)
    book = dataclasses.replace(BOOK, rules=floor)
    alternatives = offered(
        (OWN_COLLARS, dataclasses.replace(BLOWN_IN, fixing=None, access_charge=Decimal(20)))
    )
    found = priced(plan, alternatives, book=book)
    own, platforms = with_differences(alternatives, list(found.values()))
    both = found[("a", "b")].offered.price.net - found[()].offered.price.net
    assert own.net_difference == -5
    assert platforms.net_difference is not None
    assert both != own.net_difference + platforms.net_difference


_ONE = st.builds(
    Alternative,
    name=st.just("x"),
    collars=st.sampled_from((None, "by_us", "by_others")),
    fixing=st.sampled_from((None, "in_place", "blown_in")),
    access_charge=st.none() | st.decimals(0, 3000, places=2),
)


@settings(max_examples=15)
@given(
    wished=st.lists(_ONE, max_size=4),
    collars=st.sampled_from(("by_us", "by_others")),
    hours=st.sampled_from(("as_set", "safe")),
    discount=st.none() | st.decimals(0, 1, places=3),
)
def test_the_choices_are_every_subset_that_sets_nothing_twice_each_with_its_exact_price(
    plan: Plan, wished: list[Alternative], **options: object
) -> None:
    base = QuoteOptions(**options)  # type: ignore[arg-type]
    alternatives = offered(wished)
    found = priced(plan, alternatives, base)
    wanted = [
        chosen
        for size in range(len(alternatives) + 1)
        for chosen in combinations(alternatives, size)
        if len({name for one in chosen for name in sets(one)}) == sum(len(sets(one)) for one in chosen)
    ]
    assert list(found) == [tuple(str(one.code) for one in chosen) for chosen in wanted]
    for chosen in wanted:
        merged = base
        for one in chosen:
            for name in sets(one):
                merged = dataclasses.replace(merged, **{name: getattr(one, name)})
        alone = price_with(EXAMPLE, plan, merged, STANDARD, OUTPUTS, BOOK)
        codes = tuple(str(one.code) for one in chosen)
        assert found[codes].offered == alone
        assert choice_faults(alternatives, codes) == ()
    for one in with_differences(alternatives, list(found.values())):
        price = found[(str(one.code),)].offered.price
        assert one.net_difference == price.net - found[()].offered.price.net
        assert one.total_difference == price.total - found[()].offered.price.total


def test_an_alternative_that_changes_nothing_is_refused_with_its_place() -> None:
    options = QuoteOptions(collars="by_others", fixing="in_place", access_charge=Decimal("240"))
    unchanged = (
        OWN_COLLARS,
        Alternative(name="As surveyed", fixing="in_place"),
        Alternative(name="The same platforms", access_charge=Decimal("240.00")),
        Alternative(name="Nothing at all"),
    )
    faults = alternative_faults(unchanged, options)
    assert [fault.pointer for fault in faults] == [f"/alternatives/{place}" for place in range(4)]
    assert "leaves who brings the collars as in the quote" in faults[0].detail
    assert "names nothing that differs" in faults[3].detail
    mixed = Alternative(name="Both", collars="by_others", fixing="blown_in")
    assert alternative_faults((mixed,), options) == ()


def test_alternatives_that_cannot_be_told_apart_are_refused() -> None:
    twins = (
        dataclasses.replace(OWN_COLLARS, code="own"),
        dataclasses.replace(BLOWN_IN, code="OWN", name="collars by YOUR trades"),
        dataclasses.replace(OUR_PLATFORMS, name=" "),
    )
    pointers = [fault.pointer for fault in alternative_faults(twins, QuoteOptions())]
    assert pointers == ["/alternatives/1/code", "/alternatives/1/name", "/alternatives/2/name"]


def test_a_choice_of_unknown_repeated_or_excluding_codes_is_refused_with_its_place() -> None:
    alternatives = offered(ALL_FOUR)
    faults = choice_faults(alternatives, ("d", "x", "c", "d", "a"))
    assert [fault.pointer for fault in faults] == ["/chosen/1", "/chosen/2", "/chosen/3"]
    assert "no alternative of this quote; there are a, b, c, d" in faults[0].detail
    assert "“Your own platforms” cannot be chosen together with “Our platforms”" in faults[1].detail
    assert in_order(alternatives, ("d", "a")) == ("a", "d")
    assert "the quote has none" in choice_faults((), ("a",))[0].detail
    assert overlaid(QuoteOptions(), ()) == QuoteOptions()
