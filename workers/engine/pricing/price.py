"""The price of a job: lines that can each be traced to a quantity, a rate and a rule."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import NamedTuple

from api_schema.currency import minor_unit
from api_schema.labour import Labour
from api_schema.line_names import RESERVE, packs_named, stock_named
from api_schema.order_line import OrderLine
from api_schema.outputs import OPERATION_WORDS, OPERATIONS
from api_schema.price import Price, PriceGroup, PriceLine, TaxLine
from api_schema.price_book import PriceBook, PriceRules
from api_schema.tax import STANDARD, TaxRate, rates_by_code
from workers.engine.pricing.sharing import shared
from workers.engine.refusal import SettingRefused

_PRECISION = Context(prec=60, rounding=ROUND_HALF_EVEN)
_FINEST_RATE = Decimal("0.00000001")
_ONE = Decimal(1)
_NOTHING = Decimal(0)


def price(
    order_lines: tuple[OrderLine, ...], labour: Labour, price_book: PriceBook, tax: str | None = None
) -> Price:
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

    Lines that come to nothing are left out.

    Tax: `tax` names one rate for every line; else each line has the rate that its product or charge names, and the
    standard one where it names none. Overhead, contingency, discount and minimum belong to what they are a share of,
    so each is split among the rates in proportion to what stands at them, to the minor unit and without loss
    (`sharing`): a discount lowers what is taxed at every rate alike. The tax of a line is its amount times its rate,
    rounded half-even; the tax at a rate is the sum over its lines. The net is the sum of the lines, the total the
    net and the tax. No figure is a float.

    Raises:
        SettingRefused: a rate is named that the price book does not have.
    """
    rules = price_book.rules
    with localcontext(_PRECISION):
        writer = _Writer(minor_unit(price_book.currency), _Rates(price_book, tax))
        for draft in (*_materials(order_lines, rules), *_labour(labour, rules), *_site(labour, rules)):
            writer.write(draft)
        _shares(writer, rules)
        lines = tuple(writer.lines)
        taxes = tuple(_taxes(lines, writer.rates))
        net = _sum(lines).quantize(writer.step)
        total = (net + sum((entry.amount for entry in taxes), _NOTHING)).quantize(writer.step)
    return Price(price_book.currency, lines, net, taxes, total)


class _Draft(NamedTuple):
    """A line before it is rounded."""

    group: PriceGroup
    name: str
    quantity: Decimal
    unit: str
    rate: Decimal
    rule: str
    tax: str | None = None


class _Rates:
    """The tax rates a line may have, or the one that all of them have."""

    def __init__(self, price_book: PriceBook, for_all: str | None) -> None:
        self._named: Mapping[str, TaxRate] = rates_by_code(price_book.rules.tax_rate, price_book.tax_rates)
        self._for_all = None if for_all is None else self._found(for_all)

    def of(self, code: str | None) -> TaxRate:
        return self._for_all or self._found(code or STANDARD)

    def in_order(self, codes: Iterable[str]) -> list[str]:
        """The codes, each once, in the price book's order."""
        wanted = set(codes)
        return [code for code in self._named if code in wanted]

    def _found(self, code: str) -> TaxRate:
        rate = self._named.get(code)
        if rate is None:
            known = ", ".join(self._named)
            raise SettingRefused(
                "price book", f'There is no tax rate "{code}"; add it, or name one of: {known}.'
            )
        return rate


class _Writer:
    """Collects lines, each rounded as it is written."""

    def __init__(self, step: Decimal, rates: _Rates) -> None:
        self.step = step
        self.rates = rates
        self.lines: list[PriceLine] = []

    def write(self, draft: _Draft) -> None:
        rate = _written(draft.rate)
        amount = (draft.quantity * rate).quantize(self.step)
        tax = self.rates.of(draft.tax)
        if amount:
            self.lines.append(
                PriceLine(
                    draft.group,
                    draft.name,
                    draft.quantity,
                    draft.unit,
                    rate,
                    amount,
                    tax.rate,
                    draft.rule,
                    tax.code,
                    (amount * tax.rate).quantize(self.step),
                )
            )

    def share(self, draft: _Draft, *groups: PriceGroup) -> None:
        """Writes a line that belongs to those of some groups, or to all before it: one for each tax rate of theirs."""
        weights = self._by_rate(line for line in self.lines if not groups or line.group in groups)
        if not any(weights.values()):  # all of it was taken off: as it stood before that
            weights = self._by_rate(line for line in self.lines if line.group != "discount")
        codes = self.rates.in_order(weights)
        if len(codes) < 2:
            self.write(draft._replace(tax=codes[0] if codes else None))
            return
        parts = shared(draft.rate.quantize(self.step), codes, weights, self.step)
        for code in codes:
            tax = self.rates.of(code)
            at = f"{tax.name} {_percent(tax.rate)}"
            rule = f"{draft.rule}; the part of what is taxed at {at}"
            self.write(
                draft._replace(name=f"{draft.name}, {tax.name}", rate=parts[code], rule=rule, tax=code)
            )

    def so_far(self, *groups: PriceGroup) -> Decimal:
        return _sum(line for line in self.lines if not groups or line.group in groups)

    @staticmethod
    def _by_rate(lines: Iterable[PriceLine]) -> dict[str, Decimal]:
        sums: dict[str, Decimal] = {}
        for line in lines:
            sums[line.tax] = sums.get(line.tax, _NOTHING) + line.amount
        return {code: max(amount, _NOTHING) for code, amount in sums.items()}


def _materials(order_lines: Iterable[OrderLine], rules: PriceRules) -> Iterator[_Draft]:
    markup = _ONE + rules.material_markup
    for line in order_lines:
        size = _plain(line.pack_size) if line.unit == "piece" else f"{_plain(line.pack_size)} {line.unit}"
        bought_at = (
            f"buying price {_plain(line.pack_price)} for a pack of {size}{_marked_up(rules.material_markup)}"
        )
        if line.packs:
            rate = line.pack_price * markup
            name = packs_named(line.name, line.pack_size, line.unit)
            yield _Draft("materials", name, Decimal(line.packs), "pack", rate, bought_at, line.tax)
        if line.from_stock:
            rate = line.pack_price / line.pack_size * markup
            name = stock_named(line.name)
            yield _Draft("materials", name, line.from_stock, line.unit, rate, bought_at, line.tax)


def _labour(labour: Labour, rules: PriceRules) -> Iterator[_Draft]:
    rate = rules.labour_cost_per_h * (_ONE + rules.labour_markup)
    rule = f"cost of an hour {_plain(rules.labour_cost_per_h)}{_marked_up(rules.labour_markup)}"
    for operation in OPERATIONS:
        hours = sum((line.hours for line in labour.operations if line.operation == operation), _NOTHING)
        name = OPERATION_WORDS[operation]
        yield _Draft("labour", name, hours, "h", rate, f"{rule}; likely hours", rules.labour_tax)
    if rules.hours_priced == "safe":
        spare = labour.safe_h - labour.likely_h
        rate = rate if spare >= 0 else -rate
        reserve = f"{rule}; safe hours {_plain(labour.safe_h)} less likely hours {_plain(labour.likely_h)}"
        yield _Draft("labour", RESERVE, abs(spare), "h", rate, reserve, rules.labour_tax)


def _site(labour: Labour, rules: PriceRules) -> Iterator[_Draft]:
    access = _job("access", "Platforms and scaffolding", rules.access_charge, "charge for the job")
    yield access._replace(tax=rules.access_tax)
    days = labour.crew_days.to_integral_value(ROUND_CEILING)
    rule = f"charge by crew day; {_plain(labour.crew_days)} days counted as {_plain(days)}"
    yield _Draft("travel", "Travel", days, "crew day", rules.travel_charge, rule, rules.travel_tax)


def _shares(writer: _Writer, rules: PriceRules) -> None:
    base = writer.so_far("materials", "labour")
    rule = f"{_percent(rules.overhead)} of materials and labour, {_plain(base)}"
    writer.share(_job("overhead", "Overhead", base * rules.overhead, rule), "materials", "labour")
    base = writer.so_far()
    rule = f"{_percent(rules.contingency)} of everything above, {_plain(base)}"
    writer.share(_job("contingency", "Contingency", base * rules.contingency, rule))
    base = writer.so_far()
    rule = f"{_percent(rules.discount)} off everything above, {_plain(base)}"
    writer.share(_job("discount", "Discount", -base * rules.discount, rule))
    base = writer.so_far()
    least = rules.minimum_charge.quantize(writer.step, ROUND_CEILING)
    if base < least:
        rule = f"minimum charge {_plain(least)} less {_plain(base)}"
        writer.share(_job("minimum", "Up to the minimum charge", least - base, rule))


def _job(group: PriceGroup, name: str, amount: Decimal, rule: str) -> _Draft:
    return _Draft(group, name, _ONE, "job", amount, rule)


def _taxes(lines: tuple[PriceLine, ...], rates: _Rates) -> Iterator[TaxLine]:
    codes = rates.in_order(line.tax for line in lines)
    for code in sorted(
        codes, key=lambda code: -rates.of(code).rate
    ):  # stable: the price book's order among equals
        alike = [line for line in lines if line.tax == code]
        tax = rates.of(code)
        amount = sum((line.tax_amount or _NOTHING for line in alike), _NOTHING)
        yield TaxLine(tax.rate, _sum(alike), amount, code, tax.name, tax.category)


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
