"""The API's operations by name, so that a page does a thing exactly as the API does it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from service.api.all import RESOURCES
from service.api.operation import Answer, View
from service.pages.serving import Visit


@cache
def _views() -> dict[str, View]:
    return {operation.name: operation.view for resource in RESOURCES for operation in resource.operations}


def ask(
    visit: Visit,
    name: str,
    *path: str,
    body: Any = None,
    if_match: str | None = None,
    query: Mapping[str, Any] | None = None,
) -> Answer:
    """The answer of an operation, within the visit's own transaction.

    Raises:
        Refusal: as the API would refuse it.
        RecordsError: as the API would turn it into a refusal.
    """
    return _views()[name](visit.asked(body, if_match=if_match, query=query), *path)
