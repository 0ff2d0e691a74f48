"""Reads a request's body and parameters into records, or refuses with every fault named."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from flask import request
from marshmallow import ValidationError, fields
from werkzeug.exceptions import RequestEntityTooLarge

from api_schema.fields import Whole
from api_schema.problem import Fault, printable
from service.api import strict_json
from service.api.editing import loaded
from service.api.operation import Operation
from service.api.problems import Refusal, bad_input

JSON = "application/json"
MERGE_PATCH = "application/merge-patch+json"
_DIGITS = re.compile(r"\A-?[0-9]{1,9}\Z")
LONGEST_WAIT_S = 30


def raw_body() -> bytes:
    """The body's bytes. Raises a 413 where it is over what the application takes."""
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise Refusal("wrong_media_type", "Compressed bodies are not taken; send it as it is.")
    try:
        return request.get_data(cache=False)
    except RequestEntityTooLarge:
        most = request.max_content_length or 0
        raise Refusal(
            "too_large", f"A request may have {most // 1024 // 1024} MiB at most. Split it into several."
        ) from None


def body_of(operation: Operation, raw: bytes) -> Any:
    """What the operation takes, as its record (a JSON object for a merge patch)."""
    if operation.takes_bytes is not None:
        _check_media_type(operation)
        return raw
    if operation.takes is None:
        if raw.strip() not in (b"", b"{}"):
            raise bad_input((Fault("", "is not wanted: this operation takes no body. Leave it out."),))
        return None
    if not raw.strip() and operation.optional:
        return loaded(operation.takes, {})
    _check_media_type(operation)
    try:
        sent = strict_json.read(raw)
    except strict_json.NotJson as error:
        raise Refusal("not_json", str(error)) from None
    if not isinstance(sent, dict):
        raise bad_input((Fault("", "must be an object in braces { }."),))
    if operation.is_patch:
        return sent
    record = loaded(operation.takes, sent)
    if operation.faults is not None and (faults := operation.faults(record)):
        raise bad_input(tuple(faults))
    return record


def _check_media_type(operation: Operation) -> None:
    wanted = MERGE_PATCH if operation.is_patch else JSON
    if operation.takes_bytes is not None:
        wanted = operation.takes_bytes.media_type
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    in_utf8 = " in UTF-8" if operation.takes_bytes is None or wanted.startswith("text/") else ""
    if request.mimetype != wanted or charset not in ("utf-8", "utf8"):
        headers = {"Accept-Patch": MERGE_PATCH} if operation.is_patch else {"Accept": JSON}
        raise Refusal(
            "wrong_media_type", f"Send {wanted}{in_utf8} and say so in Content-Type.", headers=headers
        )


def query_of(operation: Operation) -> Mapping[str, Any]:
    """The loaded parameters after ``?``. Raises a 400 that names every one that cannot be used."""
    faults: list[Fault] = []
    found: dict[str, Any] = {}
    for name, values in request.args.lists():
        field = operation.query.get(name)
        if field is None:
            known = ", ".join(operation.query) or "none"
            faults.append(
                Fault("", f'"{printable(name)}" is no parameter of this operation; it knows: {known}.')
            )
        elif len(values) > 1:
            faults.append(Fault("", f'"{name}" stands twice; keep one.'))
        else:
            try:
                found[name] = _loaded(field, values[0])
            except ValidationError as error:
                faults.extend(Fault("", f'"{name}" {message}') for message in error.messages)
    if faults:
        raise Refusal("bad_parameter", " ".join(fault.detail for fault in faults), faults=faults)
    return found


def _loaded(field: fields.Field[Any], value: str) -> Any:
    if isinstance(field, Whole):
        if not _DIGITS.match(value):
            raise ValidationError("must be a whole number.")
        return field.deserialize(int(value))
    return field.deserialize(value)


def wait_of_request() -> int | None:
    """Seconds of ``Prefer: wait=N`` (RFC 7240), at most `LONGEST_WAIT_S`; None where not said."""
    for preference in ",".join(request.headers.getlist("Prefer")).split(","):
        name, _, value = preference.split(";")[0].partition("=")
        if name.strip().lower() == "wait":
            digits = value.strip().strip('"')
            if re.fullmatch(r"[0-9]{1,9}", digits):
                return min(int(digits), LONGEST_WAIT_S)
    return None
