"""Drawings as DXF and as sheets: read again by a program of their own, true to size, the same bytes every time."""

import io
import os
import subprocess
import sys
import zipfile
from collections import defaultdict
from decimal import Decimal
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.math import area
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from api_schema.job import Job
from api_schema.layout import SurfaceLayout
from api_schema.plan import Plan
from api_schema.standard import Standard
from api_schema.surface import Members, Surface
from tests.documents import example_plan as example
from workers.documents import Letterhead, draw_surface, render_drawing
from workers.documents.dxf import draw_surface_dxf
from workers.drawings import drawings_of, zip_of_drawings

PAIRS = list(zip(example.SURFACES, example.LAYOUTS, strict=True))
LAYERS = {"OUTLINE", "OPENINGS", "STRIPS", "LAPS", "MEMBERS", "PENETRATIONS", "TEXT", "DIMENSIONS"}


def read(surface: Surface, layout: SurfaceLayout) -> Drawing:
    return ezdxf.read(io.StringIO(draw_surface_dxf(surface, layout, reference="PX-001").decode()))


def areas_mm2(doc: Drawing) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    for line in doc.modelspace().query("LWPOLYLINE"):
        assert line.closed
        found[line.dxf.layer] += abs(area(line.vertices()))
    return found


@pytest.mark.parametrize(("surface", "layout"), PAIRS, ids=[one.id for one in example.SURFACES])
def test_a_file_is_read_again_without_a_fault_in_millimetres_on_its_layers(
    surface: Surface, layout: SurfaceLayout
) -> None:
    doc = read(surface, layout)
    audit = doc.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (4, 1)
    assert {layer.dxf.name for layer in doc.layers} == LAYERS | {"0", "Defpoints"}
    used = {thing.dxf.layer for thing in doc.modelspace()}
    assert {"OUTLINE", "STRIPS", "TEXT", "DIMENSIONS", "MEMBERS"} <= used <= LAYERS
    outline, thin = doc.layers.get("OUTLINE").dxf, doc.layers.get("MEMBERS").dxf
    assert outline.lineweight > 2 * thin.lineweight
    assert (outline.linetype.upper(), thin.linetype) == ("CONTINUOUS", "LONG_DASH_DOT")


def test_areas_are_those_of_the_take_off(planned_house: tuple[Job, Plan]) -> None:
    job, plan = planned_house
    surfaces = {surface.id: surface for surface in job.surfaces}
    measured = {one.id: one for one in plan.take_off.surfaces}
    for layout in plan.layout.surfaces:
        found = areas_mm2(read(surfaces[layout.id], layout))
        figures = measured[layout.id]
        gross, holes = (Decimal(round(found[name])) / 1_000_000 for name in ("OUTLINE", "OPENINGS"))
        assert abs(gross - figures.gross_m2) <= Decimal("0.005"), layout.id
        assert abs(gross - holes - figures.net_m2) <= Decimal("0.005"), layout.id


def test_pieces_and_penetrations_have_their_true_size() -> None:
    doc = read(example.WALL, example.WALL_LAYOUT)
    hung = sum(
        (piece.to_mm - piece.from_mm) * (strip.to_mm - strip.from_mm)
        for strip in example.WALL_LAYOUT.strips
        for piece in strip.pieces
    )
    assert areas_mm2(doc)["STRIPS"] == hung
    circles = {tuple(one.dxf.center)[:2]: one.dxf.radius for one in doc.modelspace().query("CIRCLE")}
    assert circles == {(5200, 300): 55, (2200, 1200): 4.5, (5200, 1900): 80}
    assert areas_mm2(doc)["PENETRATIONS"] == 100 * 200


def test_dimensions_measure_what_they_say() -> None:
    doc = read(example.GABLE, example.GABLE_LAYOUT)
    measured = sorted(round(one.get_measurement()) for one in doc.modelspace().query("DIMENSION"))
    assert measured == sorted([1499, 4802, 1499, 7800, 1050, 1350, 2400])


def test_every_piece_opening_and_penetration_is_named() -> None:
    words = " ".join(
        text.dxf.text for text in read(example.WALL, example.WALL_LAYOUT).modelspace().query("TEXT")
    )
    for said in ("PX-001", "living-north", "1a: 6300 × 1380", "2a: 6300 × 1300", "w1 window 1800 × 1200", "p1 Ø110", "s1 100 × 200"):  # fmt: skip
        assert said in words


@settings(max_examples=15)
@given(st.integers(300, 9000), st.integers(300, 6000), st.sampled_from(["up", "across", "37.5"]))
def test_any_rectangle_keeps_its_area(width: int, height: int, direction: str) -> None:
    surface = Surface(
        "any", "wall", ((0, 0), (width, 0), (width, height), (0, height)), Members(direction, 400)
    )
    doc = read(
        surface, SurfaceLayout("any", "across_members", "across", Decimal(0), Decimal(0), True, (), (), ())
    )
    assert areas_mm2(doc)["OUTLINE"] == width * height
    assert not doc.audit().errors


def sheet(surface: str = "living-north", letterhead: Letterhead | None = None) -> bytes:
    drawn = draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100)
    return render_drawing(
        drawn, surface, example.JOB, example.PLAN, example.PROFILE, revision=2, made_at=example.MADE_AT,
        letterhead=letterhead or Letterhead(),
    )  # fmt: skip


def test_a_sheet_is_one_page_of_a4_with_the_drawing_and_a_title_block() -> None:
    reader = PdfReader(io.BytesIO(sheet()))
    (page,) = reader.pages
    assert [round(float(side) / 72 * 25.4) for side in page.mediabox[2:]] == [210, 297]
    words = page.extract_text()
    for said in ("living-north", "Example house", "PX-001", "1 of 5", "25 November 2026", "Scale 1:50"):
        assert said in words
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_the_file_holds_each_surface_in_three_forms_and_is_the_same_again() -> None:
    drawn = drawings_of(example.JOB, example.PLAN, Standard())

    def zipped() -> bytes:
        return zip_of_drawings(
            example.JOB, example.PLAN, drawn, example.PROFILE, revision=1, made_at=example.MADE_AT,
            letterhead=Letterhead(),
        )  # fmt: skip

    made = zipped()
    assert made == zipped()
    with zipfile.ZipFile(io.BytesIO(made)) as file:
        assert file.testzip() is None
        assert file.namelist() == [
            f"{one.id}.{ending}" for one in example.LAYOUTS for ending in ("svg", "pdf", "dxf")
        ]
        for name, svg in drawn.items():
            assert file.read(f"{name}.svg") == svg
            assert len(PdfReader(io.BytesIO(file.read(f"{name}.pdf"))).pages) == 1


def test_the_library_writes_nothing_and_complains_of_nothing(tmp_path: Path) -> None:
    for kept in ("as it comes", "elsewhere"):
        home = tmp_path / kept
        home.mkdir()
        environment = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
        environment["HOME"] = str(home)
        if kept == "elsewhere":
            environment["XDG_CACHE_HOME"] = str(home / "cache")
        program = (
            "import os; before = dict(os.environ)\n"
            "from tests.documents import example_plan as example\n"
            "from workers.documents.dxf import draw_surface_dxf\n"
            "assert dict(os.environ) == before\n"
            "assert draw_surface_dxf(example.WALL, example.WALL_LAYOUT)\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", program],
            cwd=Path(__file__).parents[2],
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, "")
        assert not list(home.iterdir())
