"""From a frozen dataclass to its marshmallow schema.

An attribute is written once, as ``width_mm: Annotated[int, length_mm("Width.", example=1500)]``: the type
for the code, the field for the wire. `schema_of` turns such a class into a schema that loads JSON into the
record and dumps the record to JSON. Attributes without a default are required; ``X | None`` allows null.
"""

from __future__ import annotations

import copy
import dataclasses
import types
from collections.abc import Mapping
from typing import Any, ClassVar, TypeVar, Union, get_args, get_origin, get_type_hints

from marshmallow import Schema, fields, post_load

Record = TypeVar("Record")


class RecordSchema(Schema):
    """A schema that loads into the frozen dataclass `record` and refuses names it does not know."""

    record: ClassVar[type[Any]]

    error_messages = {  # noqa: RUF012 - marshmallow declares it on the instance
        "unknown": "is not a name this object has; remove it or correct its spelling.",
        "type": "must be an object in braces { }.",
    }

    @post_load
    def _to_record(self, data: dict[str, Any], **_: Any) -> Any:
        return self.record(**data)


_schemas: dict[type[Any], type[RecordSchema]] = {}
_instances: dict[type[Any], RecordSchema] = {}


def schema_of(record: type[Any]) -> type[RecordSchema]:
    """The schema class of a frozen dataclass whose attributes carry `Annotated[type, field]`.

    Raises:
        TypeError: if an attribute has no marshmallow field in its annotation.
    """
    if record in _schemas:
        return _schemas[record]
    hints = get_type_hints(record, include_extras=True)
    members: dict[str, Any] = {}
    for attribute in dataclasses.fields(record):
        members[attribute.name] = _field_of(record, attribute, hints[attribute.name])
    members["record"] = record
    members["__doc__"] = record.__doc__
    _schemas[record] = type(f"{record.__name__}Schema", (RecordSchema,), members)
    return _schemas[record]


def load(record: type[Record], data: Mapping[str, Any]) -> Record:
    """The record made from JSON `data`. Raises `marshmallow.ValidationError` naming every fault."""
    loaded: Record = _instance(record).load(data)
    return loaded


def dump(value: Any) -> dict[str, Any]:
    """The JSON object of a record."""
    dumped: dict[str, Any] = _instance(type(value)).dump(value)
    return dumped


def _instance(record: type[Any]) -> RecordSchema:
    if record not in _instances:
        _instances[record] = schema_of(record)()
    return _instances[record]


def _field_of(record: type[Any], attribute: dataclasses.Field[Any], hint: Any) -> fields.Field[Any]:
    optional = False
    if get_origin(hint) in (Union, types.UnionType):  # `Annotated[int, …] | None`
        optional = type(None) in get_args(hint)
        hint = next(part for part in get_args(hint) if part is not type(None))
    found = next(
        (extra for extra in getattr(hint, "__metadata__", ()) if isinstance(extra, fields.Field)), None
    )
    if found is None:
        raise TypeError(f"{record.__name__}.{attribute.name} names no marshmallow field")
    field = copy.deepcopy(found)
    if attribute.name.endswith("_"):  # `from_` is Python's spelling of the JSON name "from"
        field.data_key = attribute.name[:-1]
    inner = get_args(hint)[0]
    optional = optional or (get_origin(inner) in (Union, types.UnionType) and type(None) in get_args(inner))
    field.allow_none = optional
    if attribute.default is not dataclasses.MISSING:
        field.load_default = attribute.default
        field.required = False
    elif attribute.default_factory is not dataclasses.MISSING:
        field.load_default = attribute.default_factory
        field.required = False
    else:
        field.required = True
    return field
