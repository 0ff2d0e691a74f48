"""Figures of the take-off are exact until the end, then rounded half-even once: m² to 4 digits, m to 3, ml to 1."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal

EXACT = Context(prec=50, rounding=ROUND_HALF_EVEN)  # never the caller's context, which may be anything
PI = Decimal("3.14159265358979323846264338327950288419716939937510")  # 50 digits


def square_metres(doubled_mm2: int) -> Decimal:
    """m² from twice an area in mm², to 4 digits."""
    return _rounded(EXACT.divide(Decimal(doubled_mm2), Decimal(2_000_000)), "0.0001")


def metres(millimetres: Decimal | int) -> Decimal:
    """m from mm, to 3 digits."""
    return _rounded(EXACT.divide(Decimal(millimetres), Decimal(1000)), "0.001")


def millilitres(cubic_mm: Decimal) -> Decimal:
    """ml from mm³, to 1 digit."""
    return _rounded(EXACT.divide(cubic_mm, Decimal(1000)), "0.1")


def _rounded(value: Decimal, step: str) -> Decimal:
    return value.quantize(Decimal(step), context=EXACT)
