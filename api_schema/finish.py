"""Finishing a job: what it used up, what it took off stock, and what it left."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api_schema.fields import identifier, list_of, many, moment, number, one, text, truth, whole
from api_schema.hours import Hours
from api_schema.offcut import LedgerOffcut, TakenOffStock


@dataclass(frozen=True, slots=True)
class PacksUsed:
    """Packs of one product that the job used up, parts of a pack included."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    packs: Annotated[Decimal, number("Packs, parts included.", example="2.5", unit="pack", maximum="1000000")]
    pack_size: Annotated[
        Decimal | None,
        number(
            "In one pack; the size the plan buys where not said, else the first the price book has.",
            example="30",
            unit="product unit",
            minimum="0.001",
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class FinishWish:
    """How a job ended. Whatever is left out counts as planned."""

    used: Annotated[
        tuple[PacksUsed, ...],
        many(PacksUsed, "What was really used of a product; the others count as planned.", most=500),
    ] = ()
    keep: Annotated[
        tuple[int, ...] | None,
        list_of(
            whole("A place in cut_list.kept, from 0.", example=0),
            "Offcuts to keep, by their places in the plan's cut_list.kept; all of them where not said. Of no "
            "effect where they were kept before.",
        ),
    ] = None
    hours: Annotated[Hours | None, one(Hours, "Hours to record with it.")] = None


@dataclass(frozen=True, slots=True)
class UsedUp:
    """One product: planned, used, taken off stock. Sealant is in millilitres, the rest in the product's unit."""

    product: Annotated[str, identifier("The product.", example="tape-60")]
    planned: Annotated[Decimal, number("As planned, waste included.", example="82.5", unit="product unit")]
    used: Annotated[Decimal, number("As recorded, else as planned.", example="75", unit="product unit")]
    recorded: Annotated[bool, truth("True where somebody said what was used.", example=True)]
    taken: Annotated[
        Decimal, number("Taken off stock; never more than was on hand.", example="75", unit="product unit")
    ]
    on_hand: Annotated[Decimal, number("On hand after it.", example="15", unit="product unit")]


@dataclass(frozen=True, slots=True)
class JobFinished:
    """What finishing a job did."""

    job: Annotated[str, text("The job.", example="job_4Zk0c7tQm2")]
    finished_at: Annotated[datetime.datetime, moment("When it was finished.")]
    used: Annotated[tuple[UsedUp, ...], many(UsedUp, "Product by product, membrane aside.")]
    rolls: Annotated[tuple[TakenOffStock, ...], many(TakenOffStock, "Whole rolls taken off stock.")]
    offcuts_used: Annotated[tuple[LedgerOffcut, ...], many(LedgerOffcut, "Offcuts taken off stock.")]
    offcuts_kept: Annotated[tuple[LedgerOffcut, ...], many(LedgerOffcut, "Offcuts put on hand.")]
