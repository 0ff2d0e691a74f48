"""A plan priced with the options of one quote."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from api_schema.breakdown import Breakdown
from api_schema.job import Job
from api_schema.labour import Labour
from api_schema.order_line import OrderLine
from api_schema.outputs import Outputs
from api_schema.plan import Plan
from api_schema.price import Price
from api_schema.price_book import PriceBook, PriceRules
from api_schema.quote_options import QuoteOptions
from api_schema.standard import Standard
from workers.engine.envelope import prepare
from workers.engine.labour import hours
from workers.engine.packs import order
from workers.engine.pricing import price
from workers.engine.quoting.breakdown import break_down
from workers.engine.takeoff import measure


@dataclass(frozen=True, slots=True)
class Offered:
    """What a quote offers, and what stands behind it."""

    price: Price
    labour: Labour
    order_lines: tuple[OrderLine, ...]
    breakdown: Breakdown


def price_with(
    job: Job, plan: Plan, options: QuoteOptions, standard: Standard, outputs: Outputs, price_book: PriceBook
) -> Offered:
    """The plan's layout and cut list, measured, bought, worked and priced with the options.

    `collars`: where the other trades bring them, neither collars nor their fitting are counted. `fixing`: staples at
    the standard's centres for that kind of insulation, and the conditions of the outputs that go with it. `hours`,
    `discount`, `access_charge` and `access_tax` take the place of the price book's rules, `tax` that of the job's and
    of every line's own rate. Without options the plan's own price comes out.

    Raises:
        SettingRefused: a setting makes it impossible; the words say what to change.
    """
    usable = prepare(job)
    if options.fixing != "as_surveyed":
        usable = dataclasses.replace(usable, insulation=options.fixing)
    if options.collars != "as_planned":
        usable = dataclasses.replace(usable, collars=options.collars)
    book = dataclasses.replace(price_book, rules=_rules(price_book, options))
    take_off = measure(usable, plan.layout, plan.cut_list, standard, book)
    lines = order(take_off, plan.cut_list, book, standard)
    labour = hours(usable, plan.layout, take_off, outputs)
    priced = price(lines, labour, book, options.tax or job.tax)
    parts = break_down(usable, plan.layout, take_off, lines, labour, priced, outputs, book)
    return Offered(priced, labour, lines, parts)


def _rules(price_book: PriceBook, options: QuoteOptions) -> PriceRules:
    rules = price_book.rules
    if options.hours != "as_set":
        rules = dataclasses.replace(rules, hours_priced=options.hours)
    if options.discount is not None:
        rules = dataclasses.replace(rules, discount=options.discount)
    if options.access_charge is not None:
        rules = dataclasses.replace(rules, access_charge=options.access_charge)
    if options.access_tax is not None:
        rules = dataclasses.replace(rules, access_tax=options.access_tax)
    return rules
