"""An invented one-room job with its take-off written by hand: two walls and a ceiling, a window, a door, pipes."""

from decimal import Decimal

from api_schema.job import EdgeReference, Job, Junction, Target
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from api_schema.take_off import AreaTotals, Quantity, Sealing, SurfaceAreas, SurfaceQuantity, TakeOff

MEMBERS = Members("up", 400)
NORTH = Surface(
    "north", "wall", ((0, 0), (5000, 0), (5000, 2500), (0, 2500)), MEMBERS, "living",
    edges=(EdgeFinish(0, "slab"), EdgeFinish(3, "timber")),
    openings=(Opening("w1", "window", ((1000, 900), (2200, 900), (2200, 2100), (1000, 2100))),),
    penetrations=(
        Penetration("p1", "pipe", (4000, 300), 110),
        Penetration("c1", "cable", (400, 1200), 9, free_end=True, count=3),
    ),
)  # fmt: skip
EAST = Surface(
    "east", "wall", ((0, 0), (4000, 0), (4000, 2500), (0, 2500)), MEMBERS, "living",
    edges=(EdgeFinish(0, "slab"), EdgeFinish(1, "masonry")),
    openings=(Opening("d1", "door", ((500, 0), (1500, 0), (1500, 2100), (500, 2100))),),
)  # fmt: skip
CEILING = Surface(
    "ceiling", "ceiling", ((0, 0), (5000, 0), (5000, 4000), (0, 4000)), MEMBERS, "living",
    openings=(Opening("h1", "hatch", ((1000, 1000), (1700, 1000), (1700, 1700), (1000, 1700))),),
    penetrations=(Penetration("f1", "flue", (3000, 3000), 150),),
)  # fmt: skip
JOB = Job(
    "PX-015",
    (NORTH, EAST, CEILING),
    (
        Junction(EdgeReference("north", 1), EdgeReference("east", 3)),
        Junction(EdgeReference("north", 2), EdgeReference("ceiling", 0)),
        Junction(EdgeReference("east", 2), EdgeReference("ceiling", 1)),
    ),
    title="Invented one-room house",
    target=Target(n50_per_h=Decimal("1.5")),
    volume_m3=Decimal("50"),
)


def _areas(name, gross, openings):
    gross, openings = Decimal(gross), Decimal(openings)
    return SurfaceAreas(name, gross, gross - openings, openings, gross - openings, gross)


def _metres(item, **by_surface):
    parts = tuple(SurfaceQuantity(surface, Decimal(metres)) for surface, metres in by_surface.items())
    return Quantity(item, sum((part.quantity for part in parts), Decimal(0)), "m", parts)


TAKE_OFF = TakeOff(
    surfaces=(_areas("north", "12.50", "1.44"), _areas("east", "10.00", "2.10"), _areas("ceiling", "20.00", "0.49")),
    totals=AreaTotals(*(Decimal(each) for each in ("42.50", "38.47", "4.03", "38.47", "42.50", "45.00"))),
    quantities=(
        _metres("slab_edge", north="5.00", east="3.00"),
        _metres("masonry_edge", east="2.50"),
        _metres("timber_edge", north="2.50"),
        _metres("opening_perimeter", north="4.80", east="5.20", ceiling="2.80"),
    ),
    penetrations=(
        Sealing("north", "p1", "taped", 1),
        Sealing("north", "c1", "collar", 3, "collar-cable"),
        Sealing("ceiling", "f1", "non_combustible", 1),
    ),
)  # fmt: skip
