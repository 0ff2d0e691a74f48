"""The plot of a fan test: flow against pressure, both logarithmic, readings and fitted lines, as SVG for the style sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

_WIDE, _HIGH, _LEFT, _BELOW, _PAD = 560.0, 360.0, 62.0, 46.0, 14.0
_STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)


def test_plot(result: Mapping[str, Any]) -> Markup:
    """The plot of a result (JSON of `PressureTestResult`)."""
    ways = result["directions"]
    points = [point for way in ways for point in way["points"]]
    x = _Axis([point["induced_pa"] for point in points] + [50.0], _LEFT, _WIDE - _PAD)
    flows = [point["flow_m3_h"] for point in points] + [point["line_m3_h"] for point in points]
    y = _Axis([*flows, result["figures"]["flow_50_m3_h"]["value"]], _HIGH - _BELOW, _PAD)
    parts = [
        f'<svg class="plot" viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" aria-label="{_in_words(points)}">'
    ]
    for value in x.ticks():
        parts.append(f'<path class="grid" d="M{x.at(value):.1f} {_PAD}V{_HIGH - _BELOW}"/>')
        parts.append(
            f'<text x="{x.at(value):.1f}" y="{_HIGH - _BELOW + 18:.0f}" font-size="12" text-anchor="middle">{value:g}</text>'
        )
    for value in y.ticks():
        parts.append(f'<path class="grid" d="M{_LEFT} {y.at(value):.1f}H{_WIDE - _PAD}"/>')
        parts.append(
            f'<text x="{_LEFT - 8}" y="{y.at(value) + 4:.1f}" font-size="12" text-anchor="end">{value:g}</text>'
        )
    parts.append(f'<path class="axis" fill="none" d="M{_LEFT} {_PAD}V{_HIGH - _BELOW}H{_WIDE - _PAD}"/>')
    for number, way in enumerate(ways):
        second = " second" if number else ""
        line = [
            (x.at(p), y.at(way["c_env_m3_h_pa_n"]["value"] * p ** way["n"]["value"])) for p in (x.low, x.high)
        ]
        inside = [(u, min(max(v, _PAD), _HIGH - _BELOW)) for u, v in line]
        parts.append(
            f'<path class="fit{second}" d="M{inside[0][0]:.1f} {inside[0][1]:.1f}L{inside[1][0]:.1f} {inside[1][1]:.1f}"/>'
        )
        for point in way["points"]:
            parts.append(
                f'<circle class="point{second}" cx="{x.at(point["induced_pa"]):.1f}" cy="{y.at(point["flow_m3_h"]):.1f}" r="{6 if point["outlier"] else 4}"/>'
            )
    parts.append(
        f'<text x="{(_LEFT + _WIDE) / 2:.0f}" y="{_HIGH - 8:.0f}" font-size="12" text-anchor="middle">induced pressure, Pa</text>'
    )
    parts.append(
        f'<text transform="translate(14 {_HIGH / 2:.0f}) rotate(-90)" font-size="12" text-anchor="middle">flow, m³/h</text></svg>'
    )
    return Markup("".join(parts))  # noqa: S704 - numbers alone


def _in_words(points: Sequence[Mapping[str, Any]]) -> str:
    """What the plot shows, for who cannot see it."""
    first, last = (choose(points, key=lambda point: abs(point["induced_pa"])) for choose in (min, max))
    return (
        f"Flow against pressure: {len(points)} readings from {first['flow_m3_h']:.0f} m³/h at {abs(first['induced_pa']):.0f} Pa "
        f"to {last['flow_m3_h']:.0f} m³/h at {abs(last['induced_pa']):.0f} Pa, and the line through them"
    )


class _Axis:
    """A logarithmic axis, a little wider than what is on it."""

    def __init__(self, values: list[float], start: float, end: float):
        self.low, self.high = min(values) / 1.12, max(values) * 1.12
        self._start, self._end = start, end

    def at(self, value: float) -> float:
        part = math.log(value / self.low) / math.log(self.high / self.low)
        return self._start + part * (self._end - self._start)

    def ticks(self) -> list[float]:
        """Round values, no more than about nine."""
        first = math.floor(math.log10(self.low))
        every = [step * 10.0**power for power in range(first, first + 8) for step in _STEPS]
        found = [value for value in every if self.low <= value <= self.high]
        return found if len(found) <= 9 else found[:: math.ceil(len(found) / 9)]
