"""Allowances at the edges: finishes, internal corners, and which side of each corner returns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from api_schema.job import Job, Junction
from api_schema.layout import EdgeAllowance
from api_schema.standard import Standard

Role = Literal["returns", "stops", "timber", "masonry", "slab", "frame", "open"]
Side = tuple[str, int]
_PASSES = 3  # over all corners; each pass only ever lowers the whole cost

CostOf = Callable[[str, tuple[int, ...]], int]


def allowance_mm(role: Role, standard: Standard) -> int:
    """How far the layer is carried past an edge of that role."""
    return {
        "returns": standard.return_mm + standard.trim_mm,
        "stops": standard.trim_mm,
        "timber": standard.edge_timber_mm,
        "masonry": standard.edge_masonry_mm,
        "slab": standard.edge_slab_mm,
        "frame": standard.edge_frame_mm,
        "open": standard.edge_open_mm,
    }[role]


def roles_of(job: Job) -> dict[str, list[Role]]:
    """The role of every edge, the surface named first returning at every internal corner.

    An edge that meets nothing and has no finish is open.
    """
    roles: dict[str, list[Role]] = {s.id: ["open"] * len(s.outline_mm) for s in job.surfaces}
    for surface in job.surfaces:
        for edge in surface.edges:
            roles[surface.id][edge.edge] = edge.finish
    rank = {surface.id: number for number, surface in enumerate(job.surfaces)}
    for junction in job.junctions:
        first, second = _ordered(junction, rank)
        roles[first[0]][first[1]] = "returns"
        roles[second[0]][second[1]] = "stops"
    return roles


def choose_returns(job: Job, roles: dict[str, list[Role]], standard: Standard, cost_of: CostOf) -> None:
    """Turn corners round where the other side returns at less cost; `roles` is changed in place.

    Corner by corner in the job's order, given how all others stand, until a whole pass changes nothing or
    three passes are done. A tie leaves the surface named first returning.
    """
    for _ in range(_PASSES):
        changed = False
        for junction in job.junctions:
            a, b = (junction.a.surface, junction.a.edge), (junction.b.surface, junction.b.edge)
            names = list(dict.fromkeys((a[0], b[0])))
            now = _cost(names, roles, standard, cost_of)
            _swap(roles, a, b)
            if _cost(names, roles, standard, cost_of) < now:
                changed = True
            else:
                _swap(roles, a, b)
        if not changed:
            return


def allowances_of(roles: list[Role], standard: Standard) -> tuple[int, ...]:
    """Allowances by edge."""
    return tuple(allowance_mm(role, standard) for role in roles)


def edge_records(roles: list[Role], standard: Standard) -> tuple[EdgeAllowance, ...]:
    """Roles and allowances by edge, as records."""
    return tuple(EdgeAllowance(i, role, allowance_mm(role, standard)) for i, role in enumerate(roles))


def _ordered(junction: Junction, rank: Mapping[str, int]) -> tuple[Side, Side]:
    a, b = (junction.a.surface, junction.a.edge), (junction.b.surface, junction.b.edge)
    return (a, b) if (rank[a[0]], a[1]) <= (rank[b[0]], b[1]) else (b, a)


def _swap(roles: dict[str, list[Role]], a: Side, b: Side) -> None:
    roles[a[0]][a[1]], roles[b[0]][b[1]] = roles[b[0]][b[1]], roles[a[0]][a[1]]


def _cost(names: list[str], roles: dict[str, list[Role]], standard: Standard, cost_of: CostOf) -> int:
    return sum(cost_of(name, allowances_of(roles[name], standard)) for name in names)
