"""Hand-made surfaces, layouts and cut lists, small enough to count on paper."""

from decimal import Decimal

from api_schema.cut_list import Cut, CutList, Roll
from api_schema.job import EdgeReference, Job, Junction
from api_schema.layout import EdgeAllowance, Lap, Layout, Piece, Strip, SurfaceLayout
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface

RECTANGLE = ((0, 0), (6200, 0), (6200, 2450), (0, 2450))
STUDS = Members("up", 400)


def rectangle(left, bottom, right, top):
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def window(name="w1", left=1800, bottom=900, right=3600, top=2100):
    return Opening(name, "window", rectangle(left, bottom, right, top))


def wall(name="north", outline=RECTANGLE, **more):
    return Surface(name, "wall", outline, more.pop("members", STUDS), **more)


def strip(name, band, spans, *, width=1500, end_laps=()):
    """A strip over `band` (t), its pieces over `spans` (s), cut to whole decimetres."""
    pieces = tuple(
        Piece(f"{name}{'abcdefgh'[index]}", low, high, -(-(high - low) // 100) * 100, width)
        for index, (low, high) in enumerate(spans)
    )
    return Strip(name, "membrane-1500", *band, pieces, end_laps=end_laps)


def laid(surface, strips, laps=(), *, run="across_members", direction="across", edges=()):
    return SurfaceLayout(
        surface, run, direction, Decimal(1), Decimal(1), True, tuple(strips), tuple(laps),
        tuple(EdgeAllowance(edge, role, 70) for edge, role in edges),
    )  # fmt: skip


def layout_of(*surfaces):
    return Layout(tuple(surfaces), Decimal(1), Decimal(1), True)


def lap(name, at, spans, overlap=100):
    length = Decimal(sum(end - start for start, end in spans)) / 1000
    return Lap(name, at, tuple(spans), length, False, overlap)


def covering(surface, margin=100, **more):
    """One strip that covers the whole of a surface's outline, as a hand-made layout."""
    us, vs = zip(*surface.outline_mm, strict=True)
    band, span = (min(vs) - margin, max(vs) + margin), (min(us) - margin, max(us) + margin)
    if more.get("direction", "across") == "up":
        band, span = span, band
    return laid(surface.id, [strip(f"{surface.id}/1", band, [span])], **more)


def cut_list_of(layout, roll_mm=50_000, from_stock=False):
    """Every piece from one long roll after another, in order."""
    cuts, rolls, at = [], [], 0
    for surface in layout.surfaces:
        for one in surface.strips:
            for piece in one.pieces:
                if at + piece.cut_length_mm > roll_mm:
                    rolls.append((tuple(cuts), roll_mm - at))
                    cuts, at = [], 0
                cuts.append(Cut(at, piece.cut_length_mm, (piece.id,)))
                at += piece.cut_length_mm
    if cuts:
        rolls.append((tuple(cuts), roll_mm - at))
    made = tuple(
        Roll(number, "membrane-1500", roll_mm, 1500, from_stock, cuts, rest)
        for number, (cuts, rest) in enumerate(rolls, start=1)
    )
    return CutList(made, len(made), len(made), Decimal(0), Decimal(0), True)


def sample_wall():
    """A wall on a slab under a timber plate, with a window, a door on the floor and five things through it."""
    return wall(
        edges=(EdgeFinish(0, "slab"), EdgeFinish(2, "timber")),
        openings=(window(), Opening("d1", "door", rectangle(4000, 0, 4900, 2100))),
        penetrations=(
            Penetration("p1", "pipe", (5200, 300), 110),
            Penetration("c1", "cable", (400, 1200), 9, free_end=True, count=3),
            Penetration("f1", "flue", (300, 2000), 150),
            Penetration("t1", "timber", (5500, 2000), None, 70, 220),
            Penetration("d2", "duct", (5500, 1000), 600, free_end=True),
        ),
    )


def sample_layout(name="north"):
    return laid(
        name,
        [
            strip(f"{name}/1", (-80, 1420), [(-20, 6220)]),
            strip(f"{name}/2", (1320, 2500), [(-20, 6220)], width=1180),
        ],
        [lap(f"{name}/1-2", 1320, [(0, 1800), (3600, 4000), (4900, 6200)])],
        edges=[(0, "slab"), (1, "stops"), (2, "timber"), (3, "stops")],
    )


def joined(a, a_edge, b, b_edge):
    return Junction(EdgeReference(a, a_edge), EdgeReference(b, b_edge))


def job_of(*surfaces, **more):
    return Job("sample", tuple(surfaces), **more)
