"""Small IFC models made with ifcopenshell: rooms as extruded profiles, with walls, roofs and openings round them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ifcopenshell
import ifcopenshell.guid

Point = Sequence[float]


class SmallModel:
    """An IFC file in millimetres that rooms and elements are put into; `text` gives the file."""

    def __init__(self, schema: str = "IFC4") -> None:
        self.file = ifcopenshell.file(schema=schema)
        self.owner = self._owner() if schema == "IFC2X3" else None
        axes = self.file.createIfcAxis2Placement3D(self._point((0.0, 0.0, 0.0)))
        self.context = self.file.createIfcGeometricRepresentationContext(None, "Model", 3, 1e-5, axes)
        unit = self.file.createIfcSIUnit(None, "LENGTHUNIT", "MILLI", "METRE")
        units = self.file.createIfcUnitAssignment([unit])
        project = self.add(
            "IfcProject", "Example", RepresentationContexts=[self.context], UnitsInContext=units
        )
        self.storey = self.add("IfcBuildingStorey", "Storey", ObjectPlacement=self._placement())
        building = self.add("IfcBuilding", "Building", ObjectPlacement=self._placement())
        self.add("IfcRelAggregates", None, RelatingObject=project, RelatedObjects=[building])
        self.add("IfcRelAggregates", None, RelatingObject=building, RelatedObjects=[self.storey])

    @property
    def text(self) -> bytes:
        """The file as it is sent."""
        return str(self.file.to_string()).encode()

    def room(
        self, name: str, profile: Sequence[Point], depth: float, origin: Point, axis: Point, right: Point
    ) -> Any:
        """A space: a profile in the plane of `right` and axis × right, extruded along `axis`."""
        space = self.add("IfcSpace", name, LongName=name, ObjectPlacement=self._placement())
        space.Representation = self._solid(profile, depth, origin, axis, right)
        self.add("IfcRelAggregates", None, RelatingObject=self.storey, RelatedObjects=[space])
        return space

    def box_room(self, name: str, low: Point, high: Point) -> Any:
        """A space between two corners."""
        w, d, h = (b - a for a, b in zip(low, high, strict=True))
        return self.room(name, [(0, 0), (w, 0), (w, d), (0, d)], h, low, (0, 0, 1), (1, 0, 0))

    def element(
        self, kind: str, name: str, profile: Sequence[Point], depth: float, origin: Point, axis: Point, right: Point,
        external: bool | None = True,
    ) -> Any:  # fmt: skip
        """A wall, roof or slab as an extruded profile."""
        element = self.add(kind, name, ObjectPlacement=self._placement())
        element.Representation = self._solid(profile, depth, origin, axis, right)
        if external is not None:
            value = self.file.create_entity("IfcBoolean", external)
            said = self.file.createIfcPropertySingleValue("IsExternal", None, value, None)
            properties = self.add("IfcPropertySet", "Pset_Common", HasProperties=[said])
            self.add(
                "IfcRelDefinesByProperties",
                None,
                RelatedObjects=[element],
                RelatingPropertyDefinition=properties,
            )
        return element

    def box_element(self, kind: str, name: str, low: Point, high: Point, external: bool | None = True) -> Any:
        """A wall, roof or slab between two corners."""
        w, d, h = (b - a for a, b in zip(low, high, strict=True))
        return self.element(
            kind, name, [(0, 0), (w, 0), (w, d), (0, d)], h, low, (0, 0, 1), (1, 0, 0), external
        )

    def opening(self, wall: Any, filling: str | None, name: str, low: Point, high: Point) -> None:
        """A box cut out of a wall, and the window or door that fills it."""
        void = self.box_element("IfcOpeningElement", f"{name} void", low, high, None)
        self.add("IfcRelVoidsElement", None, RelatingBuildingElement=wall, RelatedOpeningElement=void)
        if filling is not None:
            filler = self.add(filling, name, ObjectPlacement=self._placement())
            self.add("IfcRelFillsElement", None, RelatingOpeningElement=void, RelatedBuildingElement=filler)

    def _solid(self, profile: Sequence[Point], depth: float, origin: Point, axis: Point, right: Point) -> Any:
        file = self.file
        corners = [file.createIfcCartesianPoint([float(x) for x in p]) for p in (*profile, profile[0])]
        area = file.createIfcArbitraryClosedProfileDef("AREA", None, file.createIfcPolyline(corners))
        place = file.createIfcAxis2Placement3D(
            self._point(origin), self._direction(axis), self._direction(right)
        )
        up = file.createIfcDirection([0.0, 0.0, 1.0])
        solid = file.createIfcExtrudedAreaSolid(area, place, up, float(depth))
        body = file.createIfcShapeRepresentation(self.context, "Body", "SweptSolid", [solid])
        return file.createIfcProductDefinitionShape(None, None, [body])

    def _placement(self) -> Any:
        axes = self.file.createIfcAxis2Placement3D(self._point((0.0, 0.0, 0.0)))
        return self.file.createIfcLocalPlacement(None, axes)

    def _point(self, p: Point) -> Any:
        return self.file.createIfcCartesianPoint([float(x) for x in p])

    def _direction(self, p: Point) -> Any:
        return self.file.createIfcDirection([float(x) for x in p])

    def add(self, kind: str, name: str | None, **more: Any) -> Any:
        """Anything that has a global identifier."""
        one = self.file.create_entity(kind, GlobalId=ifcopenshell.guid.new(), **more)
        if name is not None:
            one.Name = name
        if self.owner is not None:
            one.OwnerHistory = self.owner
        return one

    def _owner(self) -> Any:
        file = self.file
        who = file.createIfcPersonAndOrganization(
            file.createIfcPerson("x"), file.createIfcOrganization(None, "Example")
        )
        what = file.createIfcApplication(who.TheOrganization, "0", "Example", "example")
        return file.createIfcOwnerHistory(who, what, None, "ADDED", None, None, None, 0)


def fzk_attic(schema: str = "IFC4") -> SmallModel:
    """The attic of checks against published figures: one room, its gables, knee walls, slopes and slab, a window."""
    length, width, knee, ridge, thick = 11400.0, 9400.0, 673.0, 3387.0, 300.0
    model = SmallModel(schema)
    gable = [(0, 0), (width, 0), (width, knee), (width / 2, ridge), (0, knee)]
    # The profile stands in the plane of y and z and is carried along x.
    model.room("Attic", gable, length, (0, 0, 0), (1, 0, 0), (0, 1, 0))
    west = model.element("IfcWall", "West gable", gable, thick, (-thick, 0, 0), (1, 0, 0), (0, 1, 0))
    model.element("IfcWall", "East gable", gable, thick, (length, 0, 0), (1, 0, 0), (0, 1, 0))
    model.box_element("IfcWall", "South knee wall", (0, -thick, 0), (length, 0, knee))
    model.box_element("IfcWall", "North knee wall", (0, width, 0), (length, width + thick, knee))
    model.box_element("IfcSlab", "Slab", (0, 0, -200), (length, width, 0))
    south = [(0, knee), (width / 2, ridge), (width / 2, ridge + thick), (0, knee + thick)]
    north = [(width / 2, ridge), (width, knee), (width, knee + thick), (width / 2, ridge + thick)]
    model.element("IfcSlab", "South roof", south, length, (0, 0, 0), (1, 0, 0), (0, 1, 0))
    model.element("IfcSlab", "North roof", north, length, (0, 0, 0), (1, 0, 0), (0, 1, 0))
    model.opening(west, "IfcWindow", "Gable window", (-thick, 2500, 700), (0, 3500, 1700))
    return model
