"""What a job was changed to because a customer accepted it: the settings, and the words of the quote that carries them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, list_of, text, whole
from api_schema.problem import Fault

Insulation = Literal["in_place", "blown_in"]
Collars = Literal["by_us", "by_others"]
INSULATIONS: tuple[Insulation, ...] = ("in_place", "blown_in")
COLLARS: tuple[Collars, ...] = ("by_us", "by_others")


@dataclass(frozen=True, slots=True)
class Agreement:
    """The accepted quote that a job's settings were taken from."""

    quote: Annotated[str, text("The quote.", example="quo_4Zk0c7tQm2", shortest=1, longest=64)]
    number: Annotated[str, text("Its number.", example="2026-0001", shortest=1, longest=32)]
    revision: Annotated[int, whole("Its revision.", example=1, minimum=1)]
    insulation: Annotated[Insulation, choice("The insulation agreed on.", INSULATIONS, example="blown_in")]
    collars: Annotated[Collars, choice("Who brings and fits the collars.", COLLARS, example="by_others")]
    chosen: Annotated[
        tuple[str, ...],
        list_of(
            text("Name of an alternative.", example="Insulation blown in later", longest=120),
            "The alternatives the customer chose, by the names they were offered under.",
            most=8,
        ),
    ] = ()


def faults_of_claim(sent: Agreement | None, kept: Agreement | None = None) -> tuple[Fault, ...]:
    """What is wrong with the agreement in a job somebody sends: it may be left out, or left as the job has it.

    The crew's papers say that the customer accepted it, so only the service writes one, from an accepted quote.
    """
    if sent is None or sent == kept:
        return ()
    how = "leave it as you read it, or out" if kept is not None else "leave it out"
    return (
        Fault(
            "/agreement",
            f"is not what this job was changed to by the service: {how}. To plan a job as its customer agreed, use "
            "`as-agreed` of the accepted quote.",
        ),
    )
