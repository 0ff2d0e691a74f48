"""The price of a job: lines that can each be traced to a quantity, a rate and a rule."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import NamedTuple

from api_schema.labour import Labour
from api_schema.order_line import OrderLine
from api_schema.outputs import OPERATIONS
from api_schema.price import Price, PriceGroup, PriceLine, TaxLine
from api_schema.price_book import PriceBook, PriceRules
from workers.engine.pricing.currency import minor_unit
from workers.engine.pricing.words import OPERATION_WORDS

_PRECISION = Context(prec=60, rounding=ROUND_HALF_EVEN)
_FINEST_RATE = Decimal("0.00000001")
_ONE = Decimal(1)
_NOTHING = Decimal(0)


def price(order_lines: tuple[OrderLine, ...], labour: Labour, price_book: PriceBook) -> Price:
    """The price of what is bought and worked.

    In this order, each line rounded half-even to the currency's minor unit and every later line reckoned from the
    rounded ones:

    - materials: each order line at its pack price, and what comes from stock at the buying price by the unit of
      the line's pack, both with mark-up;
    - labour: likely hours of each operation at cost with mark-up; where safe hours are priced, the difference
      between safe and likely hours is a line of its own, which may be negative;
    - access: the charge for the job; travel: the charge for each crew day, part days counted whole;
    - overhead: a share of materials and labour; contingency: a share of everything so far;
    - discount: a share of everything so far, taken off;
    - minimum: what is missing to the minimum charge, before tax.

    Lines that come to nothing are left out. Tax: at each rate, the rate times the sum of the lines at that rate,
    rounded half-even once (the calculation EN 16931 asks of invoices, recalled). The net is the sum of the lines,
    the total the net and the tax. No figure is a float.
    """
    rules = price_book.rules
    with localcontext(_PRECISION):
        writer = _Writer(minor_unit(price_book.currency), rules.tax_rate)
        for draft in (*_materials(order_lines, rules), *_labour(labour, rules), *_site(labour, rules)):
            writer.write(draft)
        _shares(writer, rules)
        lines = tuple(writer.lines)
        tax = tuple(_tax(lines, writer.step))
        net = _sum(lines).quantize(writer.step)
        total = (net + sum((entry.amount for entry in tax), _NOTHING)).quantize(writer.step)
    return Price(price_book.currency, lines, net, tax, total)


class _Draft(NamedTuple):
    """A line before it is rounded."""

    group: PriceGroup
    name: str
    quantity: Decimal
    unit: str
    rate: Decimal
    rule: str


class _Writer:
    """Collects lines, each rounded as it is written."""

    def __init__(self, step: Decimal, tax_rate: Decimal) -> None:
        self.step = step
        self.tax_rate = tax_rate
        self.lines: list[PriceLine] = []

    def write(self, draft: _Draft) -> None:
        rate = _written(draft.rate)
        amount = (draft.quantity * rate).quantize(self.step)
        if amount:
            self.lines.append(
                PriceLine(
                    draft.group,
                    draft.name,
                    draft.quantity,
                    draft.unit,
                    rate,
                    amount,
                    self.tax_rate,
                    draft.rule,
                )
            )

    def so_far(self, *groups: PriceGroup) -> Decimal:
        return _sum(line for line in self.lines if not groups or line.group in groups)


def _materials(order_lines: Iterable[OrderLine], rules: PriceRules) -> Iterator[_Draft]:
    markup = _ONE + rules.material_markup
    for line in order_lines:
        size = _plain(line.pack_size) if line.unit == "piece" else f"{_plain(line.pack_size)} {line.unit}"
        bought_at = (
            f"buying price {_plain(line.pack_price)} for a pack of {size}{_marked_up(rules.material_markup)}"
        )
        if line.packs:
            rate = line.pack_price * markup
            name = f"{line.name}, pack of {size}"
            yield _Draft("materials", name, Decimal(line.packs), "pack", rate, bought_at)
        if line.from_stock:
            rate = line.pack_price / line.pack_size * markup
            yield _Draft("materials", f"{line.name}, from stock", line.from_stock, line.unit, rate, bought_at)


def _labour(labour: Labour, rules: PriceRules) -> Iterator[_Draft]:
    rate = rules.labour_cost_per_h * (_ONE + rules.labour_markup)
    rule = f"cost of an hour {_plain(rules.labour_cost_per_h)}{_marked_up(rules.labour_markup)}"
    for operation in OPERATIONS:
        hours = sum((line.hours for line in labour.operations if line.operation == operation), _NOTHING)
        yield _Draft("labour", OPERATION_WORDS[operation], hours, "h", rate, f"{rule}; likely hours")
    if rules.hours_priced == "safe":
        spare = labour.safe_h - labour.likely_h
        rate = rate if spare >= 0 else -rate
        reserve = f"{rule}; safe hours {_plain(labour.safe_h)} less likely hours {_plain(labour.likely_h)}"
        yield _Draft("labour", "Hours kept in reserve", abs(spare), "h", rate, reserve)


def _site(labour: Labour, rules: PriceRules) -> Iterator[_Draft]:
    yield _job("access", "Platforms and scaffolding", rules.access_charge, "charge for the job")
    days = labour.crew_days.to_integral_value(ROUND_CEILING)
    rule = f"charge by crew day; {_plain(labour.crew_days)} days counted as {_plain(days)}"
    yield _Draft("travel", "Travel", days, "crew day", rules.travel_charge, rule)


def _shares(writer: _Writer, rules: PriceRules) -> None:
    base = writer.so_far("materials", "labour")
    rule = f"{_percent(rules.overhead)} of materials and labour, {_plain(base)}"
    writer.write(_job("overhead", "Overhead", base * rules.overhead, rule))
    base = writer.so_far()
    rule = f"{_percent(rules.contingency)} of everything above, {_plain(base)}"
    writer.write(_job("contingency", "Contingency", base * rules.contingency, rule))
    base = writer.so_far()
    rule = f"{_percent(rules.discount)} off everything above, {_plain(base)}"
    writer.write(_job("discount", "Discount", -base * rules.discount, rule))
    base = writer.so_far()
    least = rules.minimum_charge.quantize(writer.step, ROUND_CEILING)
    if base < least:
        rule = f"minimum charge {_plain(least)} less {_plain(base)}"
        writer.write(_job("minimum", "Up to the minimum charge", least - base, rule))


def _job(group: PriceGroup, name: str, amount: Decimal, rule: str) -> _Draft:
    return _Draft(group, name, _ONE, "job", amount, rule)


def _tax(lines: Iterable[PriceLine], step: Decimal) -> Iterator[TaxLine]:
    bases: dict[Decimal, Decimal] = {}
    for line in lines:
        bases[line.tax_rate] = bases.get(line.tax_rate, _NOTHING) + line.amount
    for rate in sorted(bases, reverse=True):
        yield TaxLine(rate, bases[rate], (bases[rate] * rate).quantize(step))


def _written(rate: Decimal) -> Decimal:
    """The rate as it stands, or to eight places where a price by the unit has no end of digits."""
    finest = rate.quantize(_FINEST_RATE)
    return rate if len(rate.as_tuple().digits) <= len(finest.as_tuple().digits) else finest


def _sum(lines: Iterable[PriceLine]) -> Decimal:
    return sum((line.amount for line in lines), _NOTHING)


def _marked_up(share: Decimal) -> str:
    return f" + {_percent(share)} mark-up" if share else ""


def _percent(share: Decimal) -> str:
    return f"{_plain((share * 100).normalize())} %"


def _plain(value: Decimal) -> str:
    return format(value, "f")
