"""What those who run the service ask, told in the OpenAPI document: no key, no data."""

from __future__ import annotations

from typing import Any

from apispec import APISpec

from service.api.reading import JSON


def tell_of_health(spec: APISpec) -> None:
    """Adds the three addresses outside `/v1`."""
    spec.tag(
        {
            "name": "Health",
            "description": "For those who run the service. No key is needed, and no data is shown.",
        }
    )
    for path, name, summary, description, media_type in (
        ("/healthz", "healthz", "Is it alive?", "200 while the web process answers. Looks at nothing else.", JSON),
        ("/readyz", "readyz", "Is it ready?",
         "200 while jobs can be taken and kept, which takes the database alone; else 503. `degraded` where something "
         "else is away or behind: `checks` says which of broker, worker, scheduler, relay (nothing announced although "
         "runs wait) and queue (a run has waited long). Plans come later then, and none is lost.", JSON),
        ("/metrics", "metrics", "Measurements", "Requests, runs by state, age of the queue, in Prometheus' text form.",
         "text/plain"),
    ):  # fmt: skip
        schema: dict[str, Any] = {"type": "string", "description": description}
        if media_type == JSON:
            schema = {
                "type": "object",
                "description": description,
                "properties": {
                    "status": {"type": "string", "description": "In a word.", "examples": ["ready"]},
                    "checks": {
                        "type": "object",
                        "description": "What was looked at, and whether it is well.",
                        "additionalProperties": {"type": "boolean"},
                        "examples": [{"database": True, "broker": True, "worker": True}],
                    },
                    "relay_lag_s": {
                        "type": "number", "examples": [0.0],
                        "description": "Seconds in which no run was announced although some wait.",
                    },
                    "queue_age_s": {
                        "type": "number", "examples": [0.4],
                        "description": "Seconds the longest waiting run has waited.",
                    },
                },
                "required": ["status"],
            }  # fmt: skip
        answers: dict[str, Any] = {
            "200": {"description": "Yes.", "content": {media_type: {"schema": schema}}}
        }
        if name == "readyz":
            answers["503"] = {"description": "No.", "content": {media_type: {"schema": schema}}}
        spec.path(
            path,
            operations={
                "get": {
                    "operationId": name, "tags": ["Health"], "summary": summary, "description": description,
                    "security": [], "responses": answers,
                }
            },
        )  # fmt: skip
