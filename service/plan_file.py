"""`lapwise plan FILE.json`: one job planned in this process, without server, account or database."""

from __future__ import annotations

import datetime
import json
from decimal import Decimal
from pathlib import Path

from marshmallow import ValidationError

from api_schema.account import Profile
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.order import Order
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.problem import Fault, SurveyFaults, faults_in
from api_schema.quote import Quote
from api_schema.shape import dump, load
from workers.documents import render_order, render_quote, render_site_pack
from workers.drawings import drawings_of
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job

_PROFILE = Profile(name="Your firm")


class CannotPlan(ValueError):  # noqa: N818 - reads as what it says
    """What is wrong with the file, a line for each fault."""


def plan_file(file: Path, pdf_dir: Path | None) -> str:
    """The plan of the job in `file`, with the default standard, outputs and price book, as JSON text.

    With `pdf_dir` also saves there the quote as a draft, an order for each supplier, the site pack and the drawings.

    Raises:
        CannotPlan: the file is no JSON, or no job that can be planned; every fault is named.
    """
    job = _job_of(file)
    standard, book = default_standard(), default_price_book()
    try:
        job = prepare(job)
        plan = plan_job(job, standard, default_outputs(), book)
    except SurveyFaults as faults:
        raise CannotPlan(_in_words(file, faults.faults)) from None
    if pdf_dir is not None:
        made_at = datetime.datetime.now(datetime.UTC)
        pdf_dir.mkdir(parents=True, exist_ok=True)
        for name, content in _papers(job, plan, book, made_at).items():
            (pdf_dir / name).write_bytes(content)
        site_pack = render_site_pack(job, plan, standard, _PROFILE, made_at=made_at, price_book=book)
        (pdf_dir / "site-pack.pdf").write_bytes(site_pack)
        for surface, svg in drawings_of(job, plan, standard).items():
            (pdf_dir / f"{surface}.svg").write_bytes(svg)
    return json.dumps(dump(plan), indent=1, ensure_ascii=False)


def _job_of(file: Path) -> Job:
    try:
        return load(Job, json.loads(file.read_text(encoding="utf-8")))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise CannotPlan(f"{file} is not JSON: {error}") from None
    except ValidationError as error:
        raise CannotPlan(_in_words(file, tuple(faults_in(error.messages)))) from None


def _in_words(file: Path, faults: tuple[Fault, ...]) -> str:
    lines = [f"{file} cannot be planned as it is:"]
    return "\n".join([*lines, *(f"  {fault.pointer or '(the whole)'} {fault.detail}" for fault in faults)])


def _papers(job: Job, plan: Plan, book: PriceBook, made_at: datetime.datetime) -> dict[str, bytes]:
    quote = Quote(
        number="draft",
        revision=1,
        state="draft",
        issued_on=None,
        valid_until=None,
        reference=job.reference,
        title=job.title,
        customer=job.customer,
        price=plan.price,
        terms=_PROFILE.terms,
    )
    papers = {"quote-draft.pdf": render_quote(quote, _PROFILE, made_at=made_at)}
    for supplier in book.suppliers:
        lines = tuple(line for line in plan.order_lines if line.supplier == supplier.code and line.packs > 0)
        if lines:
            order = Order(
                number=f"draft-{supplier.code}"[:32],
                state="draft",
                made_on=made_at.date(),
                supplier=supplier,
                reference=job.reference,
                currency=book.currency,
                lines=lines,
                net=sum((line.price for line in lines), Decimal(0)),
                deliver_to=job.customer.address,
            )
            papers[f"order-draft-{supplier.code}.pdf"] = render_order(order, _PROFILE, made_at=made_at)
    return papers
