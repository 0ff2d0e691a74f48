"""A small invented house with every record written by hand: what the documents must draw, without the engine.

A wall with a door, a window and penetrations, a gable, a slope with strips along the rafters, and an L-shaped
ceiling with an angled run beside it. Figures are plausible, not computed.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

from api_schema.account import Profile
from api_schema.cut_list import Cut, CutList, KeptOffcut, Lane, Roll
from api_schema.engine_words import in_english
from api_schema.job import Customer, EdgeReference, Job, Junction, Target
from api_schema.labour import Labour, LabourLine
from api_schema.layout import EdgeAllowance, EndLap, Lap, Layout, Piece, Strip, SurfaceLayout
from api_schema.order import Order
from api_schema.order_line import OrderLine
from api_schema.plan import Check, Plan
from api_schema.price import Price, PriceLine, TaxLine
from api_schema.price_book import Supplier
from api_schema.quote import Quote
from api_schema.said import said
from api_schema.surface import EdgeFinish, Members, Opening, Penetration, Surface
from api_schema.take_off import AreaTotals, Quantity, Sealing, SurfaceAreas, SurfaceQuantity, TakeOff

MEMBRANE = "membrane-1500"


def _piece(surface: str, name: str, start: int, end: int, width: int = 1500) -> Piece:
    return Piece(f"{surface}/{name}", start, end, -(-(end - start) // 100) * 100, width)


def _strip(
    surface: str, number: int, low: int, high: int, *spans: tuple[int, int], ripped: int | None = None,
    end_laps: tuple[EndLap, ...] = (),
) -> Strip:  # fmt: skip
    pieces = tuple(
        _piece(surface, f"{number}{'abcdefgh'[index]}", *span, ripped or 1500)
        for index, span in enumerate(spans)
    )
    return Strip(f"{surface}/{number}", MEMBRANE, low, high, pieces, ripped, end_laps)


def _lap(surface: str, name: str, at: int, *spans: tuple[int, int], overlap: int = 100) -> Lap:
    length = Decimal(sum(end - start for start, end in spans)) / 1000
    return Lap(f"{surface}/{name}", at, spans, length, False, overlap)


WALL = Surface(
    id="living-north",
    kind="wall",
    room="living",
    outline_mm=((0, 0), (6200, 0), (6200, 2450), (0, 2450)),
    members=Members("up", 400),
    edges=(EdgeFinish(0, "slab"), EdgeFinish(2, "timber")),
    openings=(
        Opening("d1", "door", ((600, 0), (1600, 0), (1600, 2100), (600, 2100))),
        Opening("w1", "window", ((2800, 900), (4600, 900), (4600, 2100), (2800, 2100))),
    ),
    penetrations=(
        Penetration("p1", "pipe", (5200, 300), diameter_mm=110),
        Penetration("c1", "cable", (2200, 1200), diameter_mm=9, free_end=True, count=3),
        Penetration("s1", "steel", (5800, 2250), width_mm=100, height_mm=200),
        Penetration("v1", "duct", (5200, 1900), diameter_mm=160, free_end=True),
    ),
)  # fmt: skip
WALL_LAYOUT = SurfaceLayout(
    "living-north", "across_members", "across", Decimal("61.40"), Decimal("61.40"), True,
    strips=(
        _strip("living-north", 1, -80, 1300, (-20, 6270), ripped=1380),
        _strip("living-north", 2, 1200, 2500, (-20, 6270), ripped=1300),
    ),
    laps=(_lap("living-north", "1-2", 1200, (0, 600), (1600, 2800), (4600, 6200)),),
    edges=(
        EdgeAllowance(0, "slab", 80), EdgeAllowance(1, "returns", 70),
        EdgeAllowance(2, "timber", 50), EdgeAllowance(3, "stops", 20),
    ),
    reason="Strips run across the studs; along them would cost 12.40 more.",
)  # fmt: skip

GABLE = Surface(
    id="gable-west",
    kind="wall",
    room="attic",
    outline_mm=((0, 0), (7800, 0), (7800, 1050), (6301, 2400), (1499, 2400), (0, 1050)),
    members=Members("up", 400),
    openings=(Opening("w2", "window", ((3300, 800), (4500, 800), (4500, 2000), (3300, 2000))),),
    penetrations=(Penetration("p2", "pipe", (1400, 700), diameter_mm=50, free_end=True),),
)  # fmt: skip
GABLE_LAYOUT = SurfaceLayout(
    "gable-west", "across_members", "across", Decimal("80.00"), Decimal("78.20"), False,
    strips=(
        _strip("gable-west", 1, -20, 1480, (-20, 7870)),
        _strip("gable-west", 2, 1380, 2470, (390, 7420), ripped=1090),
    ),
    laps=(_lap("gable-west", "1-2", 1380, (366, 3300), (4500, 7433)),),
    edges=tuple(EdgeAllowance(edge, "returns" if edge % 2 else "stops", 70 if edge % 2 else 20) for edge in range(6)),
)  # fmt: skip

SLOPE = Surface(
    id="slope-south",
    kind="slope",
    room="attic",
    outline_mm=((0, 0), (4200, 0), (4200, 2017), (0, 2017)),
    members=Members("up", 600),
    openings=(Opening("r1", "rooflight", ((1830, 600), (2610, 600), (2610, 1580), (1830, 1580))),),
    penetrations=(Penetration("f1", "flue", (3300, 900), diameter_mm=180),),
)  # fmt: skip
SLOPE_LAYOUT = SurfaceLayout(
    "slope-south", "along_members", "up", Decimal("44.10"), Decimal("44.10"), True,
    strips=(
        _strip("slope-south", 1, -20, 1480, (-20, 2087)),
        _strip("slope-south", 2, 1180, 2680, (-20, 2087)),
        _strip("slope-south", 3, 2380, 3880, (-20, 2087)),
        _strip("slope-south", 4, 3580, 4270, (-20, 2087), ripped=690),
    ),
    laps=(
        _lap("slope-south", "1-2", 1180, (0, 2017), overlap=300),
        _lap("slope-south", "2-3", 2380, (0, 600), (1580, 2017), overlap=300),
        _lap("slope-south", "3-4", 3580, (0, 2017), overlap=300),
    ),
    edges=tuple(EdgeAllowance(edge, "returns" if edge < 2 else "stops", 70 if edge < 2 else 20) for edge in range(4)),
)  # fmt: skip

CEILING = Surface(
    id="kitchen-ceiling",
    kind="ceiling",
    room="kitchen",
    outline_mm=((0, 0), (11_600, 0), (11_600, 2400), (3600, 2400), (3600, 4200), (0, 4200)),
    members=Members("up", 400),
    penetrations=(
        Penetration("c2", "cable", (1800, 3300), diameter_mm=12, free_end=True),
        Penetration("b1", "timber", (3000, 1200), width_mm=80, height_mm=200, note="beam end"),
    ),
)  # fmt: skip
CEILING_LAYOUT = SurfaceLayout(
    "kitchen-ceiling", "across_members", "across", Decimal("120.00"), Decimal("120.00"), True,
    strips=(
        _strip("kitchen-ceiling", 1, -20, 1480, (-20, 8050), (7950, 11_620),
               end_laps=(EndLap("kitchen-ceiling/1a-1b", 7950, 8050, 1500, True),)),
        _strip("kitchen-ceiling", 2, 1380, 2880, (-20, 8050), (7950, 11_620),
               end_laps=(EndLap("kitchen-ceiling/2a-2b", 7950, 8050, 1020, True),)),
        _strip("kitchen-ceiling", 3, 2780, 4220, (-20, 3620), ripped=1440),
    ),
    laps=(
        _lap("kitchen-ceiling", "1-2", 1380, (0, 11_600)),
        _lap("kitchen-ceiling", "2-3", 2780, (0, 3600)),
    ),
    edges=tuple(EdgeAllowance(edge, "returns" if edge in (2, 3) else "stops", 70 if edge in (2, 3) else 20) for edge in range(6)),
)  # fmt: skip

HIP = Surface(
    id="hip-east",
    kind="slope",
    room="attic",
    outline_mm=((0, 0), (3600, 0), (1800, 2600)),
    members=Members("55.3", 500),
)
HIP_LAYOUT = SurfaceLayout(
    "hip-east", "across_members", "145.3", Decimal("30.00"), Decimal("30.00"), True,
    strips=(
        _strip("hip-east", 1, -3190, -1690, (-2980, 20)),
        _strip("hip-east", 2, -1790, -290, (-2610, 20)),
        _strip("hip-east", 3, -390, 30, (-590, 20), ripped=420),
    ),
    laps=(_lap("hip-east", "1-2", -1790, (-2585, 0)), _lap("hip-east", "2-3", -390, (-563, 0))),
    edges=tuple(EdgeAllowance(edge, "stops", 20) for edge in range(3)),
)  # fmt: skip

SURFACES = (WALL, GABLE, SLOPE, CEILING, HIP)
LAYOUTS = (WALL_LAYOUT, GABLE_LAYOUT, SLOPE_LAYOUT, CEILING_LAYOUT, HIP_LAYOUT)
HOT, ROUND = said("sealing.hot"), said("sealing.section", round_mm=560)
SEALINGS = (
    Sealing("living-north", "p1", "taped", 1, None, 7, 150, Decimal("1.05")),
    Sealing("living-north", "c1", "collar", 3, "collar-cable"),
    Sealing("living-north", "s1", "section_taped", 1, None, 12, 150, Decimal("1.80")),
    Sealing("living-north", "v1", "collar", 1, "collar-160"),
    Sealing("gable-west", "p2", "collar", 1, "collar-50"),
    Sealing("slope-south", "f1", "non_combustible", 1, None, note=in_english(HOT), note_said=HOT),
    Sealing("kitchen-ceiling", "c2", "collar", 1, "collar-cable"),
    Sealing(
        "kitchen-ceiling", "b1", "section_taped", 1, None, 8, 150, Decimal("1.20"), in_english(ROUND), ROUND
    ),
)

ROLLS = (
    Roll(1, MEMBRANE, 50_000, 1500, False, (
        Cut(0, 6300, ("living-north/1a",), (Lane(1380, ("living-north/1a",)),)),
        Cut(6300, 6300, ("living-north/2a",), (Lane(1300, ("living-north/2a",)),)),
        Cut(12_600, 7900, ("gable-west/1a",)),
        Cut(20_500, 7100, ("gable-west/2a",), (Lane(1090, ("gable-west/2a",)),)),
        Cut(27_600, 2200, ("slope-south/1a",)),
        Cut(29_800, 2200, ("slope-south/2a",)),
        Cut(32_000, 2200, ("slope-south/3a",)),
        Cut(34_200, 2200, ("slope-south/4a", "hip-east/3a"), (Lane(690, ("slope-south/4a",)), Lane(420, ("hip-east/3a",)))),
        Cut(36_400, 8100, ("kitchen-ceiling/1a",)),
    ), 5500),
    Roll(2, MEMBRANE, 25_000, 1500, True, (
        Cut(0, 8100, ("kitchen-ceiling/2a",)),
        Cut(8100, 3700, ("kitchen-ceiling/1b",)),
        Cut(11_800, 3700, ("kitchen-ceiling/2b",)),
        Cut(15_500, 3700, ("kitchen-ceiling/3a",), (Lane(1440, ("kitchen-ceiling/3a",)),)),
        Cut(19_200, 3000, ("hip-east/1a",)),
        Cut(22_200, 2700, ("hip-east/2a",)),
    ), 100),
)  # fmt: skip
CUT_LIST = CutList(
    ROLLS, 2, 2, Decimal("120.00"), Decimal("120.00"), True, (KeptOffcut(MEMBRANE, 5500, 1500, 1),)
)
AREAS = tuple(
    SurfaceAreas(
        surface.id, Decimal("15.19"), Decimal("12.30"), Decimal(0), Decimal("15.19"), Decimal("18.20")
    )
    for surface in SURFACES
)
TAKE_OFF = TakeOff(
    AREAS,
    AreaTotals(
        Decimal("75.95"), Decimal("61.50"), Decimal(0), Decimal("75.95"), Decimal("91.00"), Decimal("112.50")
    ),
    (
        Quantity("lap_tape", Decimal("48.6"), "m", (SurfaceQuantity("living-north", Decimal("4.4")),)),
        Quantity("staples", Decimal(4210), "piece"),
        Quantity("collar", Decimal(3), "piece", product="collar-cable"),
    ),
    SEALINGS,
)
ORDER_LINES = (
    OrderLine(MEMBRANE, "Membrane 1.5 m wide", "membrane", "example-supplies", Decimal("70.4"), Decimal(0), Decimal(25),
              1, Decimal(50), "m", Decimal("120.00"), Decimal("120.00")),
    OrderLine("tape-60", "Lap tape 60 mm", "lap_tape", "example-supplies", Decimal("48.6"), Decimal("2.43"), Decimal(0),
              3, Decimal(25), "m", Decimal("14.20"), Decimal("42.60")),
    OrderLine("collar-cable", "Collar for 4 to 12 mm", "collar", "example-supplies", Decimal(4), Decimal(0), Decimal(4),
              0, Decimal(10), "piece", Decimal("14.00"), Decimal("0.00")),
)  # fmt: skip
LABOUR = Labour(
    (LabourLine("tape_lap", "wall", Decimal("48.6"), "m", Decimal("1.8"), {}, Decimal("1.46"), Decimal("1.0"), Decimal("1.9")),),
    Decimal("22.5"), Decimal("25.0"), Decimal("1.5"),
)  # fmt: skip
_RULE = "secret rule: buying price with 15 % mark-up"
_TAX = Decimal("0.20")
PRICE = Price(
    "EUR",
    (
        PriceLine("materials", "Membrane 1.5 m wide, pack of 50 m", Decimal(1), "pack", Decimal("138.00"), Decimal("138.00"), _TAX, _RULE),
        PriceLine("materials", "Lap tape 60 mm, pack of 25 m", Decimal(3), "pack", Decimal("16.33"), Decimal("48.99"), _TAX, _RULE),
        PriceLine("labour", "Hang membrane", Decimal("12.5"), "h", Decimal("35.00"), Decimal("437.50"), _TAX, _RULE),
        PriceLine("labour", "Tape laps", Decimal("1.46"), "h", Decimal("35.00"), Decimal("51.10"), _TAX, _RULE),
        PriceLine("overhead", "Overhead", Decimal(1), "job", Decimal("54.05"), Decimal("54.05"), _TAX, _RULE),
        PriceLine("discount", "Discount", Decimal(1), "job", Decimal("-20.00"), Decimal("-20.00"), _TAX, _RULE),
    ),
    Decimal("709.64"),
    (TaxLine(_TAX, Decimal("709.64"), Decimal("141.93")),),
    Decimal("851.57"),
)  # fmt: skip
JOB = Job(
    reference="PX-001",
    surfaces=SURFACES,
    junctions=(Junction(EdgeReference("living-north", 1), EdgeReference("gable-west", 5)),),
    title="Example house",
    customer=Customer("Example Homes", ("1 Sample Street", "Exampletown"), "office@example.com"),
    target=Target(n50_per_h=Decimal("0.6")),
    notes="Key at the site office.",
)
SPLICED = said("check.spliced.many.more", rolls=2, pieces="gable-west/1a, gable-west/2a", more=1)
CAPTIVE = said("check.captive_pipe", penetration="p1", surface="living-north")
PLAN = Plan(
    Layout(LAYOUTS, Decimal("335.50"), Decimal("333.70"), False),
    CUT_LIST,
    TAKE_OFF,
    LABOUR,
    ORDER_LINES,
    PRICE,
    (
        Check("note", "spliced", in_english(SPLICED), "", SPLICED),
        Check("warning", "captive_pipe", in_english(CAPTIVE), "/surfaces/0/penetrations/0", CAPTIVE),
    ),
)  # fmt: skip
QUOTE = Quote(
    "2026-0001", 1, "issued", datetime.date(2026, 11, 25), datetime.date(2026, 12, 25), JOB.reference, JOB.title,
    JOB.customer, PRICE, "Payment within 30 days of completion.",
)  # fmt: skip
ORDER = Order(
    "O-2026-0001", "sent", datetime.date(2026, 11, 25),
    Supplier("example-supplies", "Example Supplies", ("2 Sample Road", "Exampletown"), "orders@example.com"),
    JOB.reference, "EUR", ORDER_LINES, Decimal("162.60"), ("1 Sample Street", "Exampletown"),
    datetime.date(2026, 12, 1),
)  # fmt: skip
PROFILE = Profile(
    name="Example Airtight Ltd", address=("3 Sample Yard", "Exampletown"), email="office@example.com",
    phone="+00 000 000", tax_number="00 000 000",
)  # fmt: skip
MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
