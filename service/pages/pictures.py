"""Small drawings for the pages, as SVG that takes its colours from the style sheet: strips on a surface, cuts on a roll.

The drawing to scale, with everything a crew needs, is the stored one; these are to be known at a glance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from api_schema.edge_side import edge_sides
from api_schema.surface import Outline
from service.pages.wording import SIDE_WORDS

Point = tuple[float, float]
_ROLL_HIGH = 34.0


def surface_picture(surface: Mapping[str, Any], layout: Mapping[str, Any] | None) -> Markup:
    """The outline with its strips, laps, openings and penetrations. Both are the JSON of their records."""
    outline = [tuple(corner) for corner in surface["outline_mm"]]
    if not outline:
        return Markup()
    left, low = min(u for u, _ in outline), min(v for _, v in outline)
    wide = max(max(u for u, _ in outline) - left, 1)
    high = max(max(v for _, v in outline) - low, 1)
    edge = 0.03 * max(wide, high)
    name = escape(surface["id"])
    clip = f"clip-{name}"
    parts = [
        f'<svg class="surface{"" if layout else " unlaid"}" viewBox="{left - edge:.0f} {-(low + high) - edge:.0f} {wide + 2 * edge:.0f} {high + 2 * edge:.0f}" '
        f'role="img" aria-label="Strips on {name}"><clipPath id="{clip}"><path d="{_path(outline)}"/></clipPath>'
    ]
    parts.append(f'<path class="ground" d="{_path(outline)}"/>')
    if layout is not None:
        parts.append(f'<g clip-path="url(#{clip})">{"".join(_strips(layout))}</g>')
    parts += [
        f'<path class="opening" d="{_path(opening["outline_mm"])}"/>' for opening in surface["openings"]
    ]
    for one in surface["penetrations"]:
        u, v = one["at_mm"]
        radius = max((one["diameter_mm"] or max(one["width_mm"] or 0, one["height_mm"] or 0)) / 2, edge / 2.5)
        parts.append(f'<circle class="penetration" cx="{u}" cy="{-v}" r="{radius:.0f}"/>')
    parts.append(f'<path class="outline" d="{_path(outline)}"/></svg>')
    return Markup("".join(parts))  # noqa: S704 - names are escaped, the rest are numbers


def _strips(layout: Mapping[str, Any]) -> Iterable[str]:
    turn = _turn(layout["direction"])
    for number, strip in enumerate(layout["strips"]):
        for piece in strip["pieces"]:
            box = _box(turn, piece["from_mm"], piece["to_mm"], strip["from_mm"], strip["to_mm"])
            yield f'<path class="strip-{number % 2}" d="{_path(box)}"/>'
        for joint in strip.get("end_laps", ()):
            box = _box(turn, joint["from_mm"], joint["to_mm"], strip["from_mm"], strip["to_mm"])
            yield f'<path class="lap" d="{_path(box)}"/>'
            yield f'<path class="joint" d="{_path([box[0], box[3]], close=False)}"/>'
    for lap in layout["laps"]:
        for start, end in lap["spans_mm"]:
            box = _box(turn, start, end, lap["at_mm"], lap["at_mm"] + lap["overlap_mm"])
            yield f'<path class="lap" d="{_path(box)}"/>'
            yield f'<path class="joint" d="{_path(box[:2], close=False)}"/>'


def _turn(direction: Any) -> float:
    """The angle of the run, in radians from the right upwards."""
    return {"across": 0.0, "up": math.pi / 2}.get(str(direction)) if direction in ("across", "up") else math.radians(float(direction))  # type: ignore[return-value] # fmt: skip


def _box(turn: float, s0: float, s1: float, t0: float, t1: float) -> list[Point]:
    # where strips run up, t is u itself, not −u: the frame is mirrored there (`api_schema.layout`)
    if turn == math.pi / 2:
        return [(t, s) for s, t in ((s0, t0), (s1, t0), (s1, t1), (s0, t1))]
    c, n = math.cos(turn), math.sin(turn)
    return [(s * c - t * n, s * n + t * c) for s, t in ((s0, t0), (s1, t0), (s1, t1), (s0, t1))]


def sides_of(outline: Outline) -> list[str]:
    """Where each edge of an outline lies, in words: bottom, right, top, left, or slanting where it is neither."""
    return [SIDE_WORDS[side.exact] for side in edge_sides(outline)]


def _path(points: Sequence[Sequence[float]], *, close: bool = True) -> str:
    return "M" + "L".join(f"{u:.0f} {-v:.0f}" for u, v in points) + ("Z" if close else "")


def roll_picture(roll: Mapping[str, Any]) -> Markup:
    """One roll from its free end: a box for each cut, ripped lanes inside it, the remnant at the end."""
    full = roll["length_mm"]
    wide = 1000.0
    scale = wide / full
    parts = [
        f'<svg class="roll" viewBox="0 0 {wide:.0f} {_ROLL_HIGH + 2:.0f}" preserveAspectRatio="none" role="img" '
        f'aria-label="Roll {int(roll["roll"])}: {len(roll["cuts"])} cuts"><rect class="rest" x="0" y="1" width="{wide:.0f}" height="{_ROLL_HIGH}"/>'
    ]
    for number, cut in enumerate(roll["cuts"]):
        x, length = cut["at_mm"] * scale, cut["length_mm"] * scale
        lanes = cut["lanes"] or ({"width_mm": roll["width_mm"], "pieces": cut["pieces"]},)
        y = 1.0
        for lane in lanes:
            high = _ROLL_HIGH * lane["width_mm"] / roll["width_mm"]
            parts.append(
                f'<rect class="strip-{number % 2}" x="{x:.1f}" y="{y:.1f}" width="{length:.1f}" height="{high:.1f}"/>'
            )
            for one in cut.get("slanted", ()):
                if one["pieces"][0] in lane["pieces"]:
                    near, far = (x + one[edge] * scale for edge in ("near_mm", "far_mm"))
                    parts.append(f'<path class="cut" d="M{near:.1f} {y + high:.1f}L{far:.1f} {y:.1f}"/>')
            y += high
        parts.append(f'<path class="cut" d="M{x + length:.1f} 1v{_ROLL_HIGH}"/>')
    parts.append("</svg>")
    return Markup("".join(parts))  # noqa: S704 - numbers alone
