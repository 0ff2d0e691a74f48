"""From a building description to its surfaces: footprints, heights and roofs in, a closed survey out.

Exact arithmetic decides what meets what (`planar`, `wavefront`, `solid`); only `flatten` rounds to the whole
millimetres a fitter measures. What lies on a surface once it is flat belongs to the other rooms of the engine.
"""

from workers.engine.building.derive import DerivedSurvey, derive, with_building
from workers.engine.building.mesh import Mesh
from workers.engine.building.report import measured

__all__ = ["DerivedSurvey", "Mesh", "derive", "measured", "with_building"]
