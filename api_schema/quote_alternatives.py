"""Alternatives of a quote: what the customer may tick on the offer, which go together, and what each choice comes to.

An alternative lays a few options over those of the quote. Two that set the same option exclude each other, so a choice
never says two things of one option. Every choice has a price of its own: minimum charge, packs and rounding do not add.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import Annotated, Literal

from api_schema.fields import choice, identifier, list_of, many, money, one, text
from api_schema.price import Price
from api_schema.problem import Fault
from api_schema.quote_options import QuoteOptions

MOST_ALTERNATIVES = 4
VARIED = ("collars", "fixing", "access_charge")
"""What an alternative may set: what the customer notices. Hours priced, discount and tax are the firm's own affair."""
_CODES = "abcdefgh"
_LEAST = "-1000000000"
_WORDS = {
    "collars": "who brings the collars",
    "fixing": "the insulation it is fixed for",
    "access_charge": "the charge for platforms",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Something the customer may have instead. What is null stays as in the quote's options."""

    name: Annotated[
        str,
        text(
            "In the customer's words.",
            example="Collars brought and fitted by your plumber and electrician",
            shortest=1,
            longest=120,
        ),
    ]
    code: Annotated[
        str | None,
        identifier(
            "A short name for it, by which it is chosen; a letter is given where not named.",
            example="own-collars",
        ),
    ] = None
    description: Annotated[
        str,
        text("A line more about it.", example="We send them a list of what goes where.", longest=300),
    ] = ""
    collars: Annotated[
        Literal["by_us", "by_others"] | None,
        choice("Who brings and fits the collars.", ("by_us", "by_others"), example="by_others"),
    ] = None
    fixing: Annotated[
        Literal["in_place", "blown_in"] | None,
        choice(
            "Fixing for insulation that is in place or blown in later.",
            ("in_place", "blown_in"),
            example="blown_in",
        ),
    ] = None
    access_charge: Annotated[
        Decimal | None,
        money("Platforms and scaffolding, for the job; 0 where the customer puts them up.", example="180.00"),
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedAlternative(Alternative):
    """An alternative as it is offered."""

    excludes: Annotated[
        tuple[str, ...],
        list_of(
            identifier("Code of an alternative.", example="b"),
            "Those that cannot be chosen with it, as they set the same option.",
            most=MOST_ALTERNATIVES,
        ),
    ] = ()
    net_difference: Annotated[
        Decimal | None,
        money(
            "Chosen alone, the net is so much more than the quote's; null until it is priced.",
            example="-120.00",
            minimum=_LEAST,
        ),
    ] = None
    total_difference: Annotated[
        Decimal | None,
        money(
            "Chosen alone, so much more with tax; null until it is priced.", example="-144.00", minimum=_LEAST
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class Combination:
    """One choice of alternatives that go together, and its price."""

    chosen: Annotated[
        tuple[str, ...],
        list_of(
            identifier("Code of an alternative.", example="own-collars"),
            "Which, in the order of the quote.",
            fewest=1,
            most=MOST_ALTERNATIVES,
        ),
    ]
    price: Annotated[Price, one(Price, "What is offered with them.")]


@dataclass(frozen=True, slots=True)
class QuoteAcceptance:
    """What the customer chose."""

    chosen: Annotated[
        tuple[str, ...],
        list_of(
            identifier("Code of an alternative.", example="own-collars"),
            "The alternatives chosen; none where empty.",
            most=MOST_ALTERNATIVES,
        ),
    ] = ()


ALTERNATIVES = many(Alternative, "What the customer may tick on the offer.", most=MOST_ALTERNATIVES)
OFFERED = many(OfferedAlternative, "What the customer may tick.", most=MOST_ALTERNATIVES)
COMBINATIONS = many(
    Combination,
    "Every choice of one or more alternatives that go together; the quote's own `price` is that of none.",
    most=2**MOST_ALTERNATIVES - 1,
)


def sets(alternative: Alternative) -> tuple[str, ...]:
    """Names of the options it sets."""
    return tuple(name for name in VARIED if getattr(alternative, name) is not None)


def exclude_each_other(first: Alternative, second: Alternative) -> bool:
    """Do both set the same option?"""
    return any(name in sets(second) for name in sets(first))


def offered(alternatives: Sequence[Alternative]) -> tuple[OfferedAlternative, ...]:
    """The alternatives with a code each and what each excludes; not priced yet."""
    taken = {one.code.casefold() for one in alternatives if one.code is not None}
    free = iter([letter for letter in _CODES if letter not in taken])
    codes = [one.code if one.code is not None else next(free) for one in alternatives]
    return tuple(
        OfferedAlternative(
            name=one.name, code=code, description=one.description, collars=one.collars, fixing=one.fixing,
            access_charge=one.access_charge,
            excludes=tuple(
                other_code
                for other, other_code in zip(alternatives, codes, strict=True)
                if other is not one and exclude_each_other(one, other)
            ),
        )
        for one, code in zip(alternatives, codes, strict=True)
    )  # fmt: skip


def choices(alternatives: Sequence[OfferedAlternative]) -> Iterator[tuple[OfferedAlternative, ...]]:
    """Every choice that is permitted, that of none first; at most 16."""
    for size in range(len(alternatives) + 1):
        for chosen in combinations(alternatives, size):
            if not any(exclude_each_other(*pair) for pair in combinations(chosen, 2)):
                yield chosen


def overlaid(options: QuoteOptions, chosen: Sequence[Alternative]) -> QuoteOptions:
    """The quote's options with those of the chosen alternatives laid over them."""
    for alternative in chosen:
        options = dataclasses.replace(
            options, **{name: getattr(alternative, name) for name in sets(alternative)}
        )
    return options


def alternative_faults(alternatives: Sequence[Alternative], options: QuoteOptions) -> tuple[Fault, ...]:
    """What is wrong with alternatives to `options`, in which the job's insulation and the charge for access are filled in."""
    found: list[Fault] = []
    for place, alternative in enumerate(alternatives):
        here = f"/alternatives/{place}"
        before = alternatives[:place]
        if alternative.code is not None and alternative.code.casefold() in {
            (other.code or "").casefold() for other in before
        }:
            found.append(
                Fault(
                    f"{here}/code", f'"{alternative.code}" is the code of another alternative; name another.'
                )
            )
        if not alternative.name.strip():
            found.append(Fault(f"{here}/name", "is empty; say in the customer's words what it is."))
        elif alternative.name.casefold() in {other.name.casefold() for other in before}:
            found.append(
                Fault(
                    f"{here}/name", "is the name of another alternative; the customer must tell them apart."
                )
            )
        if overlaid(options, (alternative,)) == options:
            said = " and ".join(_WORDS[name] for name in sets(alternative))
            what = f"leaves {said} as in the quote" if said else "names nothing that differs from the quote"
            change = f"change {', '.join(_WORDS[name] for name in VARIED[:-1])} or {_WORDS[VARIED[-1]]}"
            found.append(Fault(here, f"{what}, so there is nothing to choose; {change}."))
    return tuple(found)


def choice_faults(alternatives: Sequence[OfferedAlternative], chosen: Sequence[str]) -> tuple[Fault, ...]:
    """What is wrong with a choice by codes: unknown ones, repeated ones, those that exclude each other."""
    by_code = {one.code: one for one in alternatives}
    found: list[Fault] = []
    for place, code in enumerate(chosen):
        here = f"/chosen/{place}"
        if code not in by_code:
            there = f"there are {', '.join(map(str, by_code))}" if by_code else "the quote has none"
            found.append(Fault(here, f'"{code}" is no alternative of this quote; {there}.'))
        elif code in chosen[:place]:
            found.append(Fault(here, f'"{code}" is named twice.'))
        else:
            found += [
                Fault(here, f"“{by_code[code].name}” cannot be chosen together with “{by_code[other].name}”.")
                for other in chosen[:place]
                if other in by_code[code].excludes
            ]
    return tuple(found)


def in_order(alternatives: Sequence[OfferedAlternative], chosen: Sequence[str]) -> tuple[str, ...]:
    """The codes of a choice in the order of the quote."""
    return tuple(str(one.code) for one in alternatives if one.code in chosen)
