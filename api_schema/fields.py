"""The one set of marshmallow fields the project uses; no bare number field is used anywhere else.

Every field has a description (with its unit) and an example, refuses what is not finite, not whole, or absurdly
long before any arithmetic, and words its refusal for somebody who fits membranes, not for a programmer.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from api_schema.lengths import length_in_words
from api_schema.shape import schema_of

_MISSING: dict[str, str | list[Any] | dict[Any, Any]] = {
    "required": "is missing.",
    "null": "may not be empty.",
    "validator_failed": "is not a value we can use.",
}
_MAX_NUMBER_CHARACTERS = 32
LARGEST_LENGTH_MM = 1_000_000  # one kilometre: nothing that is lined by hand is longer


def _about(description: str, example: Any, **more: Any) -> dict[str, Any]:
    return {"metadata": {"description": description, "example": example, **more}, "error_messages": _MISSING}


class LengthMm(fields.Field[int]):
    """Whole millimetres; takes a number or a length in words."""

    def __init__(self, *, minimum: int, maximum: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.minimum, self.maximum = minimum, maximum

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any) -> int:
        return self.read(value)

    def read(self, value: Any) -> int:
        """Whole millimetres of a number or words; raises `ValidationError` in words."""
        millimetres = self._whole(value)
        if not self.minimum <= millimetres <= self.maximum:
            raise ValidationError(
                f"is {millimetres} mm; it must lie between {self.minimum} mm and {self.maximum} mm."
            )
        return millimetres

    @staticmethod
    def _whole(value: Any) -> int:
        if isinstance(value, str):
            try:
                return length_in_words(value)
            except ValueError as error:
                raise ValidationError(f"is not a length we can read. {error}") from None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError('must be a length: a number of millimetres, or words such as "2.4 m".')
        if isinstance(value, float) and not value.is_integer():  # also refuses inf and nan
            raise ValidationError(
                'must be whole millimetres; write parts of a metre as words, "2.4505 m" or so.'
            )
        return int(value)


class Whole(fields.Integer):
    """A whole number; true, 1.9 and digits of other scripts are refused."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("must be a whole number.")
        return value


class Number(fields.Field[Decimal]):
    """An exact decimal number. Takes a JSON number or a string; gives a string, or a number where `plain`."""

    in_full = True
    """Is it kept as written out in full? 1e-40 is short as it comes, and long as it is kept."""

    def __init__(self, *, minimum: Decimal, maximum: Decimal, plain: bool, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.minimum, self.maximum, self.plain = minimum, maximum, plain

    def _serialize(self, value: Any, attr: str | None, obj: Any, **_: Any) -> str | float | None:
        if value is None:
            return None
        return float(value) if self.plain else format(value, "f")

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any) -> Decimal:
        if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
            raise ValidationError("must be a number.")
        written = str(value).strip()
        if len(written) > _MAX_NUMBER_CHARACTERS or not re.fullmatch(
            r"-?[0-9.]+(?:[eE][-+]?[0-9]{1,2})?", written
        ):
            raise ValidationError("must be a number of ordinary size, written like 12.5.")
        try:
            number = Decimal(written)
        except InvalidOperation:
            raise ValidationError("must be a number, written like 12.5.") from None
        if not self.minimum <= number <= self.maximum:
            raise ValidationError(f"must lie between {self.minimum} and {self.maximum}.")
        if self.in_full and len(format(number, "f")) > _MAX_NUMBER_CHARACTERS:
            raise ValidationError("must be a number of ordinary size, written like 12.5.")
        return number


class Truth(fields.Boolean):
    """True or false; 1 and 0 are refused, though Python takes them for the same."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError("must be true or false.")
        return value


class Many(fields.List[Any]):
    """A list that loads as a tuple, since records never change."""

    def _deserialize(self, *args: Any, **kwargs: Any) -> Any:
        return tuple(super()._deserialize(*args, **kwargs))


class Point(fields.Field[tuple[int, int]]):
    """A point [u, v] of a surface: u to the right, v up, seen from inside, in millimetres."""

    _axis = LengthMm(minimum=-LARGEST_LENGTH_MM, maximum=LARGEST_LENGTH_MM)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **_: Any) -> list[int] | None:
        return None if value is None else list(value)

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any
    ) -> tuple[int, int]:
        if not isinstance(value, list) or len(value) != 2:
            raise ValidationError("must be a point [right, up] of two lengths.")
        return (self._axis.read(value[0]), self._axis.read(value[1]))


class Direction(fields.Field[str]):
    """Which way parallel timbers run: "up", "across", or degrees counted from the right upwards."""

    def _serialize(self, value: Any, attr: str | None, obj: Any, **_: Any) -> Any:
        if value is None or value in ("up", "across"):
            return value
        return float(value)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any) -> str:
        if value in ("up", "across"):
            return str(value)
        if isinstance(value, bool) or not isinstance(value, int | float) or not -180 <= value <= 180:
            raise ValidationError('must be "up", "across" or an angle in degrees from -180 to 180.')
        turned = value % 180
        if turned == 0:
            return "across"
        return "up" if turned == 90 else str(Decimal(str(turned)).normalize())


def text(
    description: str, *, example: str, shortest: int = 0, longest: int = 200, pattern: str | None = None,
    pattern_help: str = "has characters that cannot be used here.",
) -> fields.String:  # fmt: skip
    """A line of text."""
    rules: list[validate.Validator] = [
        validate.Length(shortest, longest, error=f"must have {shortest} to {longest} characters."),
        validate.Regexp(
            r"\A[^\x00-\x08\x0b-\x1f\x7f]*\Z", error="has control characters in it; remove them."
        ),
    ]
    if pattern is not None:
        rules.append(validate.Regexp(pattern, error=pattern_help))
    field = fields.String(validate=rules, **_about(description, example))
    field.error_messages["invalid"] = "must be text in quotes."
    return field


def identifier(description: str, *, example: str) -> fields.String:
    """A short name that can stand in an address: letters, digits, dot, dash and underscore."""
    return text(
        description, example=example, shortest=1, longest=64, pattern=r"\A[A-Za-z0-9][A-Za-z0-9._-]*\Z",
        pattern_help="may hold letters, digits, dots, dashes and underscores, and starts with a letter or digit.",
    )  # fmt: skip


def choice(description: str, choices: Sequence[str], *, example: str | None = None) -> fields.String:
    """One of a few words."""
    said = ", ".join(choices)
    rule = validate.OneOf(choices, error=f"must be one of: {said}.")
    field = fields.String(validate=rule, **_about(description, example or choices[0]))
    field.error_messages["invalid"] = f"must be one of: {said}."
    return field


def truth(description: str, *, example: bool) -> Truth:
    """Yes or no, as JSON true or false."""
    return Truth(**_about(description, example))


def length_mm(
    description: str, *, example: int, minimum: int = 0, maximum: int = LARGEST_LENGTH_MM
) -> LengthMm:
    """A length in whole millimetres; also taken in words."""
    return LengthMm(minimum=minimum, maximum=maximum, **_about(description, example, unit="mm"))


def point(description: str, *, example: Sequence[int]) -> Point:
    """A point of a surface in millimetres."""
    return Point(**_about(description, list(example), unit="mm"))


def points(description: str, *, example: Sequence[Sequence[int]], fewest: int, most: int) -> Many:
    """A polygon of points in millimetres."""
    rule = validate.Length(fewest, most, error=f"must have {fewest} to {most} points.")
    about = _about(description, [list(corner) for corner in example], unit="mm")
    field = Many(
        Point(**_about("A corner [right, up].", list(example[0]), unit="mm")), validate=rule, **about
    )
    field.error_messages["invalid"] = "must be a list of points [right, up]."
    return field


def direction(description: str, *, example: str) -> Direction:
    """A direction of members or strips."""
    return Direction(**_about(description, example))


def whole(
    description: str, *, example: int, minimum: int = 0, maximum: int = 1_000_000, unit: str = "1"
) -> Whole:
    """A whole number."""
    rule = validate.Range(minimum, maximum, error=f"must lie between {minimum} and {maximum}.")
    return Whole(validate=rule, **_about(description, example, unit=unit))


def number(
    description: str,
    *,
    example: str,
    unit: str,
    minimum: str = "0",
    maximum: str = "1000000000",
    plain: bool = False,
) -> Number:
    """An exact decimal number with its unit; `plain` ones are JSON numbers outward, the rest strings."""
    return Number(
        minimum=Decimal(minimum), maximum=Decimal(maximum), plain=plain,
        **_about(description, float(example) if plain else example, unit=unit),
    )  # fmt: skip


def money(description: str, *, example: str = "12.50", minimum: str = "0") -> Number:
    """An amount in the account's currency, a decimal string."""
    return number(description, example=example, unit="currency", minimum=minimum)


def share(description: str, *, example: str, maximum: str = "10", minimum: str = "0") -> Number:
    """A part of one: 0.05 is five in a hundred."""
    return number(description, example=example, unit="1", minimum=minimum, maximum=maximum)


def day(description: str, *, example: str = "2026-11-25") -> fields.Date:
    """A calendar day, ISO 8601."""
    field = fields.Date(**_about(description, example))
    field.error_messages["invalid"] = "must be a day written like 2026-11-25."
    return field


def moment(description: str, *, example: str = "2026-11-25T09:30:00+00:00") -> fields.AwareDateTime:
    """A moment in time with its offset, ISO 8601."""
    field = fields.AwareDateTime(default_timezone=datetime.UTC, **_about(description, example))
    field.error_messages["invalid"] = "must be a moment written like 2026-11-25T09:30:00+00:00."
    return field


def one(record: type[Any], description: str) -> fields.Nested:
    """Another record inside this one."""
    field = fields.Nested(
        _schema_maker(record), metadata={"description": description}, error_messages=_MISSING
    )
    field.error_messages["type"] = "must be an object in braces { }."
    return field


def many(record: type[Any], description: str, *, fewest: int = 0, most: int = 100_000) -> Many:
    """A list of records."""
    rule = validate.Length(fewest, most, error=f"must have {fewest} to {most} entries.")
    inner = one(record, description)
    field = Many(inner, validate=rule, metadata={"description": description}, error_messages=_MISSING)
    field.error_messages["invalid"] = "must be a list in brackets [ ]."
    return field


def list_of(inner: fields.Field[Any], description: str, *, fewest: int = 0, most: int = 100_000) -> Many:
    """A list of plain values."""
    rule = validate.Length(fewest, most, error=f"must have {fewest} to {most} entries.")
    field = Many(inner, validate=rule, metadata={"description": description}, error_messages=_MISSING)
    field.error_messages["invalid"] = "must be a list in brackets [ ]."
    return field


def table(inner: fields.Field[Any], description: str, *, example: Mapping[str, Any]) -> fields.Dict:
    """An object whose names are free and whose values are all of one kind."""
    return fields.Dict(
        keys=fields.String(validate=validate.Length(1, 64)),
        values=inner,
        **_about(description, dict(example)),
    )


def _schema_maker(record: type[Any]) -> Any:
    def make() -> Schema:
        return schema_of(record)()

    return make
