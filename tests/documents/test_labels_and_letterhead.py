"""Labels of the pieces, the code on the cover, and the firm's logo on its paper."""

import io
import re
from dataclasses import replace

import pytest
from PIL import Image
from pypdf import PdfReader

from api_schema.standard import Standard
from tests.documents import example_plan as example
from workers.documents import (
    Letterhead,
    draw_surface,
    render_cut_labels,
    render_order,
    render_quote,
    render_site_pack,
)
from workers.documents.qr import draw_qr

PAGE = "https://office.example.com/jobs/job_4Zk0c7tQm2"


def words(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def logo() -> Letterhead:
    out = io.BytesIO()
    Image.new("RGB", (60, 20), (31, 92, 87)).save(out, "PNG")
    return Letterhead(out.getvalue())


def test_each_piece_has_one_label_in_the_order_of_the_cutting() -> None:
    pdf = render_cut_labels(example.JOB, example.PLAN, example.PROFILE, made_at=example.MADE_AT)
    text, at = words(pdf), 0
    cut = [
        (roll.roll, number, name)
        for roll in example.PLAN.cut_list.rolls
        for number, cut in enumerate(roll.cuts, start=1)
        for name in cut.pieces
    ]
    for roll, number, name in cut:
        surface, _, piece = name.rpartition("/")
        found = re.compile(rf"{piece} {surface} \d+ marks.*?roll {roll}, cut {number}\b").search(text, at)
        assert found is not None, name
        at = found.start() + 1
    assert len(re.findall(r"\broll \d+, cut \d+", text)) == len(cut) > 0
    assert len(PdfReader(io.BytesIO(pdf)).pages) == -(-len(cut) // 24)


def test_a_full_sheet_holds_twenty_four_labels() -> None:
    rolls = example.PLAN.cut_list.rolls * 20
    plan = replace(example.PLAN, cut_list=replace(example.PLAN.cut_list, rolls=rolls))
    pdf = render_cut_labels(example.JOB, plan, example.PROFILE, made_at=example.MADE_AT)
    counts = [len(re.findall(r"cut \d+", page.extract_text())) for page in PdfReader(io.BytesIO(pdf)).pages]
    assert len(counts) > 2
    assert set(counts[:-1]) == {24}


def test_the_cover_s_code_leads_to_the_job_s_page_and_stays_away_where_there_is_none() -> None:
    def pack(page: str) -> bytes:
        return render_site_pack(
            example.JOB, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT, job_page=page
        )

    with_code, without = pack(PAGE), pack("")
    assert "this job's page" in words(with_code).replace("’", "'")
    assert "this job's page" not in words(without).replace("’", "'")
    links = [
        annotation.get_object()["/A"]["/URI"]
        for annotation in PdfReader(io.BytesIO(with_code)).pages[0]["/Annots"]
        if "/A" in annotation.get_object()
    ]
    assert PAGE in links


def test_a_code_has_a_quiet_zone_and_as_many_modules_as_its_address_needs() -> None:
    svg = draw_qr(PAGE, 26, "Code", "en").decode()
    (path,) = re.findall(r' d="([^"]+)"', svg)
    corners = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)]
    low, high = min(x for x, _ in corners), max(x for x, _ in corners)
    module = low / 4
    assert high == pytest.approx(26 - low, abs=0.02)
    assert 33 <= round((high - low) / module) <= 41  # version 4 to 6 holds such an address at level Q


def test_the_logo_stands_on_quote_order_and_site_pack_with_the_firm_s_name_for_those_who_do_not_see_it() -> (
    None
):
    letterhead = logo()
    for made in (
        lambda head: render_quote(example.QUOTE, example.PROFILE, made_at=example.MADE_AT, letterhead=head),
        lambda head: render_order(example.ORDER, example.PROFILE, made_at=example.MADE_AT, letterhead=head),
        lambda head: render_site_pack(
            example.JOB, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT, letterhead=head
        ),
    ):
        with_logo, plain = made(letterhead), made(Letterhead())
        assert len(PdfReader(io.BytesIO(with_logo)).pages[0].images) == 1
        assert len(PdfReader(io.BytesIO(plain)).pages[0].images) == 0
        assert example.PROFILE.name in words(with_logo)
        assert with_logo == made(letterhead)


def test_drawings_that_are_there_already_are_not_drawn_again_and_give_the_same_pack(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    surfaces = {surface.id: surface for surface in example.JOB.surfaces}
    drawn = {
        layout.id: draw_surface(surfaces[layout.id], layout, example.SEALINGS, Standard(), 100)
        for layout in example.LAYOUTS
    }
    plain = render_site_pack(example.JOB, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT)
    monkeypatch.setattr("workers.documents.site_pack.surfaces.draw_surface", lambda *_, **__: 1 / 0)
    reused = render_site_pack(
        example.JOB, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT, drawings=drawn
    )
    assert reused == plain
