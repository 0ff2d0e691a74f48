"""Every document and drawing of a job, made by `workers.documents`; used by the tasks and by the command alike."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.order import Order
from api_schema.plan import Plan
from api_schema.quote import Quote
from api_schema.standard import Standard
from api_schema.survey import normalised
from workers import documents


class PaperFailed(RuntimeError):  # noqa: N818 - reads as what it says
    """The PDF engine stopped."""


def drawings_of(job: Job, plan: Plan, standard: Standard) -> dict[str, bytes]:
    """Every surface of the job as SVG, by its id."""
    centres_mm = (
        standard.fixing_centres_blown_in_mm
        if job.insulation == "blown_in"
        else standard.fixing_centres_in_place_mm
    )
    laid = {layout.id: layout for layout in plan.layout.surfaces}
    return {
        surface.id: documents.draw_surface(
            surface,
            laid[surface.id],
            tuple(sealing for sealing in plan.take_off.penetrations if sealing.surface == surface.id),
            standard,
            centres_mm,
        )
        for surface in normalised(job).surfaces
        if surface.id in laid
    }


def quote_pdf(quote: Quote, profile: Profile, *, made_at: datetime.datetime) -> bytes:
    """The quote as PDF. Raises PaperFailed."""
    return _contained(lambda: documents.render_quote(quote, profile, made_at=made_at))


def order_pdf(order: Order, profile: Profile, *, made_at: datetime.datetime) -> bytes:
    """The order as PDF. Raises PaperFailed."""
    return _contained(lambda: documents.render_order(order, profile, made_at=made_at))


def site_pack_pdf(
    job: Job, plan: Plan, standard: Standard, profile: Profile, *, made_at: datetime.datetime
) -> bytes:
    """The site pack as PDF. Raises PaperFailed."""
    return _contained(
        lambda: documents.render_site_pack(normalised(job), plan, standard, profile, made_at=made_at)
    )


def _contained(make: Callable[[], bytes]) -> bytes:
    """The PDF engine's refusal to fetch is a BaseException, which would pass through every handler of a task."""
    try:
        return make()
    except (Exception, SystemExit, KeyboardInterrupt):
        raise
    except BaseException as error:
        raise PaperFailed(repr(error)) from error
