"""Turns the OpenAPI document into what the reference page shows. Pure: a document in, plain values out."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

_VERBS = ("post", "get", "put", "patch", "delete")
_LINE = 100
_HEALTH = ("/healthz", "/readyz", "/metrics")
_MARKS = re.compile(r"`([^`]+)`|\*\*(.+?)\*\*")


@dataclass(frozen=True, slots=True)
class Row:
    """One field, parameter or header."""

    name: str
    kind: str
    shape: str
    """The shape it is made of, where it is one of ours; else empty."""
    unit: str
    needed: bool
    description: Markup
    example: str
    limits: str


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer of an operation."""

    status: str
    description: Markup
    shape: str
    media_type: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One operation."""

    name: str
    verb: str
    path: str
    summary: str
    paragraphs: tuple[Markup, ...]
    parameters: tuple[Row, ...]
    body_shape: str
    body_media_type: str
    body_example: str
    replies: tuple[Reply, ...]
    refusals: tuple[Reply, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """The operations of one resource."""

    title: str
    anchor: str
    description: Markup
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """One schema."""

    name: str
    description: Markup
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """The whole page."""

    title: str
    version: str
    paragraphs: tuple[Markup, ...]
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
            Group(tag["name"], _anchor(tag["name"]), _marked(tag["description"]), tuple(entries[tag["name"]]))
            for tag in document["tags"]
        ),
        shapes=tuple(
            Shape(name, _marked(schema["description"]), _rows(schema, taken=name.endswith("Input")))
            for name, schema in document["components"]["schemas"].items()
        ),
    )


def _marked(text: str) -> Markup:
    """A text with its `code` and **strong words** marked up, everything else escaped."""
    made = Markup()
    end = 0
    for match in _MARKS.finditer(text):
        made += escape(text[end : match.start()])
        made += (
            Markup("<code>{}</code>").format(match[1])
            if match[1]
            else Markup("<strong>{}</strong>").format(match[2])
        )
        end = match.end()
    return made + escape(text[end:])


def _entry(path: str, verb: str, item: Mapping[str, Any]) -> Entry:
    operation = item[verb]
    media_type, content = _first_content(operation.get("requestBody", {}))
    example = content.get("example")
    replies = [_reply(status, answer) for status, answer in operation["responses"].items()]
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
        body_example="" if example is None else _written(example),
        replies=tuple(reply for reply in replies if reply.status < "4" or path in _HEALTH),
        refusals=tuple(reply for reply in replies if reply.status >= "4" and path not in _HEALTH),
    )


def _reply(status: str, answer: Mapping[str, Any]) -> Reply:
    media_type, content = _first_content(answer)
    return Reply(status, _marked(answer["description"]), _shape_of(content.get("schema", {})), media_type)


def _first_content(part: Mapping[str, Any]) -> tuple[str, Mapping[str, Any]]:
    for media_type, content in part.get("content", {}).items():
        return media_type, content
    return "", {}


def _written(value: Any, indent: str = "") -> str:
    """JSON with whatever is short on one line."""
    short = json.dumps(value, ensure_ascii=False)
    if len(indent) + len(short) <= _LINE or not isinstance(value, dict | list):
        return short
    inner = indent + "  "
    if isinstance(value, dict):
        lines = [f"{json.dumps(name)}: {_written(member, inner)}" for name, member in value.items()]
    else:
        lines = [_written(member, inner) for member in value]
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    return f"{opening}\n{inner}" + f",\n{inner}".join(lines) + f"\n{indent}{closing}"


def _rows(schema: Mapping[str, Any], *, taken: bool) -> tuple[Row, ...]:
    required = schema.get("required", ()) if taken else ()  # what we send is always whole
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
        description=_marked(_without_unit(schema)),
        example=""
        if shown is None
        else shown
        if isinstance(shown, str)
        else json.dumps(shown, ensure_ascii=False),
        limits=_limits(schema),
    )


def _without_unit(schema: Mapping[str, Any]) -> str:
    """The description less the unit, which has a column of its own."""
    return str(schema.get("description", "")).removesuffix(f" Unit: {schema.get('x-unit')}.")


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


def _paragraphs(text: str) -> tuple[Markup, ...]:
    return tuple(_marked(part.strip()) for part in text.split("\n\n") if part.strip())


def _anchor(title: str) -> str:
    return title.lower().replace(" ", "-")
