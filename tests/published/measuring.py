"""Jobs planned by the real engine, for what they measure."""

from __future__ import annotations

from dataclasses import dataclass

from api_schema.defaults import default_outputs, default_price_book
from api_schema.job import Job
from api_schema.measured_quantity import MeasuredItem, MeasuredQuantity
from api_schema.standard import Standard
from api_schema.surface import Surface
from api_schema.take_off import TakeOff
from workers.engine.plan import plan_job

Corners = tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Planned:
    job: Job
    take_off: TakeOff


def rectangle(left: int, bottom: int, right: int, top: int) -> Corners:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def measured_of(standard: Standard, *surfaces: Surface) -> Planned:
    job = Job("M", surfaces=surfaces)
    return Planned(job, plan_job(job, standard, default_outputs(), default_price_book()).take_off)


def by_item(planned: Planned) -> dict[MeasuredItem, MeasuredQuantity]:
    return {one.item: one for one in planned.take_off.measured}
