from dataclasses import replace
from decimal import Decimal

from api_schema.layout import Lap, Layout, SurfaceLayout
from tests.engine.pressure.house import JOB, TAKE_OFF
from workers.engine.pressure.walk_round import walk_round


def items(kind, surface=None, **more):
    return [
        item
        for each in walk_round(JOB, TAKE_OFF, **more).surfaces
        for item in each.items
        if item.kind == kind and surface in (None, each.surface)
    ]


def test_every_penetration_opening_edge_and_corner_has_one_line():
    assert [item.what for item in items("penetration")] == [
        "p1: pipe, 110 mm, taped in strips",
        "c1: cable, 9 mm, 3 alike, collar",
        "f1: flue, 150 mm, non-combustible closure",
    ]
    assert [item.what for item in items("opening")] == ["Window w1", "Door d1", "Hatch h1"]
    assert [item.what for item in items("edge", "north")] == [
        "Lower edge, 5000 mm, on slab",
        "Left edge, 2500 mm, on timber",
    ]
    assert len(items("corner")) == len(JOB.junctions)


def test_a_flue_is_never_to_be_taped():
    assert "no membrane, tape or rubber" in items("penetration", "ceiling")[0].look_for


def test_laps_are_listed_where_the_layout_is_known():
    lap = Lap(
        id="north/1-2",
        at_mm=1300,
        overlap_mm=100,
        spans_mm=((0, 5000),),
        length_m=Decimal("5.00"),
        on_member=False,
    )
    layout = SurfaceLayout("north", "across_members", "across", Decimal(1), Decimal(1), True, (), (lap,), ())
    found = items("lap", layout=Layout((layout,), Decimal(1), Decimal(1), True))
    assert [item.what for item in found] == ["Lap 1-2, 5.00 m"]
    assert not items("lap")


def test_appliances_come_first():
    assert walk_round(JOB, TAKE_OFF).before[0].what == "Combustion appliances"


def test_an_edge_is_named_as_it_is_seen_whichever_way_its_outline_runs():
    named = [item.what for item in items("edge", "north")]
    north = next(surface for surface in JOB.surfaces if surface.id == "north")
    count = len(north.outline_mm)
    mirrored = replace(
        north,
        outline_mm=north.outline_mm[::-1],
        edges=tuple(replace(end, edge=(count - 2 - end.edge) % count) for end in north.edges),
    )
    job = replace(JOB, surfaces=(mirrored,), junctions=())
    found = walk_round(job, TAKE_OFF).surfaces[0].items
    assert [item.what for item in found if item.kind == "edge"] == named
