"""The survey as the calculator takes it, and what the fitter should look at before the rolls are opened.

Faults that make a job impossible are found by `api_schema.survey`; here are the things that are possible but
should be looked at: edges nobody sealed, joined edges of unequal length, pipes without a free end, hot flues.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from api_schema.job import Job
from api_schema.plan import Check
from api_schema.problem import SurveyFaults
from api_schema.said import said
from api_schema.survey import edge_length_mm, find_faults, normalised
from workers.engine.building import with_building
from workers.engine.saying import check

JOINED_EDGES_AGREE_WITHIN_MM = 10  # common practice: what tape and a careful hand can take up


def prepare(job: Job) -> Job:
    """The job as it is planned: its building's surfaces filled in, the building left out, outlines counter-clockwise.

    A prepared job stays as it is when it is prepared again.

    Raises:
        SurveyFaults: with every fault, by pointer, where the job cannot be planned.
    """
    full = dataclasses.replace(with_building(job), building=None)
    faults = find_faults(full)
    if faults:
        raise SurveyFaults(faults)
    return normalised(full)


def survey_checks(job: Job) -> tuple[Check, ...]:
    """What should be looked at in a usable survey, in the job's order."""
    return (*_penetration_checks(job), *_edge_checks(job), *_junction_checks(job))


def _penetration_checks(job: Job) -> Iterator[Check]:
    for number, surface in enumerate(job.surfaces):
        for index, penetration in enumerate(surface.penetrations):
            pointer = f"/surfaces/{number}/penetrations/{index}"
            named = {"penetration": penetration.id, "surface": surface.id}
            if penetration.kind == "flue":
                yield check("warning", "hot_flue", said("check.hot_flue", **named), pointer)
            elif penetration.kind in ("pipe", "duct", "cable") and not penetration.free_end:
                yield check("warning", "captive_pipe", said("check.captive_pipe", **named), pointer)


def _edge_checks(job: Job) -> Iterator[Check]:
    joined = {(side.surface, side.edge) for junction in job.junctions for side in (junction.a, junction.b)}
    for number, surface in enumerate(job.surfaces):
        finished = {finish.edge for finish in surface.edges}
        loose = [
            edge
            for edge in range(len(surface.outline_mm))
            if edge not in finished and (surface.id, edge) not in joined
        ]
        if loose:
            listed = ", ".join(str(edge) for edge in loose)
            yield check(
                "warning",
                "edge_not_sealed",
                said("check.edge_not_sealed", surface=surface.id, edges=listed),
                f"/surfaces/{number}/edges",
            )


def _junction_checks(job: Job) -> Iterator[Check]:
    outlines = {surface.id: surface.outline_mm for surface in job.surfaces}
    for number, junction in enumerate(job.junctions):
        lengths = [edge_length_mm(outlines[side.surface], side.edge) for side in (junction.a, junction.b)]
        if abs(lengths[0] - lengths[1]) > JOINED_EDGES_AGREE_WITHIN_MM:
            yield check(
                "warning",
                "joined_edges_differ",
                said(
                    "check.joined_edges_differ",
                    edge=junction.a.edge,
                    surface=junction.a.surface,
                    length_mm=round(lengths[0]),
                    other_edge=junction.b.edge,
                    other_surface=junction.b.surface,
                    other_length_mm=round(lengths[1]),
                ),
                f"/junctions/{number}",
            )
