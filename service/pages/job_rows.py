"""What the measuring form starts from, and what its buttons do: rows added, taken away, unfolded, reshaped."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from service.pages.forms import Tree
from service.pages.job_form import surface_form

_NOTHING_YET: dict[str, Any] = {"reference": "", "title": "", "customer": {"name": "", "address": [], "email": ""}, "insulation": "in_place", "stapler": "electric", "target": {}, "surfaces": [], "junctions": []}  # fmt: skip
_SQUARE_NAMES = ["south", "east", "north", "west"]


def new_form(*, building: bool) -> Tree:
    """What a new job starts from: a plain building, or one wall."""
    form = {**_NOTHING_YET}
    if building:
        form["building"] = {
            "storeys": [
                {
                    "id": "ground", "_long": "10 m", "_deep": "8 m", "height_mm": "2.45 m", "wall_names": _SQUARE_NAMES,
                    "roof": {"form": "gable", "pitch_deg": "35", "layer": "joists"},
                }
            ],
            "studs": {"direction": "up", "centres_mm": "400", "width_mm": "45"},
            "rafters": {"direction": "up", "centres_mm": "600", "width_mm": "45"},
        }  # fmt: skip
    else:
        form["surfaces"] = [new_surface([])]
    return form


def new_surface(there: Sequence[Any]) -> Tree:
    """A wall that was just added."""
    return {
        "id": _free("wall", [one.get("id") for one in there if isinstance(one, dict)]),
        "kind": "wall", "room": "", "run": "cheapest", "_wide": "4 m", "_high": "2.45 m",
        "members": {"direction": "up", "centres_mm": "400", "width_mm": "45", "first_mm": "0"},
        "_finish": ["slab", "", "timber", ""], "openings": [], "penetrations": [],
    }  # fmt: skip


def _free(word: str, taken: Sequence[Any]) -> str:
    number = next(number for number in range(1, len(taken) + 2) if f"{word}-{number}" not in taken)
    return f"{word}-{number}"


def _new_opening(there: Sequence[Any]) -> Tree:
    return {"id": f"w{len(there) + 1}", "kind": "window", "_left": "", "_low": "", "_wide": "", "_high": ""}


def _new_penetration(there: Sequence[Any]) -> Tree:
    return {
        "id": f"p{len(there) + 1}",
        "kind": "pipe",
        "at_mm": ["", ""],
        "diameter_mm": "",
        "count": "1",
        "free_end": "true",
    }


def _new_storey(there: Sequence[Any]) -> Tree:
    below = (
        there[-1]
        if there and isinstance(there[-1], dict)
        else {"_long": "10 m", "_deep": "8 m", "wall_names": _SQUARE_NAMES}
    )
    kept = {name: below[name] for name in ("_long", "_deep", "footprint_mm", "wall_names") if name in below}
    names = [one.get("id") for one in there if isinstance(one, dict)]
    name = "upper" if "upper" not in names else _free("storey", names)
    return {**kept, "id": name, "height_mm": "2.4 m", "roof": {}}


def _new_dormer(there: Sequence[Any]) -> Tree:
    return {
        "id": f"dormer-{len(there) + 1}",
        "wall": "",
        "from_left_mm": "",
        "width_mm": "",
        "height_mm": "",
        "roof": "flat",
    }


def _new_partition(there: Sequence[Any]) -> Tree:
    name = f"partition-{len(there) + 1}"
    return {"id": name, "from_mm": ["", ""], "to_mm": ["", ""], "thickness_mm": "100", "layer": "passes"}


def _new_corner(there: Sequence[Any]) -> Any:
    return list(there[-1]) if there else ["0", "0"]


def _placed(start: Tree, letter: str) -> Callable[[Sequence[Any]], Tree]:
    return lambda there: {"id": f"{letter}{len(there) + 1}", "storey": "", "wall": "", "_on": "wall", "_up": "", "from_left_mm": "", **start}  # fmt: skip


_NEW: dict[str, Callable[[Sequence[Any]], Any]] = {
    "surfaces": new_surface,
    "junctions": lambda _: {"a": {"surface": "", "edge": ""}, "b": {"surface": "", "edge": ""}},
    "surfaces/openings": _new_opening,
    "surfaces/penetrations": _new_penetration,
    "surfaces/outline_mm": _new_corner,
    "building/storeys": _new_storey,
    "building/storeys/footprint_mm": _new_corner,
    "building/storeys/dormers": _new_dormer,
    "building/storeys/partitions": _new_partition,
    "building/openings": _placed({"kind": "window", "width_mm": "", "height_mm": ""}, "w"),
    "building/penetrations": _placed(
        {"kind": "pipe", "diameter_mm": "", "count": "1", "free_end": "true"}, "p"
    ),
    "building/walls": lambda _: {
        "storey": "",
        "wall": "",
        "party": "true",
        "lined": "true",
        "finish": "masonry",
    },
}


def act(form: Tree, action: str) -> str:
    """Does in the form what a button asks for, and gives the pointer of what it concerns. Unknown actions change nothing.

    An action is a verb and a pointer: ``add:/surfaces/0/openings``.
    """
    verb, _, pointer = action.partition(":")
    if verb == "building":
        form["building"] = new_form(building=True)["building"]
        return "/building"
    if verb == "drop-building":
        form.pop("building", None)
        return ""
    path = pointer.strip("/").split("/")
    holder, last = _at(form, path)
    if verb == "add" and isinstance(holder, dict):
        return _add(holder, last, path, pointer)
    if not isinstance(holder, list) or not last.isdigit() or int(last) >= len(holder):
        return ""
    if verb == "remove":
        del holder[int(last)]
        return pointer.rpartition("/")[0]
    return _reshape(verb, holder, int(last), pointer)


def _add(holder: Tree, name: str, path: Sequence[str], pointer: str) -> str:
    made = _NEW.get("/".join(step for step in path if not step.isdigit()))
    if made is None:
        return ""
    rows = holder[name] if isinstance(holder.get(name), list) else []
    rows.append(made(rows))
    holder[name] = rows
    return f"{pointer}/{len(rows) - 1}"


def _at(form: Tree, path: Sequence[str]) -> tuple[Any, str]:
    here: Any = form
    for step in path[:-1]:
        if isinstance(here, list):
            here = here[int(step)] if step.isdigit() and int(step) < len(here) else {}
        elif isinstance(here, dict):
            here = here.setdefault(step, {})
        else:
            here = {}
    return here, path[-1]


def _reshape(verb: str, rows: list[Any], place: int, pointer: str) -> str:
    one = rows[place]
    if isinstance(one, str):
        rows[place] = surface_form(json.loads(one))
        return pointer
    storey = pointer.startswith("/building")
    outline, along, across = (
        ("footprint_mm", "_long", "_deep") if storey else ("outline_mm", "_wide", "_high")
    )
    if verb == "copy":
        rows.append({**json.loads(json.dumps(one)), "id": _free(str(one.get("id", "wall")).rstrip("-0123456789") or "wall", [other.get("id") for other in rows if isinstance(other, dict)])})  # fmt: skip
        return f"{pointer.rpartition('/')[0]}/{len(rows) - 1}"
    if verb == "corners" and along in one:
        one[outline] = [["0", "0"], [one[along], "0"], [one[along], one[across]], ["0", one[across]]]
        del one[along], one[across]
    if verb == "rectangle" and along not in one:
        one.pop(outline, None)
        one[along], one[across] = "", ""
        if storey:
            one["wall_names"] = _SQUARE_NAMES
    return pointer
