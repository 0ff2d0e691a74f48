"""From millimetres of the surface to millimetres of paper: scale, margins, line widths and colours."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from workers.documents.drawing.geometry import Point, box_of

# ISO 5455 reduction scales from the one a reveal is drawn at to the one the longest allowed wall is drawn at.
SCALES = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)
WIDEST_MM, HIGHEST_MM = 190.0, 158.0  # what a page of the site pack leaves for a drawing
ACROSS_WIDEST_MM, ACROSS_HIGHEST_MM = 277.0, 92.0  # and one on its side, that tables find room as well

# Line widths of ISO 128: thin, wide twice as wide, and a heavier one for the joint that is taped.
THIN, WIDE, JOINT = 0.18, 0.5, 0.7

INK, SOFT_INK = "#1b2430", "#5c6672"
MEMBER = "#9a8468"
CUT = "#8b939b"
TINTS = ("#c9dfe4", "#f8eed8")  # alternate strips: blue-grey and sand, apart in lightness too
SPLICE_DASH = "1.6 0.5"
LAP_HATCH, JOINT_LINE = "#44606b", "#b3420e"
PAPER = "#ffffff"


@dataclass(frozen=True, slots=True)
class Margins:
    """Paper kept round the drawn thing, in millimetres, and what the rows of dimensions add to it."""

    left: float
    top: float
    right: float
    bottom: float
    rows_left: float = 0.0
    rows_below: float = 0.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A scale and where the surface lies on paper."""

    scale: int
    left_u: float
    top_v: float
    left: float
    top: float
    height: float
    first_left: float
    first_below: float
    width: float = WIDEST_MM

    @classmethod
    def fitting(
        cls, points: Sequence[Point], margins_at: Callable[[int], Margins], *, beyond: int = 0
    ) -> Sheet:
        """The largest scale of ISO 5455 at which these points and their margins go on a page, centred on it.

        The page lies on its side where that gives a larger scale. `beyond` leaves out 1 : `beyond` and all larger.
        """
        scales = [scale for scale in SCALES if scale > beyond] or [SCALES[-1]]
        upright = _scale_on(points, margins_at, WIDEST_MM, HIGHEST_MM, scales)
        across = _scale_on(points, margins_at, ACROSS_WIDEST_MM, ACROSS_HIGHEST_MM, scales)
        scale, width = (across, ACROSS_WIDEST_MM) if across < upright else (upright, WIDEST_MM)
        margins = margins_at(scale)
        left, _, _, top = box_of(points)
        wide, high = _size(points, margins, scale)
        from_left = (width - wide) / 2 + margins.rows_left + margins.left
        foot = high - margins.bottom - margins.rows_below
        return cls(
            scale, left, top, from_left, margins.top, high,
            first_left=from_left - margins.left - 1.0, first_below=foot + margins.bottom + 4.6, width=width,
        )  # fmt: skip

    def at(self, point: Point) -> Point:
        """Where a point (u, v) of the surface lies on paper; y runs down."""
        return (
            self.left + (point[0] - self.left_u) / self.scale,
            self.top + (self.top_v - point[1]) / self.scale,
        )

    def back(self, paper: Point) -> Point:
        """The point (u, v) of the surface that lies there on paper."""
        return (
            self.left_u + (paper[0] - self.left) * self.scale,
            self.top_v - (paper[1] - self.top) * self.scale,
        )

    def has_room(self, box: tuple[float, float, float, float]) -> bool:
        """Whether words in a box (left, top, right, bottom) stay on the paper and off the dimensions below."""
        left, top, right, bottom = box
        return left >= 0 and top >= 0 and right <= self.width and bottom <= self.first_below - 4.0

    def all(self, points: Sequence[Point]) -> list[Point]:
        """Several points."""
        return [self.at(point) for point in points]


def _scale_on(
    points: Sequence[Point], margins_at: Callable[[int], Margins], widest: float, highest: float,
    scales: Sequence[int],
) -> int:  # fmt: skip
    """The largest scale at which it all fits; the smallest there is where none does."""
    for scale in scales:
        wide, high = _size(points, margins_at(scale), scale)
        if wide <= widest and high <= highest:
            return scale
    return scales[-1]


def _size(points: Sequence[Point], margins: Margins, scale: int) -> Point:
    """How wide and high the points and their margins come out on paper."""
    left, bottom, right, top = box_of(points)
    return (
        (right - left) / scale + margins.left + margins.rows_left + margins.right,
        (top - bottom) / scale + margins.top + margins.bottom + margins.rows_below,
    )


def lies_across(drawing: bytes) -> bool:
    """Whether a drawing wants a page on its side."""
    return f'width="{ACROSS_WIDEST_MM:g}mm"'.encode() in drawing[:200]


def height_mm(drawing: bytes) -> float:
    """How high a finished drawing is on paper; ValueError where it does not say."""
    said = re.match(rb'<svg[^>]* height="([\d.]+)mm"', drawing)
    if said is None:
        raise ValueError("The drawing does not say how high it is.")
    return float(said[1])
