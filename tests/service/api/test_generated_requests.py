"""Requests made up from the OpenAPI document: none breaks the service, none is answered in an undocumented way."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

import pytest
import schemathesis
from flask import Flask
from hypothesis import HealthCheck, settings
from schemathesis.generation.modes import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from service.api.all import RESOURCES
from service.api.openapi import document_of
from tests.service.api.office import Office

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment


class _TheApp:
    """Stands for the application of the test that is running; operations are read before there is one."""

    def __init__(self) -> None:
        self.app: Flask | None = None

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        assert self.app is not None
        return self.app(environ, start)


schema = schemathesis.openapi.from_dict(document_of(RESOURCES, version="test", public_url=""))
schema.app = _TheApp()
for _binary in {
    operation.takes_bytes.media_type
    for resource in RESOURCES
    for operation in resource.operations
    if operation.takes_bytes is not None
} - {"application/octet-stream", "multipart/form-data", "text/csv"}:
    schemathesis.serializer.alias(_binary, "application/octet-stream")
schema.config.update(base_url="http://localhost")
schema.config.checks.negative_data_rejection.expected_statuses = ["4XX"]
schema.config.phases.coverage.enabled = False  # its cases are walked below, so many of each operation
OPERATIONS = [found.ok() for found in schema.get_all_operations()]
MOST_CASES = int(os.environ.get("LAPWISE_COVERAGE_CASES", "12"))
"""Of each operation; large ones have thousands, from which evenly many are taken."""
_LOOKED_THROUGH = 10 * MOST_CASES
_SHARES = 6


@pytest.fixture
def key(app: Flask, office: Office, plan_now: Callable[[Office, str], None]) -> str:
    plan_now(office, office.job())
    schema.app.app = app
    return office.key


@schema.parametrize()
@settings(max_examples=7, deadline=None, suppress_health_check=list(HealthCheck))
def test_made_up_requests_are_answered_as_the_document_says(case: schemathesis.Case, key: str) -> None:
    # a document cannot say what makes a survey drawable or a cursor ours, so 4xx to a well-formed request is right
    case.call_and_validate(
        headers={"Authorization": f"Bearer {key}"}, excluded_checks=[positive_data_acceptance]
    )


@pytest.mark.parametrize("share", range(_SHARES))
def test_every_way_to_get_a_request_wrong_is_answered_as_the_document_says(
    share: int, app: Flask, office_of: Callable[..., Office]
) -> None:
    """Each parameter and member of a body in turn at its bounds, of a wrong type, left out, twice; wrong methods."""
    schema.app.app = app
    for operation in OPERATIONS[share::_SHARES]:
        found = schema.iter_coverage_cases(
            operation=operation,
            generation_modes=list(GenerationMode),
            generation_config=schema.config.generation_for(operation=operation, phase="coverage"),
        )
        cases = list(itertools.islice(found, _LOOKED_THROUGH))
        key = office_of().key  # an account of its own, so that rates are not reached
        for case in cases[:: max(1, -(-len(cases) // MOST_CASES))]:
            case.call_and_validate(
                headers={"Authorization": f"Bearer {key}"}, excluded_checks=[positive_data_acceptance]
            )
