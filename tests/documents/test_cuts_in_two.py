"""Slanted cuts and splices on paper: labels, site pack and drawing say what the crew must know to cut and hang them."""

import io
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from pypdf import PdfReader

from api_schema.cut_list import CutList
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.layout import Layout
from api_schema.plan import Plan
from api_schema.price_book import Pack, PriceBook
from api_schema.slanted import SlantedPiece, slanted_pieces
from api_schema.standard import Standard
from api_schema.surface import Members, Surface
from tests.documents import example_plan as example
from workers.documents import draw_surface, render_cut_labels, render_site_pack
from workers.engine.plan import plan_job

BOTH = replace(default_standard(), slanted_cuts_allowed=True, splices_allowed=True)


def ten_metre_rolls() -> PriceBook:
    usual = default_price_book()
    return replace(
        usual,
        products=tuple(
            replace(one, packs=(Pack(Decimal(10), Decimal("60.00")),)) if one.code == "membrane-1500" else one
            for one in usual.products
            if one.code == "membrane-1500" or one.kind != "membrane"
        ),
    )


def gable(name: str, run: str) -> Surface:
    outline = ((0, 0), (8000, 0), (8000, 400), (4000, 5400), (0, 400))
    return Surface(name, "wall", outline, members=Members("up", 400), run=run)


def wall(name: str) -> Surface:
    outline = ((0, 0), (6300, 0), (6300, 1400), (0, 1400))
    return Surface(name, "wall", outline, members=Members("up", 600), run="across_members")


JOB = Job(
    "EX-7",
    (
        gable("gable-west", "across_members"),
        gable("gable-east", "across_members"),
        gable("gable-up", "along_members"),
        *(wall(f"w{number}") for number in range(1, 6)),
    ),
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(JOB, BOTH, default_outputs(), ten_metre_rolls())


@pytest.fixture(scope="module")
def labels(plan: Plan) -> str:
    said = words(render_cut_labels(JOB, plan, example.PROFILE, made_at=example.MADE_AT))
    return said.replace("- ", "-")  # a name may be broken at its hyphen


@pytest.fixture(scope="module")
def pack(plan: Plan) -> str:
    said = words(render_site_pack(JOB, plan, BOTH, example.PROFILE, made_at=example.MADE_AT))
    return said.replace("- ", "-").replace("/ ", "/")  # or behind the stroke in the middle


def words(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def slanted(plan: Plan) -> dict[str, SlantedPiece]:
    found = slanted_pieces(plan.layout, plan.cut_list)
    assert {one.turned for one in found.values()} == {True, False}
    assert {one.long_edge for one in found.values()} >= {"lower", "left", "right"}
    return found


def on_the_roll(one: SlantedPiece, layout: Layout, cut_list: CutList) -> tuple[int, int]:
    """Lengths of a piece along the near and the far edge as it lies, from the cut list alone."""
    cut = cut_list.rolls[one.roll - 1].cuts[one.cut - 1]
    (line,) = [pair for pair in cut.slanted if one.piece in pair.pieces]
    extents = {
        piece.id: piece.to_mm - piece.from_mm
        for surface in layout.surfaces
        for strip in surface.strips
        for piece in strip.pieces
    }
    if one.left:
        start = max(line.near_mm, line.far_mm) - extents[one.piece]
        return line.near_mm - start, line.far_mm - start
    stop = min(line.near_mm, line.far_mm) + extents[one.piece]
    return stop - line.near_mm, stop - line.far_mm


def test_the_edges_as_they_hang_are_those_on_the_roll_turned_half_round_but_never_over(plan: Plan) -> None:
    """Face up with its start to the left, a strip across has its lower edge near, a strip up its right edge."""
    for name, one in slanted(plan).items():
        surface = next(s for s in plan.layout.surfaces if s.id == name.rpartition("/")[0])
        near_edge, far_edge = ("right", "left") if surface.direction == "up" else ("lower", "upper")
        near, far = on_the_roll(one, plan.layout, plan.cut_list)
        if one.turned:
            near, far = far, near
        hung = {near_edge: near, far_edge: far}
        assert hung == {one.long_edge: one.long_mm, one.short_edge: one.short_mm}, name
        assert one.long_mm > one.short_mm > 0
        assert slanted(plan)[one.partner].partner == name


def test_a_slanted_piece_s_label_names_its_edges_its_partner_and_whether_it_is_turned(
    plan: Plan, labels: str
) -> None:
    for name, one in slanted(plan).items():
        surface, _, short = name.rpartition("/")
        found = re.search(rf"{short} {surface} .*?roll {one.roll}, cut {one.cut}\b", labels)
        assert found is not None, name
        label = found[0]
        assert f"{one.long_mm} {one.long_edge}, {one.short_mm} {one.short_edge} edge" in label
        same = one.partner.rpartition("/")[0] == surface
        partner = one.partner.rpartition("/")[2] if same else one.partner
        assert f"slanted at its {one.at}, from one cut with {partner}" in label
        assert ("turned half round, never over" in label) == one.turned


def test_the_site_pack_says_how_a_slanted_piece_is_cut_and_how_it_hangs(plan: Plan, pack: str) -> None:
    for name, one in slanted(plan).items():
        edges = f"{one.long_edge} edge {one.long_mm}, {one.short_edge} edge {one.short_mm}, slanted at its {one.at}"
        assert f"{name.rpartition('/')[2]}: {edges}. It comes from one cut with {one.partner}" in pack
        assert f"{name}: {edges}" in pack
        if one.turned:
            assert f"{name} lies turned half round, never turned over" in pack


def test_parts_are_labelled_with_the_roll_of_the_other_part(plan: Plan, labels: str) -> None:
    spliced = plan.cut_list.spliced
    assert spliced is not None
    rolls = {name: roll.roll for roll in plan.cut_list.rolls for cut in roll.cuts for name in cut.pieces}
    for one in spliced.splices:
        surface, _, short = one.piece.rpartition("/")
        first, second = one.parts
        for number, part, other in ((1, first, second), (2, second, first)):
            label = f"part {number} of {short}; {other.rpartition('/')[2]} comes from roll {rolls[other]}"
            assert re.search(rf"{part.rpartition('/')[2]} {surface} .{{0,60}}{re.escape(label)}", labels)


def test_the_site_pack_hangs_the_parts_in_order_and_says_where_they_lap(plan: Plan, pack: str) -> None:
    spliced = plan.cut_list.spliced
    assert spliced is not None
    for one in spliced.splices:
        short = one.piece.rpartition("/")[2]
        assert (
            f"{short} is spliced: hang {short}.1, then {short}.2 over its end by 100 mm on the member "
            f"{one.member_mm} mm from the start of {short}.1"
        ) in pack  # these strips start at zero
        assert f"{one.parts[0]} is part 1 of {one.piece}; its other part, {one.parts[1]}" in pack
        at = [pack.index(f"1 {short}.{number} ") for number in (1, 2)]
        assert at == sorted(at)


def drawn(plan: Plan, surface: Surface) -> str:
    layout = next(one for one in plan.layout.surfaces if one.id == surface.id)
    return draw_surface(surface, layout, (), BOTH, 100).decode()


def test_a_drawing_shows_the_splice_and_explains_it_in_its_key(plan: Plan) -> None:
    assert plan.cut_list.spliced is not None
    here = {one.piece.rpartition("/")[0] for one in plan.cut_list.spliced.splices}
    for surface in JOB.surfaces:
        svg = drawn(plan, surface)
        assert ("splice to tape" in svg) == (surface.id in here)
        assert ('stroke-dasharray="1.6 0.5"' in svg) == (surface.id in here)


def test_nothing_is_said_of_either_where_neither_is_allowed() -> None:
    plain = plan_job(JOB, Standard(), default_outputs(), ten_metre_rolls())
    said = words(render_cut_labels(JOB, plain, example.PROFILE, made_at=example.MADE_AT))
    said += words(render_site_pack(JOB, plain, Standard(), example.PROFILE, made_at=example.MADE_AT))
    assert "slanted at its" not in said
    assert "is spliced" not in said
    assert "part 1 of" not in said
