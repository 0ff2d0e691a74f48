"""The OpenAPI 3.1 document, made from the operations and the records themselves."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from apispec import APISpec

from api_schema.problem import Problem
from service.api.json_schema import Components, Side
from service.api.openapi_health import tell_of_health
from service.api.openapi_words import HEADERS, INTRODUCTION, PATH_EXAMPLES, PATH_WORDS
from service.api.operation import GIVEN_NAMES, MADE_NAME, ListOf, Media, Operation, Resource
from service.api.problems import KINDS, MEDIA_TYPE
from service.api.reading import JSON, LONGEST_WAIT_S, MERGE_PATCH


def document_of(resources: Sequence[Resource], *, version: str, public_url: str) -> dict[str, Any]:
    """The document as JSON."""
    components = Components()
    spec = APISpec(
        title="Lapwise",
        version=version,
        openapi_version="3.1.0",
        info={"description": INTRODUCTION, "license": {"name": "MIT", "identifier": "MIT"}},
        servers=[{"url": public_url or "/", "description": "This service."}],
        security=[{"key": []}],
    )
    spec.components.security_scheme(
        "key",
        {
            "type": "http",
            "scheme": "bearer",
            "description": "A key of your account. Scopes: read (look), write (make and change), admin (keys, profile, customers).",
        },
    )
    for resource in resources:
        spec.tag({"name": resource.title, "description": resource.description})
        for operation in resource.operations:
            spec.path(
                operation.path,
                operations={operation.method.lower(): _operation(operation, components)},
                parameters=_path_parameters(operation),
            )
    tell_of_health(spec)
    components.reference(Problem, "sent")
    for name, schema in sorted(components.schemas.items()):
        spec.components.schema(name, schema)
    return spec.to_dict()


def _operation(operation: Operation, components: Components) -> dict[str, Any]:
    described: dict[str, Any] = {
        "operationId": operation.name,
        "tags": [operation.resource.title],
        "summary": operation.summary,
        "description": f"{operation.description}\n\nScope: {operation.scope}.",
        "responses": {
            str(status): _success(operation, status, components) for status in sorted(operation.gives)
        },
    }
    parameters = _parameters(operation, components)
    if parameters:
        described["parameters"] = parameters
    if operation.takes_bytes is not None:
        described["requestBody"] = {
            "required": True,
            "description": operation.takes_bytes.description,
            "content": {operation.takes_bytes.media_type: _bytes_content(operation.takes_bytes)},
        }
    if operation.takes is not None:
        described["requestBody"] = _body(operation, components)
    if operation.etag and operation.method == "GET":
        described["responses"]["304"] = {
            "description": "What you have (If-None-Match) is still what stands here."
        }
    for status in sorted(_refusals(operation)):
        described["responses"][str(status)] = _refusal(status, components)
    return described


def _refusals(operation: Operation) -> set[int]:
    every = {400, 401, 403, 404, 429, 500, 503}  # 404 also where Act-For names no customer
    if operation.writes:
        every |= {413, 415, 422}
    if operation.method == "POST":
        every |= {409}
    if operation.edits:
        every |= {412, 428}
    return every | set(operation.may_answer)


def _refusal(status: int, components: Components) -> dict[str, Any]:
    kinds = [kind for kind in KINDS.values() if kind.status == status]
    words = "; ".join(f"`{kind.code}`: {kind.title}" for kind in kinds)
    answer: dict[str, Any] = {
        "description": f"{words}.",
        "content": {MEDIA_TYPE: {"schema": components.reference(Problem, "sent")}},
        "headers": {"X-Request-Id": HEADERS["X-Request-Id"]},
    }
    if status in (409, 429, 503):
        answer["headers"]["Retry-After"] = HEADERS["Retry-After"]
    return answer


def _success(operation: Operation, status: int, components: Components) -> dict[str, Any]:
    gives = operation.gives[status]
    headers = ["X-Request-Id", "RateLimit"]
    if operation.etag:
        headers.append("ETag")
    if status == 202:
        headers += ["Location", "Retry-After"]
    if isinstance(gives, ListOf) and operation.query:
        headers.append("Link")
    if operation.path in ("/v1/standard", "/v1/outputs", "/v1/price-book") or (
        operation.path.startswith("/v1/price-book.") and operation.method == "GET"
    ):
        headers.append("Lapwise-Source")
    if operation.path.startswith("/v1/price-book.") and operation.method == "PUT":
        headers.append("Lapwise-Read-As")
    answer: dict[str, Any] = {
        "description": _success_words(status),
        "headers": {name: HEADERS[name] for name in headers},
    }
    if isinstance(gives, Media):
        answer["description"] = gives.description
        answer["content"] = {
            gives.media_type: {"schema": {"type": "string", "description": gives.description}}
        }
        if gives.media_type == "application/pdf" or gives.media_type.startswith("application/vnd."):
            answer["content"][gives.media_type] = {}  # bytes, not text
    elif isinstance(gives, ListOf):
        answer["content"] = {JSON: {"schema": components.list_reference(gives.record)}}
    elif gives is not None:
        answer["content"] = {JSON: {"schema": components.reference(gives, "sent")}}
    return answer


def _success_words(status: int) -> str:
    if status == 202:
        return "Taken; it is on its way. `Location` leads to it."
    return {200: "Done.", 201: "Made.", 204: "Done; nothing to say."}.get(status, HTTPStatus(status).phrase)


def _body(operation: Operation, components: Components) -> dict[str, Any]:
    assert operation.takes is not None  # noqa: S101 - asked by the caller
    side: Side = "patch" if operation.is_patch else "taken"
    content: dict[str, Any] = {"schema": components.reference(operation.takes, side)}
    if operation.example is not None:
        content["example"] = operation.example
    return {
        "required": not operation.optional,
        "description": "What to change." if operation.is_patch else "What to store.",
        "content": {MERGE_PATCH if operation.is_patch else JSON: content},
    }


def _bytes_content(takes: Media) -> dict[str, Any]:
    """Nothing more to say of plain bytes; of a form, that it has one file."""
    if takes.media_type != "multipart/form-data":
        return {}
    file = {"type": "string", "contentMediaType": "application/octet-stream", "description": "The file."}
    return {
        "schema": {
            "type": "object",
            "properties": {"file": file},
            "required": ["file"],
            "additionalProperties": False,
        }
    }


def _path_parameters(operation: Operation) -> list[dict[str, Any]]:
    return [
        {
            "name": name,
            "in": "path",
            "required": True,
            "description": PATH_WORDS[name],
            "schema": {
                "type": "string",
                "minLength": 1,
                "maxLength": 100,
                "pattern": "^[A-Za-z0-9._-]+$" if name in GIVEN_NAMES else f"^{MADE_NAME}$",
            },
            "example": PATH_EXAMPLES[name],
        }
        for name in operation.parameters
    ]


def _parameters(operation: Operation, components: Components) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for name, field in operation.query.items():
        schema = components.of_field(field, "sent")
        found.append(
            {
                "name": name,
                "in": "query",
                "description": schema.pop("description"),
                "required": False,
                "schema": schema,
            }
        )
    header = _header_parameter
    found.append(header("Act-For", "A merchant's key acts for this trade customer.", "acc_4Zk0c7tQm2"))
    if operation.method == "POST":
        found.append(
            header(
                "Idempotency-Key",
                "Your own name for this request, 1 to 255 visible ASCII characters; a repeat gives the first answer again.",
                "8e03978e-40d5-43dd-bc93-6894a57f9324",
            )
        )
    if operation.edits:
        found.append(
            header("If-Match", "The `ETag` you read. 428 without it.", '"3f2c9e0d6c8f4d0b"', required=True)
        )
    if operation.etag and operation.method == "GET":
        found.append(
            header("If-None-Match", "The `ETag` you have; 304 where it still holds.", '"3f2c9e0d6c8f4d0b"')
        )
    if operation.waits:
        found.append(
            header(
                "Prefer",
                f"`wait=N` holds the answer up to N seconds, at most {LONGEST_WAIT_S}. Unit: s.",
                "wait=10",
            )
        )
    return found


def _header_parameter(name: str, description: str, example: str, *, required: bool = False) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": required,
        "description": description,
        "schema": {"type": "string"},
        "example": example,
    }
