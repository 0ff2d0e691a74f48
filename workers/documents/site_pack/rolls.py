"""Rolls: which surfaces they serve, and how each is cut, with a bar of the roll to scale."""

from __future__ import annotations

from collections import Counter
from typing import Any

from api_schema.cut_list import Cut, Roll, SlantedCut
from workers.documents.drawing import sheet as look
from workers.documents.drawing.pen import Pen, text_width
from workers.documents.drawing.slanted import draw_slanted
from workers.documents.drawing.strips import counted
from workers.documents.site_pack.pack import Pack

_BAR_HEIGHT, _TYPE = 11.0, 3.2


def roll_blocks(pack: Pack) -> list[dict[str, Any]]:
    """What the cover and the cut list print of each roll; its bar goes to the pack's assets."""
    return [_block(pack, roll) for roll in pack.plan.cut_list.rolls]


def kept_rows(pack: Pack) -> list[tuple[int, str]]:
    """Offcuts worth keeping, a row a roll; alike ones counted."""
    by_roll: dict[int, Counter[str]] = {}
    for kept in sorted(pack.plan.cut_list.kept, key=lambda one: (one.roll, -one.width_mm, -one.length_mm)):
        size = f"{pack.formats.metres(kept.length_mm)} m × {kept.width_mm} mm"
        by_roll.setdefault(kept.roll, Counter())[size] += 1
    return [
        (roll, "; ".join(f"{count} × ({size})" if count > 1 else size for size, count in sizes.items()))
        for roll, sizes in by_roll.items()
    ]


def _block(pack: Pack, roll: Roll) -> dict[str, Any]:
    texts, formats = pack.texts, pack.formats
    served = dict.fromkeys(piece.rpartition("/")[0] for cut in roll.cuts for piece in cut.pieces)
    bar = f"roll-{roll.roll}.svg"
    pack.assets[bar] = _bar(roll, texts.language, texts("pack.bar_alt", number=roll.roll))
    return {
        "number": roll.roll,
        "what": texts("pack.roll_what", product=pack.product(roll.product), length=formats.metres(roll.length_mm, 1)),
        "state": texts("pack.from_stock") if roll.from_stock else "",
        "surfaces": [{"name": name, "anchor": pack.anchors[name]} for name in served],
        "left": f"{formats.metres(roll.remnant_mm)} m" if roll.remnant_mm else texts("pack.nothing"),
        "bar": bar,
        "alt": texts("pack.bar_alt", number=roll.roll),
        "cuts": [
            {
                "marks": counted(cut.length_mm, texts),
                "to": f"{formats.metres(cut.at_mm + cut.length_mm)} m",
                "gives": _gives(pack, cut),
                "sketches": _sketches(pack, f"roll-{roll.roll}-cut-{number}", cut),
            }
            for number, cut in enumerate(roll.cuts, start=1)
        ],
    }  # fmt: skip


def _gives(pack: Pack, cut: Cut) -> list[str]:
    """What comes of a cut, a line a statement."""
    gives = [
        pack.texts("pack.lane", width=lane.width_mm, pieces=", ".join(lane.pieces)) for lane in cut.lanes
    ]
    slants = [
        pack.texts(
            "pack.slanted_turned" if one.turned else "pack.slanted",
            left=one.pieces[0],
            right=one.pieces[1],
            near=one.near_mm,
            far=one.far_mm,
            turned=", ".join(one.turned),
        )
        for one in cut.slanted
    ]
    sides = [as_it_hangs(pack, name, name) for one in cut.slanted for name in one.pieces]
    parts = [
        pack.texts(
            "splice.part",
            part=name,
            number=part.number,
            piece=part.piece,
            other=part.other,
            roll=part.other_roll,
        )
        for name in cut.pieces
        if (part := pack.parts.get(name)) is not None
    ]
    return ["; ".join(gives or [", ".join(cut.pieces)]), *slants, *sides, *parts]


def as_it_hangs(pack: Pack, name: str, called: str) -> str:
    """The edges of a slanted piece as it hangs."""
    one, texts = pack.slanted[name], pack.texts
    return texts(
        "slanted.piece",
        piece=called,
        long_edge=texts(f"edge.{one.long_edge}"),
        long_mm=one.long_mm,
        short_edge=texts(f"edge.{one.short_edge}"),
        short_mm=one.short_mm,
        at=texts(f"end.{one.at}"),
    )


def _sketches(pack: Pack, name: str, cut: Cut) -> list[dict[str, str]]:
    """A sketch of each slanted cut; they go to the pack's assets."""
    found = []
    for number, one in enumerate(cut.slanted):
        asset = f"{name}-{number}.svg"
        pack.assets[asset] = draw_slanted(one, pack.slanted, pack.texts, wide=66, high=17)
        alt = pack.texts("slanted.alt", left=one.pieces[0], right=one.pieces[1])
        found.append({"asset": asset, "alt": alt})
    return found


def _bar(roll: Roll, language: str, title: str) -> bytes:
    """The roll unrolled, to the length of the page: cuts in order, ripped lanes side by side, the rest pale."""
    pen = Pen()
    along, across = look.WIDEST_MM / roll.length_mm, _BAR_HEIGHT / roll.width_mm
    frame = _rectangle(0, 0, look.WIDEST_MM, _BAR_HEIGHT)
    pen.shape([frame], fill="#eef0f2")
    for index, cut in enumerate(roll.cuts):
        left, wide = cut.at_mm * along, cut.length_mm * along
        lanes = [(lane.width_mm, lane.pieces) for lane in cut.lanes] or [(roll.width_mm, cut.pieces)]
        top = 0.0
        for width_mm, pieces in lanes:
            high = width_mm * across
            pen.shape(
                [_rectangle(left, top, wide, high)],
                fill=look.TINTS[index % 2],
                stroke=look.INK,
                stroke_width=look.THIN,
            )
            _name(pen, str(index + 1), list(pieces), left, top, _clear_of_slants(cut) * along, high)
            top += high
        for one in cut.slanted:
            _slant(pen, cut, one, roll, along, across)
    pen.shape([frame], fill="none", stroke=look.INK, stroke_width=0.35)
    return pen.svg(look.WIDEST_MM, _BAR_HEIGHT, title, language)


def _clear_of_slants(cut: Cut) -> int:
    """How far from its start a cut's bar is clear of slanting lines, to be written on."""
    return min((min(one.near_mm, one.far_mm) for one in cut.slanted), default=cut.length_mm)


def _slant(pen: Pen, cut: Cut, one: SlantedCut, roll: Roll, along: float, across: float) -> None:
    """The slanted cut in its lane; the far edge is the upper one of the bar."""
    top, high = 0, roll.width_mm
    for lane in cut.lanes:
        if one.pieces[0] in lane.pieces:
            high = lane.width_mm
            break
        top += lane.width_mm
    near, far = ((cut.at_mm + at) * along for at in (one.near_mm, one.far_mm))
    pen.lines([[(near, (top + high) * across), (far, top * across)]], stroke=look.INK, stroke_width=0.35)


def _name(pen: Pen, cut: str, pieces: list[str], left: float, top: float, wide: float, high: float) -> None:
    """The cut's number, and its pieces' names where they fit; the table under the bar names them all."""
    x, y = left + wide / 2, top + high / 2
    surface, _, piece = pieces[0].rpartition("/")
    named = f"{cut}: {piece}"
    if len(pieces) == 1 and high >= 8 and max(text_width(surface, _TYPE), text_width(named, 3.4)) < wide - 1:
        pen.text((x, y - 1.8), named, 3.4, bold=True, fill=look.INK)
        pen.text((x, y + 2.0), surface, _TYPE, fill=look.INK)
    elif high >= 3 and text_width(cut, _TYPE) < wide:
        pen.text((x, y), cut, _TYPE, bold=True, fill=look.INK)


def _rectangle(left: float, top: float, wide: float, high: float) -> list[tuple[float, float]]:
    return [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]
