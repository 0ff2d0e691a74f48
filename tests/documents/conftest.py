"""Rendering is quiet: whatever WeasyPrint or fontTools has to say means that something on the page is wrong."""

import logging
from collections.abc import Iterator

import pytest


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
