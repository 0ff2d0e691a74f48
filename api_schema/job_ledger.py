"""A job's ledger: what was quoted beside what it took, in hours, packs and money."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import choice, identifier, many, moment, money, number, one, text, whole
from api_schema.outputs import OPERATIONS, OperationName
from api_schema.quote import QUOTE_STATES, QuoteState

_LEAST = "-1000000000"


@dataclass(frozen=True, slots=True)
class LedgerQuote:
    """The quote the job stands on: the accepted one, else the one issued last."""

    id: Annotated[str, text("The quote.", example="quo_4Zk0c7tQm2")]
    number: Annotated[str, text("Its number.", example="2026-0001")]
    revision: Annotated[int, whole("Its revision.", example=1)]
    state: Annotated[QuoteState, choice("Where it stands.", QUOTE_STATES, example="accepted")]


@dataclass(frozen=True, slots=True)
class LedgerHours:
    """Hours of one operation."""

    operation: Annotated[OperationName, choice("The operation.", OPERATIONS, example="tape_lap")]
    quoted_h: Annotated[Decimal, number("Likely hours when it was quoted.", example="4.1", unit="h")]
    recorded_h: Annotated[Decimal, number("Hours the crew wrote down.", example="4.6", unit="h")]
    difference_h: Annotated[Decimal, number("Recorded less quoted.", example="0.5", unit="h", minimum=_LEAST)]


@dataclass(frozen=True, slots=True)
class LedgerPacks:
    """Packs of one size of one product."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    pack_size: Annotated[Decimal, number("In one pack.", example="30", unit="product unit")]
    quoted: Annotated[int, whole("Packs quoted for.", example=2)]
    ordered: Annotated[int, whole("Packs ordered, drafts left out.", example=2)]
    received: Annotated[int, whole("Packs that came.", example=2)]
    quoted_price: Annotated[Decimal, money("Buying price when it was quoted.", example="84.00")]
    ordered_price: Annotated[Decimal, money("Price of what was ordered.", example="84.00")]
    used: Annotated[
        Decimal | None,
        number("Packs used up, parts included; null where nobody said.", example="2.5", unit="pack"),
    ] = None
    used_price: Annotated[
        Decimal | None,
        money(
            "Those packs at the price they were quoted at, else by the price book of the plan.",
            example="105.00",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class LedgerMoney:
    """What was asked beside what it cost, before tax and the firm's own overhead."""

    currency: Annotated[str, text("ISO 4217.", example="EUR", longest=3)]
    quoted_net: Annotated[
        Decimal | None,
        money("Net of the quote; null where none was issued.", example="4212.89", minimum=_LEAST),
    ]
    labour_cost_per_h: Annotated[
        Decimal, money("What an hour costs the firm, as it stood when planned.", example="28.00")
    ]
    quoted_labour: Annotated[Decimal, money("Quoted hours at that cost.", example="1953.76")]
    recorded_labour: Annotated[Decimal, money("Recorded hours at that cost.", example="2016.00")]
    quoted_materials: Annotated[Decimal, money("Packs quoted for, at buying price.", example="1310.00")]
    ordered_materials: Annotated[
        Decimal, money("Orders sent, without tax; of one closed early what came.", example="1310.00")
    ]
    result: Annotated[
        Decimal | None,
        money(
            "Net of the quote less recorded labour and ordered materials; null where none was issued.",
            example="886.89",
            minimum=_LEAST,
        ),
    ]
    used_materials: Annotated[
        Decimal | None,
        money(
            "Packs used up at their prices, and as quoted where nobody said; null until the job is finished.",
            example="1284.50",
        ),
    ] = None
    result_by_use: Annotated[
        Decimal | None,
        money(
            "Net of the quote less recorded labour and used materials; null until both are known.",
            example="912.39",
            minimum=_LEAST,
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class JobLedger:
    """The ledger of a job."""

    job: Annotated[str, text("Public name of the job.", example="job_4Zk0c7tQm2")]
    quote: Annotated[LedgerQuote | None, one(LedgerQuote, "What it was quoted as; null where it was not.")]
    hours: Annotated[tuple[LedgerHours, ...], many(LedgerHours, "Operation by operation.")]
    quoted_h: Annotated[Decimal, number("Likely hours in all.", example="69.8", unit="h")]
    recorded_h: Annotated[Decimal, number("Recorded hours in all.", example="72.0", unit="h")]
    packs: Annotated[tuple[LedgerPacks, ...], many(LedgerPacks, "Product by product.")]
    in_money: Annotated[LedgerMoney, one(LedgerMoney, "In money.")]
    finished_at: Annotated[
        datetime.datetime | None, moment("When it was finished; null while it is not.")
    ] = None
