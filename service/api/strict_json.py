"""JSON as RFC 8259 means it, and no more: what other readers would take differently is refused.

Python's own reader takes NaN, turns 1e400 into infinity, lets the last of two equal names win and dies on deep
nesting. Here each is refused with a sentence that says what to do.
"""

from __future__ import annotations

import json
import math
import re
from itertools import accumulate
from typing import Any

DEEPEST = 32
MOST_DIGITS = 64

_STRINGS = re.compile(rb'"(?:[^"\\]+|\\.)*+(?:"|\\?\Z)', re.DOTALL)  # possessive: linear on hostile input
_NOT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
_STEPS = {ord("["): 1, ord("{"): 1, ord("]"): -1, ord("}"): -1}
_AWKWARD_ESCAPE = re.compile(rb"\\u(?:[dD][89a-fA-F]|0000)")


class NotJson(ValueError):  # noqa: N818 - it is what was sent, and reads so where it is raised
    """What was sent is not JSON that can be used; the text says why and what to do."""


def read(raw: bytes) -> Any:
    """The value of a JSON text.

    Raises:
        NotJson: if `raw` is not UTF-8, not JSON, nested deeper than `DEEPEST`, has a name twice in one object,
            a number that is not finite or has over `MOST_DIGITS` characters, or text that cannot be stored.
    """
    _refuse_depth(raw)
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJson(f"Byte {error.start + 1} is not UTF-8. Send JSON in UTF-8.") from None
    try:
        value = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_constant,
            parse_float=_float,
            parse_int=_int,
        )
    except json.JSONDecodeError as error:
        raise NotJson(
            f"It stops being JSON at line {error.lineno}, character {error.colno}. "
            "Look there for a missing quote, comma or bracket."
        ) from None
    except RecursionError:
        raise NotJson(_TOO_DEEP) from None
    if _AWKWARD_ESCAPE.search(raw):
        _refuse_awkward_text(value)
    return value


def write(value: Any) -> str:
    """Compact JSON text of a value. Raises ValueError where a number is not finite."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


_TOO_DEEP = f"It is nested deeper than {DEEPEST} brackets. Nothing we take is that deep."


def _refuse_depth(raw: bytes) -> None:
    brackets = _STRINGS.sub(b"", raw).translate(None, _NOT_BRACKETS)
    if max(accumulate(map(_STEPS.__getitem__, brackets)), default=0) > DEEPEST:
        raise NotJson(_TOO_DEEP)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise NotJson(f'The name "{twice[:80]}" stands twice in one object. Keep one of them.')
    return made


def _constant(word: str) -> float:
    raise NotJson(
        f"{word} is not a number JSON has. Leave the value out, or send null where it may be empty."
    )


def _float(digits: str) -> float:
    number = float(digits)
    if len(digits) > MOST_DIGITS or not math.isfinite(number):
        raise NotJson(f"The number {digits[:20]} is too large or too long to be used.")
    return number


def _int(digits: str) -> int:
    if len(digits) > MOST_DIGITS:
        raise NotJson(f"The number {digits[:20]}… is too long to be used.")
    return int(digits)


def _refuse_awkward_text(value: Any) -> None:
    text = json.dumps(value, ensure_ascii=False)
    if "\\u0000" in text:  # json.dumps writes U+0000 as an escape always
        raise NotJson("A text holds the character U+0000, which cannot be stored. Remove it.")
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise NotJson("A text holds half of a surrogate pair (\\ud800 to \\udfff). Remove it.") from None
