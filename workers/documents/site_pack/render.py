"""Puts the parts of a site pack together."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from itertools import zip_longest

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.standard import Standard
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page, two_columns
from workers.documents.qr import draw_qr
from workers.documents.renderer import to_pdf
from workers.documents.site_pack.cover import agreed_in_words, check_rows, facts, standard_rows
from workers.documents.site_pack.fixings import fixings_in_words, penetration_rows, quantity_rows
from workers.documents.site_pack.measured import measured_in_words, measured_rows
from workers.documents.site_pack.pack import Pack
from workers.documents.site_pack.rolls import kept_rows, roll_blocks
from workers.documents.site_pack.surfaces import name_column, surface_pages

_CODE = "job-page.svg"


def render_site_pack(
    job: Job, plan: Plan, standard: Standard, profile: Profile, *, made_at: datetime.datetime,
    letterhead: Letterhead = PLAIN, job_page: str = "", drawings: Mapping[str, bytes] | None = None,
    price_book: PriceBook | None = None,
) -> bytes:  # fmt: skip
    """The site pack as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    `plan` must be the plan of `job`: its layouts are found by the surfaces' ids. `made_at` is an aware time and
    the only one the file carries. The cover shows a code that leads to `job_page`, where that is known. `drawings`
    are the surfaces as `draw_surface` drew them, by their ids, where that was done already. `price_book` names the
    collars that other trades bring.
    """
    pack = Pack.of(job, plan, standard, profile.language, price_book)
    texts = pack.texts
    standard = standard_rows(pack)
    plain = [row for row in standard if not row["noted"]]
    if job_page:
        pack.assets[_CODE] = draw_qr(job_page, 26, texts("pack.code_alt"), texts.language)
    html = page(
        "site_pack.html",
        title=texts("pack.title", reference=job.reference),
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        job=job,
        code=_CODE if job_page else "",
        job_page=job_page,
        notes=job.notes.splitlines(),
        agreed=agreed_in_words(pack),
        facts=facts(pack),
        checks=list(in_tables(check_rows(pack))),
        cautions=texts.lines("caution."),
        standard_rows=[row for row in standard if row["noted"]],
        standard_pairs=list(zip_longest(plain[::2], plain[1::2])),
        rolls=roll_blocks(pack),
        kept=kept_rows(pack),
        surfaces=surface_pages(pack, drawings or {}),
        ticks=texts.lines("tick."),
        names=name_column([hole for surface in job.surfaces for hole in surface.penetrations]),
        schedule=list(in_tables(penetration_rows(pack))),
        fixings=fixings_in_words(pack),
        quantities=two_columns(quantity_rows(pack)),
        measured=list(in_tables(measured_rows(pack))),
        measured_how=measured_in_words(pack),
    )
    return to_pdf(html, {**pack.assets, **letterhead.assets}, made_at)
