"""Slanted cuts and splices of a plan, for its pages: which edge is how long, and which roll holds the other part."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup, escape

from api_schema.cut_list import CutList
from api_schema.layout import Layout
from api_schema.shape import load
from api_schema.slanted import SlantedPiece, slanted_pieces
from api_schema.spliced import SplicedPart, spliced_parts

_WIDE, _HIGH = 200.0, 40.0


def slanted_in(plan: Mapping[str, Any]) -> dict[str, SlantedPiece]:
    """The slanted pieces of a plan's JSON, by name."""
    cuts = [cut for roll in plan["cut_list"]["rolls"] for cut in roll["cuts"]]
    if not any(cut.get("slanted") for cut in cuts):
        return {}
    return slanted_pieces(load(Layout, plan["layout"]), load(CutList, plan["cut_list"]))


def parts_in(plan: Mapping[str, Any]) -> dict[str, SplicedPart]:
    """The parts of a plan's spliced pieces, by name."""
    return spliced_parts(load(CutList, plan["cut_list"])) if plan["cut_list"].get("spliced") else {}


def slanted_picture(cut: Mapping[str, Any], pieces: Mapping[str, SlantedPiece]) -> Markup:
    """Both pieces of a slanted cut face up, the start of the roll to the left and the near edge below."""
    left, right = (pieces[name] for name in cut["pieces"])
    start = max(cut["near_mm"], cut["far_mm"]) - left.long_mm
    whole = min(cut["near_mm"], cut["far_mm"]) + right.long_mm - start
    near, far = ((cut[edge] - start) * _WIDE / whole for edge in ("near_mm", "far_mm"))
    names = escape(f"{left.piece} and {right.piece}, parted by a slanted cut")
    short = [escape(one.piece.rpartition("/")[2]) for one in (left, right)]
    middle = (near + far) / 2
    return Markup(  # noqa: S704 - names are escaped, the rest are numbers
        f'<svg class="pair" viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" aria-label="{names}">'
        f'<path class="strip-0" d="M0 0L{far:.1f} 0L{near:.1f} {_HIGH}L0 {_HIGH}Z"/>'
        f'<path class="strip-1" d="M{far:.1f} 0L{_WIDE} 0L{_WIDE} {_HIGH}L{near:.1f} {_HIGH}Z"/>'
        f'<path class="joint" d="M{near:.1f} {_HIGH}L{far:.1f} 0"/>'
        f'<text x="{middle / 2:.0f}" y="25" text-anchor="middle">{short[0]}</text>'
        f'<text x="{(middle + _WIDE) / 2:.0f}" y="25" text-anchor="middle">{short[1]}</text></svg>'
    )
