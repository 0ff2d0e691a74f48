"""Rendering is quiet: whatever WeasyPrint or fontTools has to say means that something on the page is wrong."""

import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.shape import load
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job


@pytest.fixture(scope="session")
def planned_house() -> tuple[Job, Plan]:
    """The demonstration's house, prepared, and its plan."""
    house = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
    job = prepare(load(Job, json.loads(house.read_text(encoding="utf-8"))))
    return job, plan_job(job, default_standard(), default_outputs(), default_price_book())


class _Collector(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(f"{record.name}: {record.getMessage()}")


@pytest.fixture(autouse=True)
def complaints() -> Iterator[list[str]]:
    """What was complained of so far; a test that provokes a complaint clears it."""
    collector = _Collector()
    loggers = [logging.getLogger(name) for name in ("weasyprint", "fontTools")]
    for logger in loggers:
        logger.addHandler(collector)
    yield collector.said
    for logger in loggers:
        logger.removeHandler(collector)
    assert not collector.said, collector.said
