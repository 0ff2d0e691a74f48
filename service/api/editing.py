"""ETags, If-Match and JSON merge patches (RFC 9110 section 13, RFC 7396)."""

from __future__ import annotations

import hashlib
from typing import Any, TypeVar

from marshmallow import ValidationError
from werkzeug.http import parse_etags

from api_schema.problem import faults_in
from api_schema.shape import dump, load
from service.api.problems import Refusal, bad_input

Record = TypeVar("Record")


def etag_of(*parts: object) -> str:
    """A strong ETag, without its quotes, of everything that decides what a thing looks like."""
    return hashlib.sha256("\x1f".join(map(str, parts)).encode()).hexdigest()[:32]


def check_match(if_match: str | None, etag: str) -> None:
    """Raises a 412 unless the caller changes what stands there now."""
    wanted = parse_etags(if_match)
    if not (wanted.star_tag or wanted.is_strong(etag)):
        raise Refusal("changed_meanwhile", headers={"ETag": f'"{etag}"'})


def merge_patch(target: Any, patch: Any) -> Any:
    """RFC 7396: names in `patch` replace those of `target`, null removes, lists are replaced whole."""
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged


def loaded(record: type[Record], data: Any) -> Record:
    """The record of JSON `data`; a 422 that names every fault where it is none."""
    try:
        return load(record, data)
    except ValidationError as error:
        raise bad_input(tuple(faults_in(error.messages))) from None


def storable(record: Any) -> dict[str, Any]:
    """The JSON of a record that will be kept; a 422 where it could not be read back.

    A number such as 1e-40 is short when it comes and long when it is written out in full.
    """
    body = dump(record)
    loaded(type(record), body)
    return body
