"""What the fields refuse before any arithmetic."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import ValidationError

from api_schema.fields import number, truth

NUMBER = number("A number.", example="1.5", unit="1")
TRUTH = truth("Yes or no.", example=True)


@pytest.mark.parametrize("value", ["1e-40", 1e-40, "0.1e-31", 1e-300, "1e99", "0." + "1" * 40])
def test_a_number_too_long_when_written_out_is_refused(value: Any) -> None:
    with pytest.raises(ValidationError):
        NUMBER.deserialize(value)


@given(st.decimals(0, 10**9, allow_nan=False, allow_infinity=False) | st.floats(0, 1e9))
def test_a_number_that_is_taken_can_be_read_back(value: Any) -> None:
    try:
        taken = NUMBER.deserialize(value)
    except ValidationError:
        return
    written = NUMBER._serialize(taken, None, None)
    assert len(str(written)) <= 32
    assert NUMBER.deserialize(written) == taken


def test_ordinary_numbers_are_taken_exactly() -> None:
    assert NUMBER.deserialize("0.000000000001") == Decimal("1e-12")
    assert NUMBER.deserialize(12.5) == Decimal("12.5")


@pytest.mark.parametrize("value", [1, 0, 1.0, 0.0, "true", "false", None, [], "1"])
def test_only_true_and_false_are_truths(value: Any) -> None:
    with pytest.raises(ValidationError):
        TRUTH.deserialize(value)


@pytest.mark.parametrize("value", [True, False])
def test_true_and_false_are_taken(value: bool) -> None:
    assert TRUTH.deserialize(value) is value
