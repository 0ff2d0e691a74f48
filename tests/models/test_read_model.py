"""A broken, hostile or huge model gets a clear error, and nothing of it reaches this process."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.models.small_models import fzk_attic
from workers.models import ModelError, read_model

GOOD = fzk_attic().text
END = b"ENDSEC;\nEND-ISO-10303-21;"


def with_lines(lines: bytes) -> bytes:
    """The good model with more lines in its data."""
    assert GOOD.count(END) == 1
    return GOOD.replace(END, lines + END)


def many_points(count: int) -> bytes:
    return b"".join(b"#%d=IFCCARTESIANPOINT((%d.,0.,0.));\n" % (10**6 + i, i) for i in range(count))


def refusal(model: bytes, **limits: int) -> ModelError:
    with pytest.raises(ModelError) as caught:
        read_model(model, **limits)
    assert str(caught.value).endswith(".")
    return caught.value


def test_a_good_model_is_read_from_bytes_and_from_a_file(tmp_path: Path) -> None:
    (tmp_path / "attic.ifc").write_bytes(GOOD)
    assert read_model(tmp_path / "attic.ifc") == read_model(GOOD)


@pytest.mark.parametrize(
    ("model", "words"),
    [
        (b"", "does not start like an IFC file"),
        (b"PK\x03\x04 zipped", "not zipped"),
        (GOOD[: len(GOOD) // 2], "cut short"),
        (b"ISO-10303-21;\n" + bytes(range(256)) * 200 + b"\nEND-ISO-10303-21;", "cannot be read as IFC"),
        (GOOD.replace(b"IFC4", b"AUTOMOTIVE_DESIGN"), "export it"),
    ],
)
def test_what_is_no_model_is_refused_in_words(model: bytes, words: str) -> None:
    error = refusal(model)
    assert error.reason == "unreadable"
    assert words in str(error)


def test_a_file_over_the_size_limit_is_not_even_opened() -> None:
    assert refusal(GOOD, most_bytes=1000).reason == "too_large"


@pytest.mark.parametrize("number", [b"1.E300", b"-1.E-300"])
def test_absurd_sizes_make_an_unusable_room_not_a_crash(number: bytes) -> None:
    assert refusal(GOOD.replace(b"11400.", number)).reason == "no_spaces"


def test_a_model_that_refers_to_itself_in_a_ring_is_refused() -> None:
    ring = re.sub(rb"IFCLOCALPLACEMENT\(\$,", b"IFCLOCALPLACEMENT(#999999,", GOOD)
    ring = ring.replace(END, b"#999999=IFCLOCALPLACEMENT(#999999,$);\n" + END)
    assert refusal(ring).reason in ("no_spaces", "unreadable")


def test_a_model_that_takes_too_long_is_given_up() -> None:
    assert refusal(with_lines(many_points(1_500_000)), seconds=1).reason == "too_slow"


def test_a_model_that_needs_too_much_memory_is_given_up() -> None:
    error = refusal(with_lines(many_points(1_500_000)), megabytes=400)
    assert error.reason in ("unreadable", "too_much_memory")
    assert "more than 400 MB" in str(error)
