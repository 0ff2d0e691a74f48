"""Puts the parts of a site pack together."""

from __future__ import annotations

import datetime

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.standard import Standard
from workers.documents.pages import in_tables, page
from workers.documents.renderer import to_pdf
from workers.documents.site_pack.cover import facts, standard_rows
from workers.documents.site_pack.fixings import fixings_in_words, penetration_rows, quantity_rows
from workers.documents.site_pack.pack import Pack
from workers.documents.site_pack.rolls import kept_rows, roll_blocks
from workers.documents.site_pack.surfaces import surface_pages


def render_site_pack(
    job: Job, plan: Plan, standard: Standard, profile: Profile, *, made_at: datetime.datetime
) -> bytes:
    """The site pack as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    `plan` must be the plan of `job`: its layouts are found by the surfaces' ids. `made_at` is an aware time and
    the only one the file carries.
    """
    pack = Pack.of(job, plan, standard, profile.language)
    texts = pack.texts
    html = page(
        "site_pack.html",
        title=texts("pack.title", reference=job.reference),
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        job=job,
        notes=job.notes.splitlines(),
        facts=facts(pack),
        checks=list(in_tables(sorted(plan.checks, key=lambda check: check.level != "warning"))),
        cautions=texts.lines("caution."),
        standard_rows=standard_rows(pack),
        rolls=roll_blocks(pack),
        kept=kept_rows(pack),
        surfaces=surface_pages(pack),
        ticks=texts.lines("tick."),
        schedule=list(in_tables(penetration_rows(pack))),
        fixings=fixings_in_words(pack),
        quantities=quantity_rows(pack),
    )
    return to_pdf(html, pack.assets, made_at)
