"""A result as comma-separated lines (RFC 4180), for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator

from api_schema.measured import Estimate
from api_schema.pressure_result import Figures, PressureTestResult

_FIGURES = (
    ("flow_50_m3_h", "m3/h"), ("n50_per_h", "1/h"), ("q50_m3_h_m2", "m3/(h·m2)"), ("w50_m3_h_m2", "m3/(h·m2)"),
    ("ela_4_cm2", "cm2"), ("ela_10_cm2", "cm2"), ("eqla_10_cm2", "cm2"),
)  # fmt: skip
HEADINGS = ("part", "direction", "name", "unit", "value", "low", "high", "note")


def csv_of(result: PressureTestResult) -> str:
    """One line a figure, a point and a check, with the columns of `HEADINGS`; lines end in CR LF."""
    return "".join(",".join(map(_cell, line)) + "\r\n" for line in _lines(result))


def _lines(result: PressureTestResult) -> Iterator[tuple[str, ...]]:
    yield HEADINGS
    yield ("test", "", "reference", "", result.reference, "", "", result.method_words)
    yield from _figure_lines("result", "mean" if result.is_mean else "", result.figures)
    for way in result.directions:
        yield ("direction", way.direction, "zero_flow_pa", "Pa", _number(way.zero_flow_pa), "", "", "")
        yield _estimate_line("direction", way.direction, "n", "1", way.n)
        yield _estimate_line(
            "direction", way.direction, "c_env_m3_h_pa_n", "m3/(h·Pa^n)", way.c_env_m3_h_pa_n
        )
        yield _estimate_line("direction", way.direction, "c_l_m3_h_pa_n", "m3/(h·Pa^n)", way.c_l_m3_h_pa_n)
        yield ("direction", way.direction, "r_squared", "1", _number(way.r_squared), "", "", "")
        yield from _figure_lines("direction", way.direction, way.figures)
        for point in way.points:
            at = f"reading {point.reading} at {_number(point.induced_pa)} Pa"
            yield (
                "point", way.direction, at, "m3/h", _number(point.flow_m3_h), "", "",
                f"line {_number(point.line_m3_h)}, residual {_number(point.residual_share)}" + (", stands apart" if point.outlier else ""),
            )  # fmt: skip
    for check in result.checks:
        yield ("check", check.direction or "", check.code, "", check.level, "", "", check.message)
    if result.target is not None:
        found = result.target
        yield (
            "target",
            "",
            found.measure,
            "",
            _number(found.target),
            "",
            "",
            f"{found.finding}: {found.words}",
        )


def _figure_lines(part: str, direction: str, figures: Figures) -> Iterator[tuple[str, ...]]:
    for name, unit in _FIGURES:
        value: Estimate | None = getattr(figures, name)
        if value is not None:
            yield _estimate_line(part, direction, name, unit, value)


def _estimate_line(part: str, direction: str, name: str, unit: str, value: Estimate) -> tuple[str, ...]:
    return (part, direction, name, unit, _number(value.value), _number(value.low), _number(value.high), "")


def _number(value: float) -> str:
    return f"{value:.7g}"


def _cell(text: str) -> str:
    if text[:1] in ("=", "+", "@") or (text[:1] == "-" and not text[1:2].isdigit()):
        text = "'" + text  # a spreadsheet would run it as a formula
    return '"' + text.replace('"', '""') + '"' if any(mark in text for mark in ',"\r\n') else text
