"""What every derived survey must satisfy, judged from the outside."""

from __future__ import annotations

import math
from collections import Counter

from api_schema.job import EdgeReference, Job
from api_schema.survey import find_faults
from workers.engine.building import DerivedSurvey

VOLUME_WITHIN = 1e-9  # relative


def assert_closed(survey: DerivedSurvey) -> None:
    """The mesh closes, encloses the solid, and every edge of every surface is joined or finished, once."""
    assert survey.mesh.unmatched_edges() == 0
    assert math.isclose(survey.mesh.volume_m3(), float(survey.enclosed_m3), rel_tol=VOLUME_WITHIN)
    spoken_for: Counter[tuple[str, int]] = Counter()
    outlines = {surface.id: surface.outline_mm for surface in survey.surfaces}

    def length(end: EdgeReference) -> float:
        outline = outlines[end.surface]
        return math.dist(outline[end.edge], outline[(end.edge + 1) % len(outline)])

    for junction in survey.junctions:
        assert abs(length(junction.a) - length(junction.b)) <= 3, junction
        for end in (junction.a, junction.b):
            spoken_for[end.surface, end.edge] += 1
    for surface in survey.surfaces:
        for finish in surface.edges:
            spoken_for[surface.id, finish.edge] += 1
    edges = {(surface.id, edge) for surface in survey.surfaces for edge in range(len(surface.outline_mm))}
    assert set(spoken_for) == edges
    assert set(spoken_for.values()) <= {1}
    assert find_faults(Job(reference="closed", surfaces=survey.surfaces, junctions=survey.junctions)) == ()
    assert_areas_agree(survey)


def assert_areas_agree(survey: DerivedSurvey) -> None:
    """Each flat outline has the area of its faces in space, but for rounding to whole millimetres."""
    of_faces: Counter[str] = Counter()
    for index, name in enumerate(survey.mesh.surfaces):
        if name is not None:
            of_faces[name] += survey.mesh.face_area_m2(index)
    for surface in survey.surfaces:
        outline = surface.outline_mm
        doubled = sum(
            outline[i - 1][0] * outline[i][1] - outline[i][0] * outline[i - 1][1] for i in range(len(outline))
        )
        around = sum(math.dist(outline[i - 1], outline[i]) for i in range(len(outline)))
        assert abs(doubled / 2e6 - of_faces[surface.id]) <= 1.5e-6 * around, surface.id
