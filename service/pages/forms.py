"""Forms whose fields are named by JSON Pointer: what was typed becomes JSON, and every fault finds its field again.

A form travels flat, ``{"/surfaces/0/room": "living"}``. `tree` makes it nested, with lists numbered without gaps;
`typed` turns the words into what a record's schema takes; `Form` is what the templates read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from marshmallow import Schema, fields

from api_schema.fields import Direction, Number, Whole
from api_schema.problem import Fault
from api_schema.shape import schema_of
from service.api import strict_json
from service.pages import wording

Tree = dict[str, Any]


def tree(flat: Mapping[str, str]) -> Tree:
    """The nested form of what was sent. Names of ours begin with a slash; others are left out."""
    top: Tree = {}
    for name, value in flat.items():
        if not name.startswith("/"):
            continue
        here = top
        *path, last = name[1:].split("/")
        for step in path:
            inner = here.setdefault(step, {})
            if not isinstance(inner, dict):  # a whole record as JSON stands there already
                break
            here = inner
        else:
            here[last] = value
    return _numbered(top)


def _numbered(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    if value and all(name.isdigit() for name in value):
        return [_numbered(value[name]) for name in sorted(value, key=int)]
    return {name: _numbered(inner) for name, inner in value.items()}


def flat_of(value: Any, pointer: str = "") -> dict[str, str]:
    """The flat form of JSON: every number and word at its pointer."""
    if isinstance(value, dict):
        parts = [flat_of(inner, f"{pointer}/{name}") for name, inner in value.items()]
    elif isinstance(value, list | tuple):
        parts = [flat_of(inner, f"{pointer}/{place}") for place, inner in enumerate(value)]
    else:
        return {pointer: written(value)}
    return {name: words for part in parts for name, words in part.items()}


def written(value: Any) -> str:
    """A value as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def typed(record: type[Any], value: Any) -> Any:
    """What the record's schema takes, from what was typed; what cannot be read stays as it is, to be refused in words."""
    return _typed_record(schema_of(record)(), value)


def _typed_record(schema: Schema, value: Any) -> Any:
    if isinstance(value, str):
        return _whole_json(value)
    if not isinstance(value, dict):
        return value
    made: dict[str, Any] = {}
    for name, field in schema.fields.items():
        key = field.data_key or name
        if key not in value:
            continue
        inner = _typed(field, value[key])
        if inner is not _NOTHING:
            made[key] = inner
    return made


_NOTHING = object()


def _typed(field: fields.Field[Any], value: Any) -> Any:
    if isinstance(field, fields.Nested):
        if value == "":  # none was there
            return _NOTHING
        made = _typed_record(field.schema, value)
        return _NOTHING if made == {} and not field.required else made
    if isinstance(field, fields.List):
        return _typed_list(field, value)
    if not isinstance(value, str):
        return value
    return _typed_word(field, value)


def _typed_list(field: fields.List[Any], value: Any) -> Any:
    if isinstance(value, str):
        whole = _whole_json(value)
        if isinstance(whole, list):
            return whole
        value = [line.strip() for line in value.splitlines() if line.strip()]
    if isinstance(value, dict):  # an empty group of rows
        value = list(value.values())
    made = (_typed(field.inner, inner) for inner in value)
    return [inner for inner in made if inner is not _NOTHING]


def _typed_word(field: fields.Field[Any], value: str) -> Any:  # noqa: PLR0911 - one answer a kind of field
    word = value.strip()
    if isinstance(field, fields.Boolean):
        return word in ("true", "on")
    if isinstance(field, fields.String):
        return None if word == "" and field.allow_none else word
    if word == "":
        return _NOTHING
    if isinstance(field, Whole):
        return int(word) if word.lstrip("-").isdecimal() and word.isascii() and len(word) < 12 else word
    if isinstance(field, Direction):
        return _angle(word)
    if isinstance(field, Number):
        return _number(word)
    return word


def _angle(word: str) -> Any:
    try:
        return float(Decimal(word.removesuffix("°").strip()))
    except (InvalidOperation, OverflowError):
        return word


def _number(word: str) -> str:
    """Takes a decimal comma, and hundredths with their sign."""
    plain = word.replace(",", ".") if word.count(",") == 1 and "." not in word else word
    if not plain.endswith("%"):
        return plain
    try:
        return format(Decimal(plain.removesuffix("%").strip()) / 100, "f")
    except InvalidOperation:
        return plain


def hundredths(value: Any) -> str:
    """A part of one as it stands in a field: 0.155 is "15.5 %". What is no number stays as it is."""
    try:
        return f"{(Decimal(str(value)) * 100).normalize():f} %"
    except InvalidOperation:
        return written(value)


def without_sign(form: Form, pointers: Iterable[str]) -> list[Fault]:
    """The fields of hundredths where it cannot be told whether 5 means 5 % or five times: all but 0 need the sign."""
    return [
        Fault(pointer, f"needs its sign: write {word} % for {word} in a hundred.")
        for pointer in pointers
        if (word := form.value(pointer).strip()) and not word.endswith("%") and word.strip("0.,")
    ]


def _whole_json(value: str) -> Any:
    if value[:1] not in "[{":
        return value
    try:
        return strict_json.read(value.encode())
    except strict_json.NotJson:
        return value


class Form:
    """What a template reads: the value, the rows and the faults at a pointer."""

    def __init__(self, value: Tree, faults: Sequence[Fault] = (), opened: Iterable[str] = ()):
        """`opened` are pointers of parts that are shown unfolded."""
        self.tree = value
        self.flat = flat_of(value)
        self.faults = tuple(faults)
        self.opened = frozenset(opened)
        self._placed: set[str] = set()

    def value(self, pointer: str, otherwise: str = "") -> str:
        """What stands in the field."""
        return self.flat.get(pointer, otherwise)

    def rows(self, pointer: str) -> Sequence[int]:
        """The numbers of the rows there."""
        found: Any = self.tree
        for step in pointer[1:].split("/"):
            found = (
                found[int(step)]
                if isinstance(found, list)
                else found.get(step, {})
                if isinstance(found, dict)
                else {}
            )
        return range(len(found)) if isinstance(found, list) else ()

    def lines(self, pointer: str) -> str:
        """What stands in a field of several lines."""
        return self.value(pointer) or "\n".join(self.value(f"{pointer}/{row}") for row in self.rows(pointer))

    def whole(self, pointer: str) -> Any:
        """A record that is carried as JSON."""
        return _whole_json(self.value(pointer))

    def has(self, pointers: Iterable[str]) -> bool:
        """Is anything wrong at one of these?"""
        wanted = set(pointers)
        return any(fault.pointer in wanted for fault in self.faults)

    def wrong(self, pointer: str) -> list[str]:
        """What is wrong exactly there; from then on the summary can lead there."""
        self._placed.add(pointer)
        return [fault.detail for fault in self.faults if fault.pointer == pointer]

    def wrong_within(self, pointer: str) -> bool:
        """Is anything wrong there or below?"""
        return any(f"{fault.pointer}/".startswith(f"{pointer}/") for fault in self.faults)

    def open(self, pointer: str) -> bool:
        """Is that part unfolded?"""
        return self.wrong_within(pointer) or any(f"{one}/".startswith(f"{pointer}/") for one in self.opened)

    def summary(self) -> list[tuple[str, Fault]]:
        """Every fault with the nearest place shown on the page ("" for none). Ask once the form is rendered."""
        return [(self._nearest(fault.pointer), fault) for fault in self.faults]

    def place_words(self, pointer: str) -> str:
        """A pointer as people read it."""
        return wording.place(pointer)

    def _nearest(self, pointer: str) -> str:
        while pointer and pointer not in self._placed:
            pointer = pointer.rpartition("/")[0]
        return pointer
