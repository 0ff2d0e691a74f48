"""The ledger of offcuts: what a job left that was kept, and which job used it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, length_mm, list_of, many, moment, number, text, whole


@dataclass(frozen=True, slots=True)
class OffcutWish:
    """Which of the offcuts that a plan leaves are kept."""

    keep: Annotated[
        tuple[int, ...] | None,
        list_of(
            whole("A place in cut_list.kept, from 0.", example=0),
            "Those to keep, by their places in the plan's cut_list.kept; all of them where not said.",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class OffcutCount:
    """Offcuts of one size written on hand, or noted off, because somebody looked and counted."""

    product: Annotated[str, identifier("The membrane it was cut from.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Length.", example=8200, minimum=1)]
    width_mm: Annotated[int, length_mm("Width.", example=1500, minimum=1)]
    by: Annotated[
        int,
        whole(
            "How many more are on hand; below zero where some are gone.",
            example=1,
            minimum=-1000,
            maximum=1000,
        ),
    ]


@dataclass(frozen=True, slots=True)
class OffcutsOnHand:
    """How many offcuts of one size are on hand."""

    product: Annotated[str, identifier("The membrane it was cut from.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Length.", example=8200)]
    width_mm: Annotated[int, length_mm("Width.", example=1500)]
    on_hand: Annotated[int, whole("How many alike.", example=2)]


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerOffcut:
    """One offcut: where it came from and where it went."""

    id: Annotated[str, text("Its public name.", example="off_4Zk0c7tQm2")]
    product: Annotated[str, identifier("The membrane.", example="membrane-1500")]
    length_mm: Annotated[int, length_mm("Length.", example=8200)]
    width_mm: Annotated[int, length_mm("Width.", example=1500)]
    from_job: Annotated[
        str | None,
        text(
            "The job that left it; null where it was written into the price book.", example="job_4Zk0c7tQm2"
        ),
    ] = None
    used_by_job: Annotated[
        str | None,
        text(
            "The job that used it; null while it is on hand, or where it was noted off without a job.",
            example="job_9Qd2h5sXv1",
        ),
    ] = None
    created_at: Annotated[datetime.datetime, moment("When it was first written here.")]
    used_at: Annotated[datetime.datetime | None, moment("When it was taken off stock.")] = None


@dataclass(frozen=True, slots=True)
class TakenOffStock:
    """Metres of whole rolls that a plan took off stock."""

    product: Annotated[str, identifier("The membrane.", example="membrane-1500")]
    metres: Annotated[Decimal, number("Metres of roll.", example="50", unit="m")]


@dataclass(frozen=True, slots=True)
class OffcutsKept:
    """What became of a plan's rolls."""

    job: Annotated[str, text("The job.", example="job_4Zk0c7tQm2")]
    kept: Annotated[tuple[LedgerOffcut, ...], many(LedgerOffcut, "Put on hand.")]
    used: Annotated[tuple[LedgerOffcut, ...], many(LedgerOffcut, "Offcuts taken off stock.")]
    rolls: Annotated[tuple[TakenOffStock, ...], many(TakenOffStock, "Rolls taken off stock.")]
