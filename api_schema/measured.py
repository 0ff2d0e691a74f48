"""Fields for what is read off an instrument or found from such readings: ordinary floating-point numbers.

Nothing here is cut, ordered or paid for; lengths to cut and money use the exact fields of `api_schema.fields`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any

from api_schema.fields import Number


class Measured(Number):
    """A measured number: a JSON number in and out, a float inside; refuses what `Number` refuses."""

    in_full = False  # a float is kept with its exponent: a residual of 1e-17 must read back

    def _deserialize(  # type: ignore[override]
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **more: Any
    ) -> float:
        return float(super()._deserialize(value, attr, data, **more))


def measured(
    description: str,
    *,
    example: float,
    unit: str,
    minimum: str = "-1000000000",
    maximum: str = "1000000000",
    **more: Any,
) -> Measured:
    """A measured number with its unit and the range in which it makes sense."""
    return Measured(
        minimum=Decimal(minimum),
        maximum=Decimal(maximum),
        plain=True,
        metadata={"description": description, "example": example, "unit": unit},
        error_messages={"required": "is missing.", "null": "may not be empty."},
        **more,
    )


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure found from readings, with its two-sided 95 % interval."""

    value: Annotated[float, measured("The figure.", example=432.9, unit="as named")]
    low: Annotated[float, measured("Lower end of the 95 % interval.", example=431.7, unit="as named")]
    high: Annotated[float, measured("Upper end of the 95 % interval.", example=434.0, unit="as named")]
