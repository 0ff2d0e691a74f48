"""Figures rounded to twelve digits, so that the last bit of a machine's logarithm never shows."""

from __future__ import annotations

from api_schema.measured import Estimate


def digits(value: float) -> float:
    """`value` to twelve significant digits."""
    return float(f"{value:.12g}")


def estimate(value: float, low: float, high: float) -> Estimate:
    """An estimate with its three figures rounded."""
    return Estimate(digits(value), digits(low), digits(high))


def scaled(flow: Estimate, size: float | None) -> Estimate | None:
    """An estimate divided by a size that is known exactly, or nothing where the size is not given."""
    if size is None:
        return None
    return estimate(flow.value / size, flow.low / size, flow.high / size)
