"""Takes spaces, walls, roofs, slabs, windows and doors out of an IFC file. Runs in the reader's process only."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.util.element

from workers.models.bodies import Body, BodyKind, Missing, Model
from workers.models.errors import ModelError

_MM_PER_M = 1000.0  # the geometry library gives metres whatever the file's unit
_MOST_SPACES = 500
_MOST_ELEMENTS = 5000
_MOST_TRIANGLES = 20_000  # of one body; more is furniture, not a room
_FARTHEST_MM = 1e9
_SERVICES = (
    "IfcFlowSegment",
    "IfcPipeSegment",
    "IfcDuctSegment",
    "IfcCableSegment",
    "IfcDistributionFlowElement",
)


def read_ifc(path: str) -> Model:
    """Everything used of the file.

    Raises:
        ModelError: where it is no IFC file we can read, or holds no spaces.
    """
    try:
        file = ifcopenshell.open(path)
    except (OSError, RuntimeError, ValueError, ifcopenshell.Error) as error:
        raise ModelError(
            "unreadable",
            "The file cannot be read as IFC; export it again as IFC4 or IFC2x3 (.ifc) and send that.",
        ) from error
    if not isinstance(file, ifcopenshell.file) or not file.schema.upper().startswith(("IFC2X3", "IFC4")):
        raise ModelError(
            "unreadable", "The file is of a kind of IFC we do not read; export it as IFC4 or IFC2x3."
        )
    missing: list[Missing] = []
    spaces = tuple(_bodies(_of(file, ("IfcSpace",), _MOST_SPACES), "space", missing))
    if not spaces and missing:
        first = missing[0]
        raise ModelError(
            "no_spaces",
            f"None of the model's {len(missing)} spaces can be used: {first.name} {first.reason} Export it again.",
        )
    if not spaces:
        raise ModelError(
            "no_spaces",
            "The model holds no spaces with a shape. Have rooms (IfcSpace) exported with it; the inner faces are taken from them.",
        )
    elements: list[Body] = []
    for kind, names in (("wall", ("IfcWall",)), ("roof", ("IfcRoof",)), ("slab", ("IfcSlab",))):
        elements += _bodies(_of(file, names, _MOST_ELEMENTS), kind, missing)  # type: ignore[arg-type]
    openings = [*_filled(file, "IfcWindow", "window", missing), *_filled(file, "IfcDoor", "door", missing)]
    openings += _bodies(
        [void for void in _of(file, ("IfcOpeningElement",), _MOST_ELEMENTS) if not void.HasFillings],
        "opening",
        missing,
    )
    services = {one.id() for name in _SERVICES for one in _known(file, name)}
    return Model(file.schema, spaces, tuple(elements), tuple(openings), tuple(missing), len(services))


def _known(file: Any, name: str) -> list[Any]:
    try:
        return list(file.by_type(name))
    except RuntimeError:  # not a class of this schema
        return []


def _of(file: Any, names: tuple[str, ...], most: int) -> list[Any]:
    found = [one for name in names for one in _known(file, name)]
    if len(found) > most:
        raise ModelError(
            "too_large",
            f"The model holds {len(found)} of {names[0]}; we read up to {most}. Export a part of it.",
        )
    return sorted(found, key=lambda one: one.id())


def _bodies(things: list[Any], kind: BodyKind, missing: list[Missing]) -> Iterator[Body]:
    for thing in things:
        outside = str(
            getattr(thing, "InteriorOrExteriorSpace", None) or getattr(thing, "PredefinedType", None) or ""
        )
        if kind == "space" and outside.upper() == "EXTERNAL":
            missing.append(
                _missing(kind, thing, "is marked as an outdoor space; it is not part of the heated space.")
            )
            continue
        body = _shape(thing, thing, kind)
        if isinstance(body, Body):
            yield body
        elif kind == "roof" and thing.IsDecomposedBy:
            continue  # its slabs carry the shape
        else:
            missing.append(body)


def _filled(file: Any, name: str, kind: BodyKind, missing: list[Missing]) -> Iterator[Body]:
    """Windows or doors, with the shape of the opening they fill where the model has one."""
    for thing in _of(file, (name,), _MOST_ELEMENTS):
        voids = [link.RelatingOpeningElement for link in thing.FillsVoids]
        body = _shape(thing, voids[0] if voids else thing, kind)
        if isinstance(body, Missing) and voids:
            body = _shape(thing, thing, kind)
        if isinstance(body, Body):
            yield body
        else:
            missing.append(body)


def _missing(kind: str, thing: Any, reason: str) -> Missing:
    return Missing(kind, _name(thing), _printable(thing.GlobalId or "")[:64], reason)


def _name(thing: Any) -> str:
    words = getattr(thing, "LongName", None) if thing.is_a("IfcSpace") else None
    return _printable(words or thing.Name or thing.is_a())[:120]


def _printable(words: object) -> str:
    return "".join(mark if mark.isprintable() else " " for mark in str(words))


def _shape(thing: Any, carrier: Any, kind: BodyKind) -> Body | Missing:
    if not getattr(carrier, "Representation", None):
        return _missing(kind, thing, "has no shape in the model; measure it on site.")
    settings: Any = ifcopenshell.geom.settings()  # type: ignore[no-untyped-call]
    settings.set("use-world-coords", True)
    settings.set("weld-vertices", True)
    try:
        shape: Any = ifcopenshell.geom.create_shape(settings, carrier)
        geometry = shape.geometry
    except (RuntimeError, ValueError):
        return _missing(kind, thing, "has a shape we cannot build; measure it on site.")
    numbers, corners = geometry.verts, geometry.faces
    points = tuple(
        (numbers[i] * _MM_PER_M, numbers[i + 1] * _MM_PER_M, numbers[i + 2] * _MM_PER_M)
        for i in range(0, len(numbers), 3)
    )
    triangles = tuple((corners[i], corners[i + 1], corners[i + 2]) for i in range(0, len(corners), 3))
    if not triangles:
        return _missing(kind, thing, "has no faces in the model; measure it on site.")
    if len(triangles) > _MOST_TRIANGLES:
        return _missing(
            kind, thing, f"has {len(triangles)} facets, too many to be flat faces; measure it on site."
        )
    if not all(math.isfinite(axis) and abs(axis) < _FARTHEST_MM for p in points for axis in p):
        return _missing(kind, thing, "lies at places that are no numbers or too far away.")
    return Body(
        kind, _name(thing), _printable(thing.GlobalId or "")[:64], points, triangles, _external(thing)
    )


def _external(thing: Any) -> bool | None:
    for properties in ifcopenshell.util.element.get_psets(thing).values():
        said = properties.get("IsExternal")
        if isinstance(said, bool):
            return said
    return None
