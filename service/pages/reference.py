"""Turns the OpenAPI document into what the reference page shows. Pure: a document in, plain values out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

_VERBS = ("get", "post", "put", "patch", "delete")


@dataclass(frozen=True, slots=True)
class Row:
    """One field, parameter or header."""

    name: str
    kind: str
    shape: str
    """The shape it is made of, where it is one of ours; else empty."""
    unit: str
    needed: bool
    description: str
    example: str
    limits: str


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer of an operation."""

    status: str
    description: str
    shape: str
    media_type: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One operation."""

    name: str
    verb: str
    path: str
    summary: str
    paragraphs: tuple[str, ...]
    parameters: tuple[Row, ...]
    body_shape: str
    body_media_type: str
    body_example: str
    replies: tuple[Reply, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """The operations of one resource."""

    title: str
    anchor: str
    description: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """One schema."""

    name: str
    description: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """The whole page."""

    title: str
    version: str
    paragraphs: tuple[str, ...]
    groups: tuple[Group, ...]
    shapes: tuple[Shape, ...]


def reference_of(document: Mapping[str, Any]) -> Reference:
    """What the page shows of an OpenAPI document of ours."""
    entries: dict[str, list[Entry]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        for verb in _VERBS:
            if verb in item:
                entries[item[verb]["tags"][0]].append(_entry(path, verb, item))
    return Reference(
        title=document["info"]["title"],
        version=document["info"]["version"],
        paragraphs=_paragraphs(document["info"]["description"]),
        groups=tuple(
            Group(tag["name"], _anchor(tag["name"]), tag["description"], tuple(entries[tag["name"]]))
            for tag in document["tags"]
        ),
        shapes=tuple(
            Shape(name, schema["description"], _rows(schema))
            for name, schema in document["components"]["schemas"].items()
        ),
    )


def _entry(path: str, verb: str, item: Mapping[str, Any]) -> Entry:
    operation = item[verb]
    media_type, content = _first_content(operation.get("requestBody", {}))
    example = content.get("example")
    return Entry(
        name=operation["operationId"],
        verb=verb.upper(),
        path=path,
        summary=operation["summary"],
        paragraphs=_paragraphs(operation["description"]),
        parameters=tuple(
            _row(
                parameter["name"],
                parameter["schema"] | {"description": parameter["description"]},
                needed=parameter.get("required", False),
                kind=f"in {parameter['in']}",
                example=parameter.get("example"),
            )
            for parameter in (*item.get("parameters", ()), *operation.get("parameters", ()))
        ),
        body_shape=_shape_of(content.get("schema", {})),
        body_media_type=media_type,
        body_example="" if example is None else json.dumps(example, indent=2, ensure_ascii=False),
        replies=tuple(_reply(status, answer) for status, answer in operation["responses"].items()),
    )


def _reply(status: str, answer: Mapping[str, Any]) -> Reply:
    media_type, content = _first_content(answer)
    return Reply(status, answer["description"], _shape_of(content.get("schema", {})), media_type)


def _first_content(part: Mapping[str, Any]) -> tuple[str, Mapping[str, Any]]:
    for media_type, content in part.get("content", {}).items():
        return media_type, content
    return "", {}


def _rows(schema: Mapping[str, Any]) -> tuple[Row, ...]:
    required = schema.get("required", ())
    return tuple(
        _row(name, member, needed=name in required) for name, member in schema.get("properties", {}).items()
    )


def _row(
    name: str, schema: Mapping[str, Any], *, needed: bool, kind: str | None = None, example: Any = None
) -> Row:
    shown = example if example is not None else next(iter(schema.get("examples", ())), None)
    return Row(
        name=name,
        kind=_kind(schema) if kind is None else kind,
        shape=_shape_of(schema),
        unit=str(schema.get("x-unit", "")),
        needed=needed,
        description=schema.get("description", ""),
        example=""
        if shown is None
        else shown
        if isinstance(shown, str)
        else json.dumps(shown, ensure_ascii=False),
        limits=_limits(schema),
    )


def _kind(schema: Mapping[str, Any]) -> str:
    for several in ("oneOf", "anyOf"):
        if several in schema:
            return " or ".join(dict.fromkeys(_kind(choice) for choice in schema[several]))
    if "$ref" in schema:
        return "object"
    kind = schema.get("type", "anything")
    if kind == "array":
        return f"list of {_kind(schema['items'])}"
    if isinstance(kind, list):
        return " or ".join(kind)
    return f"{kind} ({schema['format']})" if "format" in schema else str(kind)


def _shape_of(schema: Mapping[str, Any]) -> str:
    if "$ref" in schema:
        return str(schema["$ref"]).rsplit("/", 1)[-1]
    for several in ("oneOf", "anyOf"):
        for choice in schema.get(several, ()):
            if found := _shape_of(choice):
                return found
    return _shape_of(schema["items"]) if "items" in schema else ""


def _limits(schema: Mapping[str, Any]) -> str:
    for choice in (schema, *schema.get("oneOf", ())):
        if "enum" in choice:
            return "one of: " + ", ".join("null" if word is None else str(word) for word in choice["enum"])
        if "minimum" in choice:
            return f"{choice['minimum']:.12g} to {choice['maximum']:.12g}"
        if "maxItems" in choice:
            return f"{choice.get('minItems', 0)} to {choice['maxItems']} entries"
        if "maxLength" in choice:
            return f"{choice.get('minLength', 0)} to {choice['maxLength']} characters"
    return ""


def _paragraphs(text: str) -> tuple[str, ...]:
    return tuple(part.strip().replace("**", "") for part in text.split("\n\n") if part.strip())


def _anchor(title: str) -> str:
    return title.lower().replace(" ", "-")
