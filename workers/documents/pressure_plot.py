"""Draws a fan test: flow against pressure on logarithmic axes, and how far each reading lies from the line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from api_schema.pressure_result import DirectionResult, PressureTestResult
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point
from workers.documents.drawing.pen import Pen
from workers.documents.formats import Formats
from workers.documents.texts import Texts

WIDTH_MM, PLOT_MM, RESIDUALS_MM = 188.0, 104.0, 48.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 17.0, 4.0, 4.0, 11.0
_GRID = "#dfe4e6"
_COLOURS = {"depressurisation": "#2a5d73", "pressurisation": "#b3420e"}
_PRESSURES = (4, 5, 6, 8, 10, 15, 20, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500)
_REACH = 1.08  # kept clear beyond the outermost mark


@dataclass(frozen=True, slots=True)
class _Axes:
    """From ln(pressure) and a height's own measure to millimetres of paper."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float
    height: float

    def at(self, x: float, y: float) -> Point:
        across = (x - self.x_low) / (self.x_high - self.x_low)
        up = (y - self.y_low) / (self.y_high - self.y_low)
        return (
            _LEFT + across * (WIDTH_MM - _LEFT - _RIGHT),
            _TOP + (1 - up) * (self.height - _TOP - _BOTTOM),
        )

    @property
    def corners(self) -> tuple[Point, Point]:
        """Lower left and upper right on paper."""
        return self.at(self.x_low, self.y_low), self.at(self.x_high, self.y_high)


def draw_pressure_plot(result: PressureTestResult, *, language: str = "en") -> bytes:
    """The readings, the fitted lines and the flow at 50 Pa on log-log axes, as SVG in true millimetres.

    A line is drawn through where readings are and broken where it is drawn out beyond them. Filled rings are
    depressurisation, open squares pressurisation; a reading that stands apart has a ring round it and its number.
    """
    texts, formats, pen = Texts(language), Formats(language), Pen()
    low, high = _pressures_of(result)
    flows = [flow for way in result.directions for flow in _flows_of(way, low, high)]
    axes = _Axes(
        math.log(low), math.log(high), math.log(min(flows) / _REACH), math.log(max(flows) * _REACH), PLOT_MM
    )
    _frame(
        pen,
        axes,
        [
            (math.log(flow), _written(flow, formats))
            for flow in flow_ticks(math.exp(axes.y_low), math.exp(axes.y_high))
        ],
        texts("test.plot.pressure"),
        texts("test.plot.flow"),
    )
    pen.lines(
        [(axes.at(math.log(50), axes.y_low), axes.at(math.log(50), axes.y_high))],
        stroke=look.SOFT_INK, stroke_width=look.THIN, stroke_dasharray="2 1",
    )  # fmt: skip
    for way in result.directions:
        _fitted(pen, axes, way)
        for point in way.points:
            where = axes.at(math.log(point.induced_pa), math.log(point.flow_m3_h))
            _mark(pen, where, way.direction, str(point.reading) if point.outlier else "")
    _legend(pen, result, texts, formats)
    return pen.svg(WIDTH_MM, PLOT_MM, texts("test.plot.title"), texts.language)


def draw_residuals(result: PressureTestResult, *, language: str = "en") -> bytes:
    """How far each reading lies above or below its line, in hundredths, as SVG in true millimetres."""
    texts, formats, pen = Texts(language), Formats(language), Pen()
    low, high = _pressures_of(result)
    off = [
        100 * math.expm1(point.residual_share)
        for way in result.directions
        for point in way.points
        if not point.outlier
    ]
    ends = (0.6, *off)  # a fit without scatter still gets an axis
    most = 1.25 * max(abs(end) for end in ends)
    axes = _Axes(math.log(low), math.log(high), -most, most, RESIDUALS_MM)
    step = _round_step(most)
    ticks = [(0.0, "0")]
    for count in range(1, int(most / step) + 1):
        written = _written(count * step, formats)
        ticks += [(count * step, f"+{written}"), (-count * step, f"−{written}")]
    _frame(pen, axes, ticks, texts("test.plot.pressure"), texts("test.plot.residual"))
    pen.lines(
        [(axes.at(axes.x_low, 0), axes.at(axes.x_high, 0))], stroke=look.INK, stroke_width=look.THIN * 1.5
    )
    for way in result.directions:
        for point in way.points:
            share = 100 * math.expm1(point.residual_share)
            inside = min(
                max(share, -0.93 * most), 0.93 * most
            )  # one far off stands at the rim with its figure
            where = axes.at(math.log(point.induced_pa), inside)
            if inside == share:
                pen.lines(
                    [(axes.at(math.log(point.induced_pa), 0), where)],
                    stroke=_COLOURS[way.direction], stroke_width=look.THIN,
                )  # fmt: skip
            number = f"{point.reading}: {share:+.0f} %".replace("-", "−") if inside != share else ""
            _mark(pen, where, way.direction, number or (str(point.reading) if point.outlier else ""))
    return pen.svg(WIDTH_MM, RESIDUALS_MM, texts("test.plot.residual_title"), texts.language)


def flow_ticks(low: float, high: float) -> tuple[float, ...]:
    """Round flows between two others: four to about ten of them, however wide the range is."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    found: tuple[float, ...] = ()
    for steps in ((1.0,), (1.0, 2.0, 5.0), (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0), tuple(n / 10 for n in range(10, 100))):  # fmt: skip
        found = tuple(
            float(f"{step * 10.0**decade:.3g}")
            for decade in decades
            for step in steps
            if low <= step * 10.0**decade <= high
        )
        if len(found) >= 4:
            break
    return found[:: max(1, len(found) // 8)]


def _round_step(most: float) -> float:
    """A round step that fits two or three times between zero and `most`."""
    power = 10.0 ** math.floor(math.log10(most / 2))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most / 2)


def _pressures_of(result: PressureTestResult) -> tuple[float, float]:
    induced = [point.induced_pa for way in result.directions for point in way.points]
    return min(4.0, *induced) / _REACH, max(60.0, *induced) * _REACH


def _flows_of(way: DirectionResult, low: float, high: float) -> Iterator[float]:
    yield from (point.flow_m3_h for point in way.points)
    for pressure in (low * _REACH, 50.0, high / _REACH):
        yield way.c_env_m3_h_pa_n.value * pressure**way.n.value


def _frame(pen: Pen, axes: _Axes, ticks: Sequence[tuple[float, str]], across: str, up: str) -> None:
    (left, bottom), (right, top) = axes.corners
    pressures = [each for each in _PRESSURES if axes.x_low <= math.log(each) <= axes.x_high]
    with pen.group(stroke=_GRID, stroke_width=look.THIN):
        across_at = [axes.at(math.log(each), 0)[0] for each in pressures]
        pen.lines([((x, bottom), (x, top)) for x in across_at])
        pen.lines([((left, axes.at(0, height)[1]), (right, axes.at(0, height)[1])) for height, _ in ticks])
    pen.shape(
        [((left, bottom), (right, bottom), (right, top), (left, top))],
        fill="none", stroke=look.SOFT_INK, stroke_width=look.THIN,
    )  # fmt: skip
    for each in pressures:
        pen.text((axes.at(math.log(each), 0)[0], bottom + 2.8), str(each), 2.7, fill=look.INK)
    for height, words in ticks:
        pen.text((left - 1.4, axes.at(0, height)[1]), words, 2.7, anchor="end", fill=look.INK)
    pen.text(((left + right) / 2, bottom + 7.4), across, 2.9, fill=look.INK)
    pen.text((2.6, (top + bottom) / 2), up, 2.9, turned=-90, fill=look.INK)


def _fitted(pen: Pen, axes: _Axes, way: DirectionResult) -> None:
    """The line solid over the readings, broken beyond them: it is straight on these axes."""

    def on_line(ln_pressure: float) -> Point:
        return axes.at(ln_pressure, math.log(way.c_env_m3_h_pa_n.value) + way.n.value * ln_pressure)

    induced = [math.log(point.induced_pa) for point in way.points]
    first, last = min(induced), max(induced)
    colour = _COLOURS[way.direction]
    pen.lines([(on_line(first), on_line(last))], stroke=colour, stroke_width=look.WIDE * 0.7)
    ends = (math.log(4.0), math.log(50.0))
    beyond = [(on_line(end), on_line(near)) for end, near in ((ends[0], first), (ends[1], last))]
    drawn_out = [beyond[0]] if ends[0] < first else []
    drawn_out += [beyond[1]] if ends[1] > last else []
    pen.lines(drawn_out, stroke=colour, stroke_width=look.THIN * 1.5, stroke_dasharray="1.2 1")


def _mark(pen: Pen, at: Point, direction: str, number: str) -> None:
    x, y = at
    if direction == "depressurisation":
        pen.circle(at, 1.15, fill=_COLOURS[direction], stroke=look.PAPER, stroke_width=look.THIN)
    else:
        pen.shape(
            [((x - 1.05, y - 1.05), (x + 1.05, y - 1.05), (x + 1.05, y + 1.05), (x - 1.05, y + 1.05))],
            fill=look.PAPER, stroke=_COLOURS[direction], stroke_width=0.45,
        )  # fmt: skip
    if number:
        pen.circle(at, 2.3, fill="none", stroke="#a31515", stroke_width=0.45)
        pen.text((x + 3.2, y), number, 2.9, anchor="start", bold=True, fill="#a31515")


def _written(value: float, formats: Formats) -> str:
    """A number to four significant digits, as the language writes it."""
    return formats.number(Decimal(f"{Decimal(f'{value:.4g}'):f}"))


def _legend(pen: Pen, result: PressureTestResult, texts: Texts, formats: Formats) -> None:
    for row, way in enumerate(result.directions):
        y = _TOP + 5.0 + 5.0 * row
        _mark(pen, (_LEFT + 5.0, y), way.direction, "")
        words = texts(
            "test.plot.fit",
            direction=texts(f"test.direction.{way.direction}"),
            c=_written(way.c_env_m3_h_pa_n.value, formats),
            n=formats.number(Decimal(repr(way.n.value)), 3),
        )
        pen.text((_LEFT + 8.0, y), words, 2.9, anchor="start", fill=look.INK)
