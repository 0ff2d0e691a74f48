"""What the API adds to a record once it is stored: its public name, when, and where else to look."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.account import Profile
from api_schema.breakdown import Breakdown
from api_schema.cut_list import CutList
from api_schema.economy import Economy
from api_schema.fields import (
    choice,
    identifier,
    list_of,
    many,
    moment,
    number,
    one,
    table,
    text,
    truth,
    whole,
)
from api_schema.job import Job
from api_schema.labour import Labour
from api_schema.layout import Layout
from api_schema.order import Order
from api_schema.order_line import OrderLine
from api_schema.plan import Check
from api_schema.price import Price
from api_schema.problem import Problem
from api_schema.quote import Quote
from api_schema.take_off import TakeOff

PlanState = Literal["queued", "running", "ready", "failed", "cancelled"]
PLAN_STATES: tuple[PlanState, ...] = ("queued", "running", "ready", "failed", "cancelled")
JobState = Literal["not_planned", "queued", "running", "ready", "failed", "cancelled"]
JOB_STATES: tuple[JobState, ...] = ("not_planned", *PLAN_STATES)

_JOB = text("Public name of the job.", example="job_4Zk0c7tQm2")
_CREATED = moment("When it was stored.")
_LINKS = table(
    text("An address.", example="/v1/jobs/job_4Zk0c7tQm2", longest=400),
    "Where to go from here.",
    example={"self": "/v1/jobs/job_4Zk0c7tQm2"},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredAccount(Profile):
    """An account with its profile."""

    id: Annotated[str, text("Public name of the account.", example="acc_4Zk0c7tQm2")]
    merchant: Annotated[str | None, text("The merchant it is a trade customer of.", example="acc_9Qd2h5sXv1")]
    created_at: Annotated[datetime.datetime, _CREATED]


@dataclass(frozen=True, slots=True)
class CustomerWish:
    """A trade customer to be added."""

    name: Annotated[str, text("The firm.", example="Example Airtight Ltd", shortest=1, longest=120)]


@dataclass(frozen=True, slots=True)
class TradeCustomer:
    """A trade customer of a merchant."""

    id: Annotated[
        str,
        text("Public name of its account; send it as Act-For to act for it.", example="acc_4Zk0c7tQm2"),
    ]
    name: Annotated[str, text("The firm.", example="Example Airtight Ltd")]
    created_at: Annotated[datetime.datetime, _CREATED]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredJob(Job):
    """A job as it stands."""

    id: Annotated[str, _JOB]
    revision: Annotated[int, whole("Counted up with every change.", example=1, minimum=1)]
    created_at: Annotated[datetime.datetime, _CREATED]
    updated_at: Annotated[datetime.datetime, moment("When it was last changed.")]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEdit(Job):
    """A job as it shall stand from now on. What the service itself adds may be left in as it was read."""

    id: Annotated[str | None, text("Not looked at.", example="job_4Zk0c7tQm2")] = None
    revision: Annotated[int | None, whole("Not looked at.", example=1)] = None
    created_at: Annotated[datetime.datetime | None, moment("Not looked at.")] = None
    updated_at: Annotated[datetime.datetime | None, moment("Not looked at.")] = None
    links: Annotated[
        Mapping[str, str] | None,
        table(
            text("Not looked at.", example="/v1/jobs/job_4Zk0c7tQm2", longest=400),
            "Not looked at.",
            example={},
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class JobSummary:
    """A job in few words."""

    id: Annotated[str, _JOB]
    reference: Annotated[str, text("Your own reference.", example="PX-014")]
    title: Annotated[str, text("What it is.", example="Plot 14, one-and-a-half storey house")]
    revision: Annotated[int, whole("Counted up with every change.", example=1, minimum=1)]
    status: Annotated[JobState, choice("How far the plan of this revision is.", JOB_STATES, example="queued")]
    created_at: Annotated[datetime.datetime, _CREATED]
    updated_at: Annotated[datetime.datetime, moment("When it was last changed.")]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPlan:
    """A plan and how far it is. Everything computed is null until `status` is ready."""

    job: Annotated[str, _JOB]
    revision: Annotated[int, whole("The job's revision it is made from.", example=1, minimum=1)]
    status: Annotated[PlanState, choice("How far it is.", PLAN_STATES, example="ready")]
    final: Annotated[bool, truth("False while it is worth asking again.", example=True)]
    progress: Annotated[
        Decimal, number("Part done so far, 0 to 1.", example="0.4", unit="1", maximum="1", plain=True)
    ]
    attempt: Annotated[int, whole("How often it was begun.", example=1)]
    created_at: Annotated[datetime.datetime, moment("When it was asked for.")]
    started_at: Annotated[datetime.datetime | None, moment("When it was begun.")]
    finished_at: Annotated[datetime.datetime | None, moment("When it ended.")]
    problem: Annotated[Problem | None, one(Problem, "Why it failed.")]
    links: Annotated[Mapping[str, str], _LINKS]
    layout: Annotated[Layout | None, one(Layout, "Where the strips lie.")] = None
    cut_list: Annotated[CutList | None, one(CutList, "What is cut from which roll.")] = None
    take_off: Annotated[TakeOff | None, one(TakeOff, "What was measured.")] = None
    labour: Annotated[Labour | None, one(Labour, "How many hours.")] = None
    order_lines: Annotated[tuple[OrderLine, ...] | None, many(OrderLine, "What to buy.")] = None
    price: Annotated[Price | None, one(Price, "What it costs.")] = None
    checks: Annotated[tuple[Check, ...] | None, many(Check, "What to look at.")] = None
    economy: Annotated[
        Economy | None, one(Economy, "What layout and rolls cost together, and could cost.")
    ] = None
    breakdown: Annotated[
        Breakdown | None, one(Breakdown, "The price by surface and operation, for the firm's eyes.")
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredQuote(Quote):
    """A quote of the account's."""

    price: Annotated[  # type: ignore[assignment] # null until it is priced
        Price | None, one(Price, "What is offered; null while a worker prices it.")
    ]
    pricing: Annotated[PlanState, choice("How far its price is.", PLAN_STATES, example="ready")]
    problem: Annotated[Problem | None, one(Problem, "Why it could not be priced.")]
    answered_by: Annotated[
        str | None, text("Who accepted or declined, where it was said.", example="A. Sample", longest=200)
    ]
    answered_at: Annotated[datetime.datetime | None, moment("When it was answered.")]
    chosen: Annotated[
        tuple[str, ...] | None,
        list_of(
            identifier("Code of an alternative.", example="own-collars"),
            "The alternatives the customer chose; null until it is accepted.",
        ),
    ]
    agreed_price: Annotated[
        Price | None, one(Price, "The price with what was chosen; null until it is accepted.")
    ]

    id: Annotated[str, text("Public name of the quote.", example="quo_4Zk0c7tQm2")]
    job: Annotated[str, _JOB]
    document: Annotated[str | None, text("Its PDF; null until it is rendered.", example="doc_4Zk0c7tQm2")]
    created_at: Annotated[datetime.datetime, _CREATED]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredOrder(Order):
    """An order of the account's."""

    id: Annotated[str, text("Public name of the order.", example="ord_4Zk0c7tQm2")]
    job: Annotated[str, _JOB]
    document: Annotated[str | None, text("Its PDF; null until it is rendered.", example="doc_4Zk0c7tQm2")]
    created_at: Annotated[datetime.datetime, _CREATED]
    links: Annotated[Mapping[str, str], _LINKS]
