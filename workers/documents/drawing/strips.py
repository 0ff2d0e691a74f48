"""The strips of a surface on paper: tints, laps, joints, pieces as cut, tags in laying order, lengths in marks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from api_schema.layout import Piece, Strip, SurfaceLayout
from workers.documents.drawing import sheet as look
from workers.documents.drawing.geometry import Point, RunFrame, clip_to_box, is_inside, spans_inside
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.places import Places, box_round
from workers.documents.drawing.sheet import Sheet
from workers.documents.texts import Texts

MARK_MM = 100
TAG_RADIUS, LEAST_RADIUS = 3.4, 2.0  # of a strip's number; smaller beside a strip that is narrow on paper
TAG_OFFSET = 9.0
_HATCH_STEP = 1.3  # millimetres of paper between the hatch lines of a lap


def counted(length_mm: int, texts: Texts) -> str:
    """A cut length counted in the sheet's 100 mm marks."""
    marks, rest = divmod(length_mm, MARK_MM)
    return texts("drawing.marks_and", marks=marks, rest=rest) if rest else texts("drawing.marks", marks=marks)


def short_name(identifier: str) -> str:
    """The part of a strip's or piece's name after its surface."""
    return identifier.rpartition("/")[2]


_LEADER_SIZE = 3.2
_ALONG = (0.5, 0.43, 0.57, 0.36, 0.64, 0.29, 0.71, 0.22, 0.78, 0.15, 0.85, 0.08, 0.92)


class StripsOnPaper:
    """Draws one layout; every ring and span it holds is in run coordinates."""

    def __init__(
        self, layout: SurfaceLayout, outline: list[Point], holes: list[list[Point]], sheet: Sheet
    ) -> None:
        self.layout = layout
        self.frame = RunFrame.of(layout.direction)
        self.sheet = sheet
        self.outline = [self.frame.to_run(point) for point in outline]
        self.rings = [self.outline, *[[self.frame.to_run(point) for point in hole] for hole in holes]]

    def _paper(self, s: float, t: float) -> Point:
        return self.sheet.at(self.frame.to_surface((s, t)))

    def _ring(self, s_from: float, s_to: float, t_from: float, t_to: float) -> list[Point]:
        corners = ((s_from, t_from), (s_to, t_from), (s_to, t_to), (s_from, t_to))
        return [self._paper(s, t) for s, t in corners]

    def tints(self, pen: Pen) -> None:
        """What each strip covers of the surface, tinted in turn; openings are drawn over it later."""
        for index, strip in enumerate(self.layout.strips):
            covered = [
                clip_to_box(self.outline, (piece.from_mm, strip.from_mm, piece.to_mm, strip.to_mm))
                for piece in strip.pieces
            ]
            rings = [[self._paper(*run) for run in ring] for ring in covered]
            pen.shape(rings, fill=look.TINTS[index % 2], stroke="none")

    def pieces_as_cut(self, pen: Pen) -> None:
        """The rectangle that is cut for each piece, dashed: it shows what hangs past the outline."""
        rings = [
            self._ring(piece.from_mm, piece.to_mm, strip.from_mm, strip.to_mm)
            for strip in self.layout.strips
            for piece in strip.pieces
        ]
        pen.shape(rings, fill="none", stroke=look.CUT, stroke_width=look.THIN, stroke_dasharray="1.6 0.8")

    def laps(self, pen: Pen, places: Places) -> None:
        """Every lap hatched and its joint line heavy, end laps as well; nothing may be written on them."""
        hatch: list[list[Point]] = []
        joints: list[list[Point]] = []
        splices: list[list[Point]] = []
        for lap in self.layout.laps:
            for s_from, s_to in lap.spans_mm:
                hatch += self._hatched(s_from, s_to, lap.at_mm, lap.at_mm + lap.overlap_mm)
                joints.append([self._paper(s_from, lap.at_mm), self._paper(s_to, lap.at_mm)])
                middle = lap.at_mm + lap.overlap_mm / 2
                band = [self._paper(s_from, middle), self._paper(s_to, middle)]
                places.take_line(band, lap.overlap_mm / self.sheet.scale)
        for strip in self.layout.strips:
            for end_lap in strip.end_laps:
                hatch += self._hatched(end_lap.from_mm, end_lap.to_mm, strip.from_mm, strip.to_mm)
                (splices if end_lap.splice else joints).extend(
                    [self._paper(end_lap.from_mm, t) for t in span]
                    for span in self._across(end_lap.from_mm, strip)
                )
        for joint in (*joints, *splices):
            places.take_line(joint, look.JOINT)
        pen.lines(hatch, stroke=look.LAP_HATCH, stroke_width=look.THIN)
        pen.lines(joints, stroke=look.JOINT_LINE, stroke_width=look.JOINT)
        pen.lines(splices, stroke=look.JOINT_LINE, stroke_width=look.JOINT, stroke_dasharray=look.SPLICE_DASH)

    def _hatched(self, s_from: float, s_to: float, t_from: float, t_to: float) -> list[list[Point]]:
        """Lines at 45 degrees through a band, each kept where its middle lies on the layer."""
        step = _HATCH_STEP * self.sheet.scale
        along_s = s_to - s_from >= t_to - t_from
        start, end, low, high = (s_from, s_to, t_from, t_to) if along_s else (t_from, t_to, s_from, s_to)
        lean = high - low
        lines = []
        for index in range(int((end - start + lean) / step) + 1):
            foot = start - lean + index * step
            first, last = max(start, foot), min(end, foot + lean)
            if last <= first:
                continue
            run = ((first, low + first - foot), (last, low + last - foot))
            if not along_s:
                run = ((run[0][1], run[0][0]), (run[1][1], run[1][0]))
            if is_inside(self.rings, ((run[0][0] + run[1][0]) / 2, (run[0][1] + run[1][1]) / 2)):
                lines.append([self._paper(*run[0]), self._paper(*run[1])])
        return lines

    def _across(self, s: float, strip: Strip) -> list[tuple[float, float]]:
        turned = [[(t, s_) for s_, t in ring] for ring in self.rings]
        spans = spans_inside(turned, s)
        return [
            (max(low, strip.from_mm), min(high, strip.to_mm))
            for low, high in spans
            if min(high, strip.to_mm) > max(low, strip.from_mm)
        ]

    def start_of(self, strip: Strip) -> Point:
        """Where the tag of a strip stands on paper: off the end it is hung from."""
        start = min(piece.from_mm for piece in strip.pieces)
        return self._paper(start - TAG_OFFSET * self.sheet.scale, (strip.from_mm + strip.to_mm) / 2)

    def _radius_of(self, index: int) -> float:
        """How large the tag of a strip may be that it keeps off its neighbours'."""
        strips = self.layout.strips
        middles = [(strip.from_mm + strip.to_mm) / 2 for strip in strips[max(0, index - 1) : index + 2]]
        nearest = min((abs(b - a) for a, b in pairwise(middles)), default=math.inf)
        return max(LEAST_RADIUS, min(TAG_RADIUS, nearest / self.sheet.scale / 2 - 0.1))

    def tags(self, pen: Pen, places: Places, texts: Texts) -> None:
        """A numbered tag at the start of each strip; the first is filled and says so."""
        for index, strip in enumerate(self.layout.strips):
            x, y = self.start_of(strip)
            first = index == 0
            radius = self._radius_of(index)
            pen.circle(
                (x, y),
                radius,
                fill=look.INK if first else look.PAPER,
                stroke=look.INK,
                stroke_width=0.35,
            )
            number = short_name(strip.id)
            size = 5.0 if len(number) < 3 and radius > 3 else 3.2
            pen.text((x, y), number, size, bold=True, fill=look.PAPER if first else look.INK)
            places.take(box_round(x, y, 2 * radius, 2 * radius))
            if first:
                self._start_arrow(pen, places, texts, (x, y))

    def _start_arrow(self, pen: Pen, places: Places, texts: Texts, tag: Point) -> None:
        x, y = tag
        words, size = texts("drawing.start"), 3.2
        width = text_width(words, size)
        spots = [(x, y + 5.2), (x, y - 5.2), (x + 3.8 + width / 2, y), (x - 3.8 - width / 2, y)]
        index = places.freest([box_round(at[0], at[1], width, size) for at in spots])
        pen.text(spots[index], words, size, bold=True, fill=look.INK)

    def lap_sizes(self, pen: Pen, places: Places) -> None:
        """The overlap of each lap at the strip's far end, end laps beside their band."""
        size = 3.3
        for lap in self.layout.laps:
            far = max(span[1] for span in lap.spans_mm)
            middle = lap.at_mm + lap.overlap_mm / 2
            words = str(lap.overlap_mm)
            width = text_width(words, size)
            spots = [
                self._paper(far + off * self.sheet.scale, middle + side * self.sheet.scale)
                for off in (5.0, 6.8, 8.4)
                for side in (0, 2.2, -2.2)
            ]
            index = places.freest([box_round(at[0], at[1], width, size) for at in spots])
            pen.text(spots[index], words, size, fill=look.INK)
            pen.lines(
                [
                    [
                        self._paper(far + 0.6 * self.sheet.scale, t),
                        self._paper(far + 2.2 * self.sheet.scale, t),
                    ]
                    for t in (lap.at_mm, lap.at_mm + lap.overlap_mm)
                ],
                stroke=look.INK,
                stroke_width=look.THIN,
            )

    def piece_labels(self, pen: Pen, places: Places, texts: Texts) -> None:
        """Name and length of each piece, counted in marks, in the largest way that finds a free spot on it."""
        for index, strip in enumerate(self.layout.strips):
            for piece in strip.pieces:
                self._piece_label(pen, places, texts, strip, piece, look.TINTS[index % 2])

    def _piece_label(
        self, pen: Pen, places: Places, texts: Texts, strip: Strip, piece: Piece, tint: str
    ) -> None:
        name, marks = short_name(piece.id), counted(piece.cut_length_mm, texts)
        second = [str(piece.cut_length_mm)]
        if strip.ripped_to_mm is not None:
            second.append(texts("drawing.rip", width=piece.cut_width_mm))
        two, one = [f"{name}: {marks}", " · ".join(second)], [f"{name}: {marks}"]
        three = [name, marks, *second]
        for lines, size, turned in (
            (two, 5.3, 0), (two, 4.4, 0), (two, 3.8, 0), (three, 3.8, 0), (two, 3.8, -90), (two, 3.2, 0),
            (one, 3.8, 0), (one, 3.2, 0), (two, 3.2, -90), (one, 3.2, -90), ([name], 3.2, 0),
        ):  # fmt: skip
            width = max(text_width(line, size) for line in lines) + 1.2
            height = size * 1.25 * len(lines) + 0.4
            box_width, box_height = (height, width) if turned else (width, height)
            for x, y in self._spots(strip, piece):
                box = box_round(x, y, box_width, box_height)
                if self._lies_on(strip, piece, box) and places.overlap(box) == 0:
                    places.take(box)
                    self._write(pen, (x, y), lines, size, turned, box, tint)
                    return
        self._beside(pen, places, strip, piece, one[0])

    def _beside(self, pen: Pen, places: Places, strip: Strip, piece: Piece, words: str) -> None:
        """The label of a piece too small to write on: off it, on a thin leader."""
        t = (strip.from_mm + strip.to_mm) / 2
        inside = [
            (max(start, piece.from_mm), min(end, piece.to_mm)) for start, end in spans_inside(self.rings, t)
        ]
        start, end = max(inside, key=lambda span: span[1] - span[0], default=(piece.from_mm, piece.to_mm))
        x, y = self._paper((start + end) / 2, t)
        width, height = text_width(words, _LEADER_SIZE) + 0.6, _LEADER_SIZE * 1.1
        spots = [
            (x + far * math.cos(turn * math.pi / 8), y + far * math.sin(turn * math.pi / 8))
            for far in (9.0, 13.0, 18.0, 24.0, 32.0)
            for turn in range(16)
        ]
        boxes = [box_round(*spot, width, height) for spot in spots]
        on_page = [index for index, box in enumerate(boxes) if self.sheet.has_room(box)] or list(
            range(len(boxes))
        )
        chosen = on_page[places.freest([boxes[index] for index in on_page])]
        left, top, right, bottom = boxes[chosen]
        near = (min(max(x, left), right), min(max(y, top), bottom))
        pen.lines([[(x, y), near]], stroke=look.INK, stroke_width=look.THIN)
        pen.circle((x, y), 0.5, fill=look.INK)
        pen.text(spots[chosen], words, _LEADER_SIZE, bold=True, fill=look.INK)

    def _spots(self, strip: Strip, piece: Piece) -> Iterator[Point]:
        for across in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88):
            t = strip.from_mm + across * (strip.to_mm - strip.from_mm)
            spans = [
                (max(start, piece.from_mm), min(end, piece.to_mm))
                for start, end in spans_inside(self.rings, t)
            ]
            for start, end in sorted(spans, key=lambda span: (span[0] - span[1], span[0])):
                if end > start:
                    for along in _ALONG:
                        yield self._paper(start + along * (end - start), t)

    def _lies_on(self, strip: Strip, piece: Piece, box: tuple[float, float, float, float]) -> bool:
        left, top, right, bottom = box
        for x in (left, (left + right) / 2, right):
            for y in (top, (top + bottom) / 2, bottom):
                s, t = self.frame.to_run(self.sheet.back((x, y)))
                on_piece = piece.from_mm <= s <= piece.to_mm and strip.from_mm <= t <= strip.to_mm
                if not (on_piece and is_inside(self.rings, (s, t))):
                    return False
        return True

    @staticmethod
    def _write(
        pen: Pen, middle: Point, lines: list[str], size: float, turned: float,
        box: tuple[float, float, float, float], tint: str,
    ) -> None:  # fmt: skip
        left, top, right, bottom = box
        pen.shape([[(left, top), (right, top), (right, bottom), (left, bottom)]], fill=tint, fill_opacity=0.9)
        for index, line in enumerate(lines):
            off = (index - (len(lines) - 1) / 2) * size * 1.25
            at = (middle[0] + off, middle[1]) if turned else (middle[0], middle[1] + off)
            pen.text(at, line, size, turned=turned, bold=index == 0, fill=look.INK)
