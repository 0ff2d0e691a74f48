"""Between a job's JSON and the form it is measured in: rectangles by their sides, finishes by edge, places by where one stands.

Helper fields begin with an underscore and never reach the job. What the form has no field for is carried along as JSON.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from api_schema.job import Job
from api_schema.lengths import length_in_words
from api_schema.problem import Fault
from service.pages.forms import Tree, typed

SHOWN_AT_ONCE = 40
_PLACES = {
    "wall": "from_floor_mm",
    "slope": "from_eave_mm",
    "ceiling": "from_wall_mm",
    "floor": "from_wall_mm",
}
_CARRIED = ("courtyards_mm",)
_ROOF_CARRIED = ("slopes", "lines")


# ---- from the job to the form


def form_of(body: dict[str, Any], opened: Sequence[str] = ()) -> Tree:
    """The form of a stored job. With many surfaces only those that `opened` names are unfolded, the rest carried whole."""
    many = len(body["surfaces"]) > SHOWN_AT_ONCE
    surfaces = []
    for place, surface in enumerate(body["surfaces"]):
        wanted = any(f"{one}/".startswith(f"/surfaces/{place}/") for one in opened)
        surfaces.append(json.dumps(surface) if many and not wanted else surface_form(surface))
    form = {**body, "surfaces": surfaces, "target": body.get("target") or {}}
    if body.get("building"):
        form["building"] = _building_form(body["building"])
    else:
        form.pop("building", None)
    return form


def surface_form(surface: dict[str, Any]) -> Tree:
    """A surface as it stands in the form."""
    form = dict(surface)
    outline = form["outline_mm"]
    finishes = {edge["edge"]: edge["finish"] for edge in form.pop("edges", ())}
    form["_finish"] = [finishes.get(edge, "") for edge in range(len(outline))]
    if _is_upright_from_zero(outline):
        form["_wide"], form["_high"] = str(outline[2][0]), str(outline[2][1])
        del form["outline_mm"]
    form["openings"] = [_opening_form(opening) for opening in form.get("openings", ())]
    return form


def _is_upright_from_zero(outline: Sequence[Sequence[int]]) -> bool:
    wide, high = outline[2] if len(outline) == 4 else (0, 0)
    return [list(corner) for corner in outline] == [[0, 0], [wide, 0], [wide, high], [0, high]]


def _opening_form(opening: dict[str, Any]) -> Tree:
    form = dict(opening)
    outline = form.pop("outline_mm")
    (left, low), (right, top) = outline[0], outline[2] if len(outline) > 2 else outline[0]
    if len(outline) == 4 and [list(corner) for corner in outline] == [
        [left, low],
        [right, low],
        [right, top],
        [left, top],
    ]:
        form |= {"_left": str(left), "_low": str(low), "_wide": str(right - left), "_high": str(top - low)}
    else:
        form["_corners"] = "; ".join(f"{u}, {v}" for u, v in outline)
    return form


def _building_form(building: dict[str, Any]) -> Tree:
    form = dict(building)
    form["storeys"] = [_storey_form(storey) for storey in building["storeys"]]
    for kind in ("openings", "penetrations"):
        form[kind] = [_placed_form(one) for one in building.get(kind, ())]
    form["joists"] = building.get("joists") or {}
    return form


def _storey_form(storey: dict[str, Any]) -> Tree:
    form = dict(storey)
    outline = form["footprint_mm"]
    if _is_upright_from_zero(outline):
        form["_long"], form["_deep"] = str(outline[2][0]), str(outline[2][1])
        del form["footprint_mm"]
    roof = dict(form.get("roof") or {})
    if roof:
        roof["gables"] = ", ".join(roof.get("gables", ()))
        roof |= {name: json.dumps(roof[name]) for name in _ROOF_CARRIED if roof.get(name)}
    form["roof"] = roof
    form |= {name: json.dumps(form[name]) for name in _CARRIED if form.get(name)}
    return form


def _placed_form(one: dict[str, Any]) -> Tree:
    form = dict(one)
    on = "floor" if form.pop("in_floor", False) else next(
        (place for place, name in _PLACES.items() if one.get(name) is not None), "wall"
    )  # fmt: skip
    form["_on"], form["_up"] = on, "" if one.get(_PLACES[on]) is None else str(one[_PLACES[on]])
    for name in _PLACES.values():
        form.pop(name, None)
    return form


# ---- from the form to the job


def job_of(form: Tree) -> tuple[dict[str, Any], list[Fault]]:
    """The job's JSON of a form, and what could not be read of the helper fields."""
    faults: list[Fault] = []
    made = dict(form)
    made["surfaces"] = [
        _surface_of(one, f"/surfaces/{place}", faults) for place, one in enumerate(_list(form, "surfaces"))
    ]
    if isinstance(form.get("building"), dict):
        made["building"] = _building_of(form["building"], faults)
    job = typed(Job, made)
    if job.get("target") == {}:
        del job["target"]
    return job, faults


def _list(form: Tree, name: str) -> list[Any]:
    found = form.get(name)
    return found if isinstance(found, list) else []


def _surface_of(form: Any, pointer: str, faults: list[Fault]) -> Any:
    if not isinstance(form, dict):
        return form
    made = dict(form)
    if "_wide" in form:
        made["outline_mm"] = _rectangle(form, "_wide", "_high", pointer, faults)
    corners = len(_list(made, "outline_mm"))
    made["edges"] = [
        {"edge": str(edge), "finish": finish}
        for edge, finish in enumerate(_list(form, "_finish")[:corners])
        if finish
    ]
    made["openings"] = [
        _opening_of(one, f"{pointer}/openings/{place}", faults)
        for place, one in enumerate(_list(form, "openings"))
    ]
    return made


def _rectangle(form: Tree, along: str, across: str, pointer: str, faults: list[Fault]) -> list[list[int]]:
    wide = read_length(form.get(along, ""), f"{pointer}/{along}", faults)
    high = read_length(form.get(across, ""), f"{pointer}/{across}", faults)
    return [[0, 0], [wide, 0], [wide, high], [0, high]]


def read_length(words: Any, pointer: str, faults: list[Fault], *, least: int = 1) -> int:
    """Whole millimetres; where they cannot be read, a fault is noted and 1000 stands in, so that the rest is still looked at."""
    try:
        found = length_in_words(str(words))
    except ValueError as error:
        faults.append(
            Fault(pointer, f"is not a length we can read. {error}" if str(words).strip() else "is missing.")
        )
        return 1000
    if found < least:
        faults.append(Fault(pointer, f"is {found} mm; it must be at least {least} mm."))
        return 1000
    return found


_ANYWHERE = -1_000_000


def _opening_of(form: Any, pointer: str, faults: list[Fault]) -> Any:
    if not isinstance(form, dict):
        return form
    made = dict(form)
    if form.get("_corners", "").strip():
        made["outline_mm"] = [
            [axis.strip() for axis in corner.split(",")]
            for corner in form["_corners"].split(";")
            if corner.strip()
        ]
        return made
    left, low = (
        read_length(form.get(name, ""), f"{pointer}/{name}", faults, least=_ANYWHERE)
        for name in ("_left", "_low")
    )
    wide, high = (read_length(form.get(name, ""), f"{pointer}/{name}", faults) for name in ("_wide", "_high"))
    made["outline_mm"] = [[left, low], [left + wide, low], [left + wide, low + high], [left, low + high]]
    return made


def _building_of(form: Tree, faults: list[Fault]) -> Tree:
    made = dict(form)
    made["storeys"] = [
        _storey_of(one, f"/building/storeys/{place}", faults)
        for place, one in enumerate(_list(form, "storeys"))
    ]
    for kind in ("openings", "penetrations"):
        made[kind] = [_placed_of(one) for one in _list(form, kind)]
    return made


def _storey_of(form: Any, pointer: str, faults: list[Fault]) -> Any:
    if not isinstance(form, dict):
        return form
    made = dict(form)
    if "_long" in form:
        made["footprint_mm"] = _rectangle(form, "_long", "_deep", pointer, faults)
    roof = form.get("roof")
    if isinstance(roof, dict):
        if roof.get("form"):
            gables = roof.get("gables", "")
            made["roof"] = {**roof, "gables": gables.replace(",", "\n")} if isinstance(gables, str) else roof
        else:
            del made["roof"]
    return made


def _placed_of(form: Any) -> Any:
    if not isinstance(form, dict):
        return form
    on = form.get("_on", "wall")
    made = {**form, _PLACES.get(on, "from_floor_mm"): form.get("_up", "")}
    if on == "floor":
        made["in_floor"] = "true"
    return made
