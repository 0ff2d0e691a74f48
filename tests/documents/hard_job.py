"""An invented job that is hard to set: names of every length, a wall full of penetrations, a long hall, small pieces."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from api_schema.account import Profile
from api_schema.job import Customer, Job
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, PenetrationKind, Surface

_KINDS: tuple[PenetrationKind, ...] = ("cable", "pipe", "duct", "cable", "timber", "steel", "flue")
_LONG = "north-elevation-lower-ground-floor-behind-the-plant-room"


def box(wide: int, high: int, right: int = 0, up: int = 0) -> tuple[tuple[int, int], ...]:
    return ((right, up), (right + wide, up), (right + wide, up + high), (right, up + high))


def _hole(number: int) -> Penetration:
    kind = _KINDS[number % len(_KINDS)]
    at = (350 + number % 20 * 460, 260 + number // 20 * 1950 + number % 3 * 60)
    one = Penetration(
        f"{kind[0]}{number + 1}", kind, at, free_end=number % 3 > 0, note=("", "meter")[number % 2]
    )
    if kind in ("timber", "steel"):
        return replace(one, width_mm=60 + number % 4 * 10, height_mm=160)
    return replace(one, diameter_mm={"cable": 12, "pipe": 110, "duct": 125, "flue": 150}[kind])


SURFACES = (
    Surface(
        _LONG,
        "wall",
        box(5200, 2600),
        Members("up", 400),
        room="Lower ground floor plant room and the corridor beside it, grid line 7",
        edges=(EdgeFinish(0, "slab"), EdgeFinish(2, "timber"), EdgeFinish(3, "masonry")),
        openings=(
            Opening("louvre-door-set-03", "door", box(1500, 2100, 800)),
            Opening("borrowed-light-window-12", "window", box(900, 900, 3300, 1100)),
        ),
        penetrations=(
            Penetration("soil-vent-pipe-4", "pipe", (4700, 400), diameter_mm=110, note="soil vent of the flats above, boxed in"),
            Penetration("cable-tray-feeder-6", "cable", (2700, 2300), diameter_mm=32, free_end=True, count=14),
            Penetration("steel-universal-beam-9", "steel", (4500, 2200), width_mm=152, height_mm=305),
        ),
    ),
    Surface(
        "services-wall",
        "wall",
        box(9800, 2500),
        Members("up", 600),
        room="plant",
        openings=tuple(Opening(f"w{n + 1}", "window", box(700, 900, 400 + n * 920, 900)) for n in range(8)),
        penetrations=tuple(_hole(number) for number in range(40)),
    ),
    Surface(
        "riser-wall",
        "wall",
        box(2400, 2500),
        Members("up", 400),
        room="plant",
        penetrations=tuple(
            Penetration(f"c{n + 1}", "cable", (300 + n % 10 * 70, 300 + n // 10 * 90), diameter_mm=9, free_end=True)
            for n in range(40)
        ),
    ),
    Surface(
        "hall-long-north",
        "wall",
        box(40_000, 6200),
        Members("up", 1250),
        room="hall",
        openings=tuple(Opening(f"w{n + 1}", "window", box(2400, 1200, 2000 + n * 4800, 3800)) for n in range(7)),
        penetrations=(Penetration("p1", "pipe", (1200, 800), diameter_mm=110, free_end=True),),
    ),
    Surface("hall-gable", "slope", ((0, 0), (8000, 0), (8000, 400), (4000, 5400), (0, 400)), Members("up", 400)),
    Surface("sill", "reveal", box(1200, 140), Members("up", 400), room="bath"),
    Surface("jamb", "reveal", box(90, 1200), Members("up", 400), room="bath"),
)  # fmt: skip
JOB = Job(
    "LONG-SAMPLE-STREET-117-SECTION-2-HOUSE-C-ADDENDUM-04",
    SURFACES,
    title="Conversion of the former seed warehouse and malting floor at Long Sample Street into fourteen dwellings",
    customer=Customer(
        "Example Housing Association for the Towns of Exampletown and Samplebury, limited by guarantee",
        ("Building department, house 4, stair B, third floor on the left", "Long Sample Street 117 to 119", "Exampletown"),
        "tenders.of.the.building.department@housing-association.example.com",
    ),
    insulation="blown_in",
    volume_m3=Decimal("412.0"),
    notes="Key at the site office from 7:15.\nThe lift is out of order: carry rolls by the east stairs.",
)  # fmt: skip
PROFILE = Profile(
    name="Example Airtightness, Timber Frame and Building Survey Company of Exampletown Ltd & Co",
    address=("Trading estate at the old brickworks 14, hall 3, gate 7", "Exampletown", "Exampleshire"),
    email="despatch.and.site.support@airtightness-and-timber-frame.example.com",
    phone="+00 000 0000 000-000",
    tax_number="00 000 000 000",
    language="de_DE",
    accent_colour="#f2c230",
)
