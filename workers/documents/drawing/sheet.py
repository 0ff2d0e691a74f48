"""From millimetres of the surface to millimetres of paper: scale, margins, line widths and colours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from workers.documents.drawing.geometry import Point, box_of

# ISO 5455 reduction scales from the one a reveal is drawn at to the one the longest allowed wall is drawn at.
SCALES = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)
WIDEST_MM, HIGHEST_MM = 190.0, 158.0  # what a page of the site pack leaves for a drawing

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
    def fitting(cls, points: Sequence[Point], margins_at: Callable[[int], Margins]) -> Sheet:
        """The largest scale of ISO 5455 at which these points and their margins go on a page, centred on it."""
        left, bottom, right, top = box_of(points)
        for scale in SCALES:
            margins = margins_at(scale)
            wide = (right - left) / scale + margins.left + margins.rows_left + margins.right
            high = (top - bottom) / scale + margins.top + margins.bottom + margins.rows_below
            if wide <= WIDEST_MM and high <= HIGHEST_MM:
                break
        from_left = (WIDEST_MM - wide) / 2 + margins.rows_left + margins.left
        foot = margins.top + (top - bottom) / scale
        return cls(
            scale, left, top, from_left, margins.top, high,
            first_left=from_left - margins.left - 1.0, first_below=foot + margins.bottom + 4.6,
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

    def all(self, points: Sequence[Point]) -> list[Point]:
        """Several points."""
        return [self.at(point) for point in points]
