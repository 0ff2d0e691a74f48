"""A refusal, RFC 9457: what is wrong, where (RFC 6901 pointers), all faults at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from api_schema.fields import many, text, whole

_LONGEST_POINTER, _LONGEST_NAME = 400, 100


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with what was sent."""

    pointer: Annotated[
        str,
        text(
            "Where: a JSON Pointer (RFC 6901) into what was sent.",
            example="/surfaces/0/outline_mm",
            longest=400,
        ),
    ]
    detail: Annotated[
        str,
        text(
            "What is wrong, and what to do.",
            example="crosses itself near [1200, 0]; list the corners in order.",
            longest=1000,
        ),
    ]


@dataclass(frozen=True, slots=True)
class Problem:
    """An RFC 9457 problem: the body of every answer that is not a success."""

    type: Annotated[
        str,
        text("The kind of problem, an address that explains it.", example="/problems/bad-input", longest=400),
    ]
    title: Annotated[str, text("The kind of problem in words.", example="What was sent cannot be used")]
    status: Annotated[int, whole("The HTTP status code.", example=422, maximum=599)]
    detail: Annotated[str, text("This case in words.", example="2 things need correcting.", longest=2000)] = (
        ""
    )
    instance: Annotated[str, text("The request this is about.", example="/v1/jobs", longest=400)] = ""
    code: Annotated[str, text("A stable word for programs.", example="bad_input")] = ""
    request_id: Annotated[str, text("Name this when you ask for help.", example="req_4f1a9c")] = ""
    errors: Annotated[tuple[Fault, ...], many(Fault, "Every fault found.")] = ()


class SurveyFaults(ValueError):  # noqa: N818 - it is a list of faults, and reads so where it is raised
    """A job that cannot be planned as sent; carries every fault found."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault.pointer} {fault.detail}" for fault in faults))


def faults_in(messages: Any, pointer: str = "") -> Iterator[Fault]:
    """marshmallow's nested messages as faults with RFC 6901 pointers."""
    if isinstance(messages, dict):
        for name, inner in messages.items():
            step = (
                "" if name == "_schema" else "/" + printable(str(name)).replace("~", "~0").replace("/", "~1")
            )
            yield from faults_in(inner, pointer + step)
    elif isinstance(messages, list):
        for inner in messages:
            yield from faults_in(inner, pointer)
    else:
        yield Fault(pointer=pointer[:_LONGEST_POINTER], detail=str(messages))


def printable(name: str) -> str:
    """What somebody wrote, as far as an answer may repeat it: no control characters, and not without end."""
    return "".join("\ufffd" if letter < " " or letter == "\x7f" else letter for letter in name)[
        :_LONGEST_NAME
    ]
