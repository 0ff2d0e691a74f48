"""Lengths in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api_schema.lengths import length_in_words


@pytest.mark.parametrize(
    ("words", "millimetres"),
    [
        ("2.4 m", 2400),
        ("240 cm", 2400),
        ("8 ft 2 in", 2489),  # 8 × 304.8 + 2 × 25.4 = 2489.2
        ('4"', 102),  # 101.6
        ("8' 2 1/2\"", 2502),  # 2501.9
        ("8' 2", 2489),
        ("1/2 in", 13),  # 12.7
        ("2400", 2400),
        ("2 m 40 cm", 2400),
        ("1,5 m", 1500),
        ("-50 mm", -50),
    ],
)
def test_what_a_fitter_writes_is_understood(words: str, millimetres: int) -> None:
    assert length_in_words(words) == millimetres


@pytest.mark.parametrize(
    "words",
    ["", "m", "two metres", "2 in 8 ft", "1e5 m", "2..4m", "1/0 in", "2 m 3 m", "9" * 50, "2**9 m", "٣ m"],
)
def test_what_is_not_a_length_is_refused_with_help(words: str) -> None:
    with pytest.raises(ValueError, match=r"2\.4 m"):
        length_in_words(words)


@given(st.integers(0, 900_000))
def test_metres_and_millimetres_agree(millimetres: int) -> None:
    assert (
        length_in_words(f"{millimetres / 1000:.3f} m") == length_in_words(f"{millimetres} mm") == millimetres
    )
