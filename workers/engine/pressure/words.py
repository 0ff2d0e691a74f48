"""How the analysis says something: a sentence by its key, kept in English beside its parts."""

from __future__ import annotations

from decimal import Decimal

from api_schema.engine_words import in_english
from api_schema.pressure_result import CheckLevel, TestCheck
from api_schema.pressure_test import TestDirection
from api_schema.provenance import ProvenanceKind
from api_schema.said import Said


def finding(
    code: str, level: CheckLevel, sentence: Said, direction: TestDirection | None = None,
    reading: int | None = None, provenance: ProvenanceKind = "memory",
) -> TestCheck:  # fmt: skip
    """One item of the screen with its sentence."""
    return TestCheck(code, level, in_english(sentence), direction, reading, provenance, sentence)


def places(value: float, count: int) -> Decimal:
    """A measured value for a sentence, with so many decimal places."""
    return Decimal(f"{value:.{count}f}")


def significant(value: float, count: int = 6) -> Decimal:
    """A measured value for a sentence, to so many significant digits."""
    return Decimal(f"{value:.{count}g}")
