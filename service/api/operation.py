"""What an operation is: one verb on one path, with everything its caller and the API reference must know.

A resource file makes a `Resource`, and puts `@resource.operation(...)` above each function. The function takes an
`Asked` and the path's parameters and gives an `Answer`. Checking the key, reading the body, the transaction,
repeats and headers are done around it (`service.api.serving`), so that no verb can forget one of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from marshmallow import fields
from sqlalchemy.orm import Session

from api_schema.problem import Fault
from service.api.caller import Caller
from service.records.store import Store

Scope = Literal["read", "write", "admin"]
SCOPES: tuple[Scope, ...] = ("read", "write", "admin")
GIVEN_NAMES = ("surface", "table")
"""Names in a path that may hold a dot. All others are public names of our making, which hold none; so `x.csv` is never
taken for a thing of the name `x.csv`."""
MADE_NAME = "[A-Za-z0-9_-]+"


@dataclass(frozen=True, slots=True)
class ListOf:
    """A page of a list of records."""

    record: type[Any]


@dataclass(frozen=True, slots=True)
class Media:
    """Something that is not JSON of ours."""

    media_type: str
    description: str


Gives = type[Any] | ListOf | Media | None


@dataclass(frozen=True, slots=True)
class Asked:
    """One request, as its operation sees it."""

    store: Store
    session: Session
    caller: Caller
    body: Any
    """The loaded record; a JSON object for a merge patch; None where nothing is taken."""
    query: Mapping[str, Any]
    if_match: str | None
    traceparent: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What an operation answers with."""

    body: Any = None
    """A JSON object, bytes, an iterator of bytes that outlives the transaction, or None."""
    status: int = 200
    etag: str | None = None
    headers: Mapping[str, str] = field(default_factory=dict)
    media_type: str = "application/json"
    cache: str | None = None
    kept_body: Any = None
    """Kept for repeats in place of `body`, where that may not be stored (a new key)."""
    wait: Callable[[float], Answer] | None = None
    """Called after the transaction with the seconds of `Prefer: wait`, for a fuller answer."""


View = Callable[..., Answer]


@dataclass(frozen=True, slots=True)
class Operation:
    """One verb on one path."""

    method: str
    path: str
    """As in OpenAPI: ``/v1/jobs/{job}``."""
    name: str
    resource: Resource
    summary: str
    description: str
    view: View
    scope: Scope | None
    gives: Mapping[int, Gives]
    takes: type[Any] | None
    example: Mapping[str, Any] | None
    faults: Callable[[Any], Sequence[Fault]] | None
    optional: bool
    takes_bytes: Media | None
    most_bytes: int | None
    query: Mapping[str, fields.Field[Any]]
    may_answer: Sequence[int]
    edits: bool
    waits: bool
    etag: bool

    @property
    def is_patch(self) -> bool:
        """Does it take a JSON merge patch?"""
        return self.method == "PATCH"

    @property
    def writes(self) -> bool:
        """Does it change anything?"""
        return self.method != "GET"

    @property
    def parameters(self) -> tuple[str, ...]:
        """The names in the path."""
        return tuple(re.findall(r"{(\w+)}", self.path))

    @property
    def rule(self) -> str:
        """The path as the web framework spells it."""
        return re.sub(
            r"{(\w+)}", lambda name: f"<{'' if name[1] in GIVEN_NAMES else 'made:'}{name[1]}>", self.path
        )


class Resource:
    """Operations that belong together in the reference."""

    def __init__(self, name: str, title: str, description: str) -> None:
        self.name, self.title, self.description = name, title, description
        self.operations: list[Operation] = []

    def operation(
        self,
        method: str,
        path: str,
        summary: str,
        *,
        scope: Scope | None,
        gives: Mapping[int, Gives],
        takes: type[Any] | None = None,
        example: Mapping[str, Any] | None = None,
        faults: Callable[[Any], Sequence[Fault]] | None = None,
        optional: bool = False,
        takes_bytes: Media | None = None,
        most_bytes: int | None = None,
        query: Mapping[str, fields.Field[Any]] | None = None,
        may_answer: Sequence[int] = (),
        edits: bool = False,
        waits: bool = False,
        etag: bool = False,
    ) -> Callable[[View], View]:
        """Registers the function below as an operation; its docstring is the description in the reference.

        Args:
            method: GET, POST, PUT, PATCH or DELETE.
            path: as in OpenAPI.
            summary: a few words.
            scope: what the key must be allowed to do; None only for what anybody may read.
            gives: what each success answers with.
            takes: the record of the body; for PATCH, the record that is patched.
            example: a body that works, for the reference.
            faults: looks for faults that one field alone does not show.
            optional: may the body be left out?
            takes_bytes: a body that is not JSON; the function gets its bytes.
            most_bytes: the longest body, where it is not what every operation takes.
            query: the parameters after ``?``.
            may_answer: refusals beyond those every operation may make.
            edits: must the request say with If-Match which version it changes?
            waits: does ``Prefer: wait=N`` hold the answer?
            etag: does the answer carry an ETag?
        """

        def register(view: View) -> View:
            self.operations.append(
                Operation(
                    method=method, path=path, name=view.__name__, resource=self, summary=summary,
                    description=_unwrapped(view.__doc__ or ""), view=view, scope=scope, gives=gives, takes=takes,
                    example=example, faults=faults, optional=optional, takes_bytes=takes_bytes, most_bytes=most_bytes,
                    query=query or {},
                    may_answer=tuple(may_answer), edits=edits, waits=waits, etag=etag,
                )
            )  # fmt: skip
            return view

        return register


def _unwrapped(docstring: str) -> str:
    paragraphs = re.split(r"\n\s*\n", docstring.strip())
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)
