"""From our records' fields to JSON Schema 2020-12, as OpenAPI 3.1 wants it.

A record looks different from each side. What we send has every member, and lengths are whole millimetres. What we
take may leave out what has a default, and a length may be words. A merge patch may leave out anything, and null puts
a value back. So a record has up to three schemas: ``Surface``, ``SurfaceInput`` and ``StandardPatch``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from marshmallow import Schema, fields, validate

from api_schema.batch import OneOfMany
from api_schema.fields import LARGEST_LENGTH_MM, Direction, LengthMm, Number, Point, Whole
from api_schema.shape import RecordSchema, schema_of

Side = Literal["sent", "taken", "patch"]
_SUFFIX: dict[Side, str] = {"sent": "", "taken": "Input", "patch": "Patch"}
_LENGTH_WORDS = r"^-?[0-9'\"./, -][0-9a-zA-Z'\"′″./, -]{0,39}$"


class Components:
    """Collects the schemas of records as they are asked for."""

    def __init__(self) -> None:
        self.schemas: dict[str, dict[str, Any]] = {}

    def reference(self, record: type[Any], side: Side) -> dict[str, Any]:
        """A ``$ref`` to the record's schema, made where it is not there yet."""
        return self._of_schema(schema_of(record), side)

    def list_reference(self, record: type[Any]) -> dict[str, Any]:
        """A ``$ref`` to a page of the record."""
        name = f"{record.__name__}List"
        self.schemas[name] = {
            "type": "object",
            "description": f"A page of a list. {(record.__doc__ or '').strip()}",
            "properties": {
                "items": {
                    "type": "array",
                    "description": "What is on this page.",
                    "items": self.reference(record, "sent"),
                },
                "next": {
                    "type": "string",
                    "description": "Address of the next page; left out on the last.",
                    "examples": ["/v1/jobs?cursor=WyJqb2JzIiwg…"],
                },
            },
            "required": ["items"],
            "additionalProperties": False,
        }
        return {"$ref": f"#/components/schemas/{name}"}

    def of_field(self, field: fields.Field[Any], side: Side) -> dict[str, Any]:
        """The schema of one field, with its description, unit and example."""
        schema = self._kind(field, side)
        unit = _unit_of(field)
        description = str(field.metadata.get("description", ""))
        if unit is not None and unit != "1":
            description += f" Unit: {unit}."
            schema["x-unit"] = unit
        described: dict[str, Any] = {"description": description} if description else {}
        if (example := _example_of(field)) is not None:
            described["examples"] = [example]
        if field.allow_none or side == "patch":
            schema = _or_null(schema)
        if side != "sent" and not field.required and _plain(field.load_default):
            described["default"] = field.load_default
        return {**schema, **described}

    def _of_schema(self, schema: type[Schema], side: Side) -> dict[str, Any]:
        assert issubclass(schema, RecordSchema)  # noqa: S101 - every schema of ours is made by schema_of
        name = schema.record.__name__ + _SUFFIX[side]
        if name not in self.schemas:
            self.schemas[name] = {}  # so that a record that holds itself ends
            self.schemas[name] = self._object(schema, side)
        return {"$ref": f"#/components/schemas/{name}"}

    def _object(self, schema: type[RecordSchema], side: Side) -> dict[str, Any]:
        members = schema().fields
        properties = {field.data_key or name: self.of_field(field, side) for name, field in members.items()}
        made: dict[str, Any] = {
            "type": "object",
            "description": (schema.record.__doc__ or "").strip(),
            "properties": properties,
            "additionalProperties": False,
        }
        required = [
            field.data_key or name
            for name, field in members.items()
            if side == "sent" or (side == "taken" and field.required)
        ]
        if required:
            made["required"] = required
        return made

    def _kind(self, field: fields.Field[Any], side: Side) -> dict[str, Any]:
        for kind, make in _MAKERS:
            if isinstance(field, kind):
                return make(self, field, side)
        raise TypeError(f"no JSON Schema is known for {type(field).__name__}")


def _unit_of(field: fields.Field[Any]) -> str | None:
    """Its own unit, or that of what it lists."""
    if "unit" not in field.metadata and isinstance(field, fields.List):
        return _unit_of(field.inner)
    unit: str | None = field.metadata.get("unit")
    return unit


def _example_of(field: fields.Field[Any]) -> Any:
    """Its own example, or a list of one of what it lists."""
    if "example" not in field.metadata and isinstance(field, fields.List):
        inner = _example_of(field.inner)
        return (
            None
            if inner is None
            else [inner] * max([1, *(rule.min or 0 for rule in _rules(field, validate.Length))])
        )
    return field.metadata.get("example")


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if isinstance(schema.get("type"), str):
        schema = {**schema, "type": [schema["type"], "null"]}
        if "enum" in schema:
            schema["enum"] = [*schema["enum"], None]
        return schema
    if "oneOf" in schema:
        return {**schema, "oneOf": [*schema["oneOf"], {"type": "null"}]}
    return {"anyOf": [schema, {"type": "null"}]}


def _plain(value: Any) -> bool:
    return isinstance(value, str | int | bool) and not isinstance(value, float)


def _length(_: Components, field: LengthMm, side: Side) -> dict[str, Any]:
    number = {"type": "integer", "minimum": field.minimum, "maximum": field.maximum}
    if side == "sent":
        return number
    words = {
        "type": "string",
        "pattern": _LENGTH_WORDS,
        "maxLength": 40,
        "description": 'A length in words: "2.4 m", "240 cm", "8 ft 2 in", "4\\"".',
    }
    return {"oneOf": [number, words]}


def _whole(_: Components, field: Whole, _side: Side) -> dict[str, Any]:
    schema: dict[str, Any] = {"type": "integer"}
    for rule in _rules(field, validate.Range):
        schema |= {"minimum": rule.min, "maximum": rule.max}
    return schema


def _number(_: Components, field: Number, side: Side) -> dict[str, Any]:
    low, high = float(field.minimum), float(field.maximum)
    plain = {"type": "number", "minimum": low, "maximum": high}
    words = {
        "type": "string",
        "format": "decimal",
        "pattern": ("^-?" if low < 0 else "^") + r"[0-9]*\.?[0-9]+$",
        "maxLength": 32,
        "description": "A decimal number in quotes, exact.",
    }
    if side == "sent":
        if field.plain:
            return plain
        return {name: value for name, value in words.items() if name not in ("description", "maxLength")}
    return {"oneOf": [plain, words]}


def _point(_: Components, _field: Point, side: Side) -> dict[str, Any]:
    axis = _length(_, LengthMm(minimum=-LARGEST_LENGTH_MM, maximum=LARGEST_LENGTH_MM), side)
    return {"type": "array", "items": axis, "minItems": 2, "maxItems": 2}


def _direction(_: Components, _field: Direction, _side: Side) -> dict[str, Any]:
    return {
        "oneOf": [
            {"type": "string", "enum": ["up", "across"]},
            {"type": "number", "minimum": -180, "maximum": 180, "description": "Degrees."},
        ]
    }


def _list(components: Components, field: fields.List[Any], side: Side) -> dict[str, Any]:
    inner: Side = "taken" if side == "patch" else side  # a patch replaces lists whole
    schema: dict[str, Any] = {"type": "array", "items": components.of_field(field.inner, inner)}
    for rule in _rules(field, validate.Length):
        schema |= {"minItems": rule.min or 0, "maxItems": rule.max}
    return schema


def _nested(components: Components, field: fields.Nested, side: Side) -> dict[str, Any]:
    return components._of_schema(type(field.schema), side)


def _table(components: Components, field: fields.Dict, side: Side) -> dict[str, Any]:
    inner: Side = "taken" if side == "patch" else side
    values = components.of_field(field.value_field, inner) if field.value_field else {}
    return {"type": "object", "additionalProperties": values}


def _text(_: Components, field: fields.String, _side: Side) -> dict[str, Any]:
    schema: dict[str, Any] = {"type": "string"}
    for choice in _rules(field, validate.OneOf):
        schema["enum"] = list(choice.choices)
    for length in _rules(field, validate.Length):
        schema |= {"minLength": length.min or 0, "maxLength": length.max}
    for pattern in _rules(field, validate.Regexp):
        written = pattern.regex.pattern.replace(r"\A", "^").replace(r"\Z", "$")
        if "x00" in written and "pattern" in schema:
            continue  # the narrower pattern stands already
        schema["pattern"] = written
    return schema


def _rules(field: fields.Field[Any], kind: type[Any]) -> list[Any]:
    return [rule for rule in field.validators if isinstance(rule, kind)]


_Maker = Callable[[Components, Any, Side], dict[str, Any]]
_MAKERS: tuple[tuple[type[fields.Field[Any]], _Maker], ...] = (
    (OneOfMany, lambda *_: {"type": "object"}),
    (LengthMm, _length),
    (Whole, _whole),
    (Number, _number),
    (Point, _point),
    (Direction, _direction),
    (fields.List, _list),
    (fields.Nested, _nested),
    (fields.Dict, _table),
    (fields.Date, lambda *_: {"type": "string", "format": "date"}),
    (fields.AwareDateTime, lambda *_: {"type": "string", "format": "date-time"}),
    (fields.Boolean, lambda *_: {"type": "boolean"}),
    (fields.String, _text),
)
