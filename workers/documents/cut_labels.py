"""A label a piece, to stick on it as it is cut: what it is, where it goes, how long, from which roll.

Twenty-four to a sheet of A4, three across and eight down with nothing between them, so that they fit a common
label sheet and are quickly cut apart from plain paper. They come in the order of the cutting.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from api_schema.account import Profile
from api_schema.cut_list import Cut
from api_schema.job import Job
from api_schema.layout import Piece
from api_schema.plan import Plan
from api_schema.slanted import SlantedPiece, slanted_pieces
from api_schema.spliced import SplicedPart, spliced_parts
from api_schema.surface import Surface
from workers.documents.drawing.pen import text_width
from workers.documents.drawing.slanted import draw_slanted
from workers.documents.drawing.strips import counted, short_name
from workers.documents.pages import page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

PER_SHEET = 24
_ACROSS = 3
_WIDE_MM = 60.0  # of the writing on a label
_SKETCH_MM = 20.0
_PIECE_MM, _NAME_MM, _FROM_MM = 9.5, 4.6, 3.5  # sizes of type: 27, 13 and 10 points


def render_cut_labels(job: Job, plan: Plan, profile: Profile, *, made_at: datetime.datetime) -> bytes:
    """The labels of every piece as PDF, A4, roll by roll; the same input gives the same bytes. Raises `DocumentError`.

    `plan` must be the plan of `job`. `made_at` is an aware time and the only one the file carries.
    """
    texts = Texts(profile.language)
    assets: dict[str, bytes] = {}
    labels = _labels(job, plan, texts, assets)
    rows = [labels[at : at + _ACROSS] for at in range(0, len(labels), _ACROSS)]
    down = PER_SHEET // _ACROSS
    html = page(
        "cut_labels.html",
        title=texts("labels.title", reference=job.reference),
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        sheets=[rows[at : at + down] for at in range(0, len(rows), down)],
        across=_ACROSS,
    )
    return to_pdf(html, assets, made_at)


def _labels(job: Job, plan: Plan, texts: Texts, assets: dict[str, bytes]) -> list[dict[str, Any]]:
    pieces = {
        piece.id: piece
        for layout in plan.layout.surfaces
        for strip in layout.strips
        for piece in strip.pieces
    }
    labels = _Labels(
        {surface.id: surface for surface in job.surfaces},
        job.reference,
        slanted_pieces(plan.layout, plan.cut_list),
        spliced_parts(plan.cut_list),
        texts,
        assets,
    )
    return [
        labels.of(pieces[name], roll.roll, number, cut)
        for roll in plan.cut_list.rolls
        for number, cut in enumerate(roll.cuts, start=1)
        for name in cut.pieces
    ]


@dataclass(frozen=True, slots=True)
class _Labels:
    """What a label looks things up in; sketches of slanted cuts collect in `assets`."""

    surfaces: dict[str, Surface]
    reference: str
    slanted: dict[str, SlantedPiece]
    parts: dict[str, SplicedPart]
    texts: Texts
    assets: dict[str, bytes]

    def of(self, piece: Piece, roll: int, number: int, cut: Cut) -> dict[str, Any]:
        """What the label of one piece prints."""
        texts, slanted = self.texts, self.slanted.get(piece.id)
        surface = self.surfaces[piece.id.rpartition("/")[0]]
        origin = self._origin(surface, texts("labels.roll", roll=roll, cut=number))
        return {
            "piece": short_name(piece.id),
            "surface": surface.id,
            "marks": counted(piece.cut_length_mm if slanted is None else slanted.long_mm, texts),
            "size": self._size(piece, slanted, ripped=bool(cut.lanes)),
            "note": self._note(piece, slanted),
            "sketch": "" if slanted is None else self._sketch(piece.id, cut),
            "sketch_alt": "" if slanted is None else self._alt(slanted),
            "is_long": self._is_long(short_name(piece.id), surface.id, origin, slanted=slanted is not None),
            "origin": origin,
        }  # fmt: skip

    @staticmethod
    def _is_long(piece: str, surface: str, origin: str, *, slanted: bool) -> bool:
        """Whether the words want more lines than usual, so that the surface's name stands below the piece's."""
        beside = _WIDE_MM - 3 - (_SKETCH_MM if slanted else 0.0)
        name = text_width(piece, _PIECE_MM) + text_width(surface, _NAME_MM)
        return name > beside or text_width(origin, _FROM_MM) > _WIDE_MM

    def _origin(self, surface: Surface, roll: str) -> str:
        """Which cut of which roll, for which job and, where it finds room on the line, which room."""
        words = f"{roll} · {self.reference}"
        with_room = f"{words} · {surface.room}"
        return with_room if surface.room and text_width(with_room, _FROM_MM) < _WIDE_MM else words

    def _size(self, piece: Piece, slanted: SlantedPiece | None, *, ripped: bool) -> str:
        if slanted is not None:
            return self.texts(
                "slanted.size",
                long_mm=slanted.long_mm,
                long_edge=self.texts(f"edge.{slanted.long_edge}"),
                short_mm=slanted.short_mm,
                short_edge=self.texts(f"edge.{slanted.short_edge}"),
                width=piece.cut_width_mm,
            )
        size = f"{piece.cut_length_mm} × {piece.cut_width_mm}"
        return self.texts("labels.rip" if ripped else "labels.size", size=size)

    def _note(self, piece: Piece, slanted: SlantedPiece | None) -> str:
        part = self.parts.get(piece.id)
        notes = []
        if slanted is not None:
            notes.append(
                self.texts(
                    "slanted.label_turned" if slanted.turned else "slanted.label",
                    at=self.texts(f"end.{slanted.at}"),
                    partner=_named_from(piece.id, slanted.partner),
                )
            )
        if part is not None:
            notes.append(
                self.texts(
                    "splice.label",
                    number=part.number,
                    piece=short_name(part.piece),
                    other=short_name(part.other),
                    roll=part.other_roll,
                )
            )
        return "; ".join(notes)

    def _alt(self, slanted: SlantedPiece) -> str:
        pair = (slanted.piece, slanted.partner)
        left, right = pair if slanted.left else pair[::-1]
        return self.texts("slanted.alt", left=left, right=right)

    def _sketch(self, name: str, cut: Cut) -> str:
        one = next(one for one in cut.slanted if name in one.pieces)
        asset = f"slanted-{len(self.assets)}.svg"
        self.assets[asset] = draw_slanted(one, self.slanted, self.texts, wide=_SKETCH_MM, high=6, mine=name)
        return asset


def _named_from(name: str, other: str) -> str:
    """The other's short name where it lies on the same surface, else its whole name."""
    return short_name(other) if name.rpartition("/")[0] == other.rpartition("/")[0] else other
