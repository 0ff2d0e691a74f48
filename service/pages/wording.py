"""Words that people read for names that programs read; a name that is not here is read as it is written."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from api_schema.edge_side import SideOrSlanting
from api_schema.outputs import OPERATION_WORDS
from api_schema.price import PriceGroup
from api_schema.take_off import ItemName

ITEM_WORDS: dict[ItemName, str] = {
    "membrane_laid": "Membrane as cut",
    "lap_tape": "Tape on laps",
    "corner_tape": "Tape in internal corners",
    "frame_tape": "Tape round frames",
    "timber_edge_tape": "Tape at edges on timber",
    "primer": "Primed edges",
    "bead": "Sealant bead",
    "staples": "Staples",
    "collar": "Collars",
    "captive_tape": "Tape round pipes without a free end",
    "section_tape": "Tape round timber and steel",
    "lap": "Laps",
    "end_lap": "End laps",
    "corner": "Internal corners",
    "timber_edge": "Edges to timber",
    "masonry_edge": "Edges to masonry",
    "slab_edge": "Edges to slab",
    "frame": "Edges to frames",
    "opening": "Openings",
    "opening_perimeter": "Round openings",
    "piece": "Pieces to hang",
    "captive": "Pipes without a free end",
    "section": "Timber and steel passing through",
    "flue": "Flues",
    "batten": "Battens",
}
_MEASURED = {
    "area": "Area",
    "reveal": "Reveals",
    "narrow": "Surfaces up to 500 mm wide",
    "penetration": "Penetrations",
}
"""What a take-off measures for payment besides its items."""
GROUP_WORDS: dict[PriceGroup, str] = {
    "materials": "Materials",
    "labour": "Labour",
    "access": "Platforms and scaffolding",
    "travel": "Travel",
    "overhead": "Running the firm",
    "contingency": "For what cannot be foreseen",
    "discount": "Discount",
    "minimum": "Up to the minimum charge",
}
"""Groups of the lines of a price."""
SIDE_WORDS: dict[SideOrSlanting, str] = {
    "lower": "bottom",
    "upper": "top",
    "left": "left",
    "right": "right",
    "slanting": "slanting",
}
"""Where an edge of a surface lies."""
MATERIALS: tuple[ItemName, ...] = (
    "membrane_laid", "lap_tape", "corner_tape", "frame_tape", "timber_edge_tape", "primer", "bead", "staples",
    "collar", "captive_tape", "section_tape", "batten",
)  # fmt: skip
"""What is fixed to the building; the other items of a take-off are counted or measured along it."""

_PLACES = {
    "volume_m3": "heated volume", "n50_per_h": "air changes at 50 Pa", "q50_m3_h_m2": "air flow per m² of envelope",
    "pitch_deg": "pitch", "upper_pitch_deg": "pitch above the break", "angle_deg": "angle", "envelope_area_m2": "envelope area",
    "floor_area_m2": "floor area", "height_m": "height", "barometer_pa": "barometer", "wind_m_s": "wind",
    "zero_flow_before_pa": "fan sealed, before", "zero_flow_after_pa": "fan sealed, after", "indoor_c": "inside temperature",
    "outdoor_c": "outside temperature", "pressure_pa": "pressure", "flow_m3_h": "flow", "worked_on": "day", "tested_on": "day",
    "crew_size": "people", "id": "name", "at_mm": "place", "centres_mm": "centres", "reference": "your reference", "used": "product",
    "wide": "width", "high": "height", "left": "from left", "low": "up to its sill", "up": "up", "long": "length inside", "deep": "depth inside",
}  # fmt: skip


def operation(name: Any) -> str:
    """What an operation is called."""
    return OPERATION_WORDS.get(name, _plain(name))


def item(name: Any) -> str:
    """What an item of a take-off is called."""
    return ITEM_WORDS.get(name) or _MEASURED.get(name, _plain(name))


def place(pointer: str, named: Callable[[str], str] = lambda _: "") -> str:
    """A pointer as people read it: ``/surfaces/0/members/centres_mm`` is "surface 1, members, centres".

    `named` knows the names of some rows, by their pointers; then it is "surface north, members, centres".
    """
    said: list[str] = []
    at = ""
    for step in pointer.strip("/").split("/"):
        at += f"/{step}"
        if step.isdigit() and said:
            said[-1] = f"{said[-1].removesuffix('s')} {named(at) or int(step) + 1}"
        else:
            name = step.strip("_")
            said.append(_PLACES.get(name) or name.removesuffix("_mm").replace("_", " "))
    if len(said) > 1 and said[0] == "building":
        del said[0]
    return ", ".join(said) or "the job"


def _plain(name: Any) -> str:
    return re.sub(r"[_-]+", " ", str(name))
