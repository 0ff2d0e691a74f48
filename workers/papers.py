"""What a render run makes: a document, and beside a quote or an order the same for machines."""

from __future__ import annotations

from dataclasses import dataclass

from api_schema.account import Profile
from api_schema.order import Order
from api_schema.plan import Plan
from api_schema.pressure_result import PressureTestResult
from api_schema.pressure_test import PressureTestInput
from api_schema.quote import Quote
from api_schema.shape import load
from service.records import documents, drawings, jobs, orders, pressure_tests, quotes, runs
from service.records.documents import PDF
from service.records.store import Store
from service.records.tables import Run
from workers.documents import (
    Letterhead,
    render_cut_labels,
    render_order,
    render_quote,
    render_site_pack,
    render_survey_report,
    render_test_report,
    render_trade_pack,
    render_walk_round,
)
from workers.documents.ubl import order_xml, quotation_xml
from workers.drawings import zip_of_drawings
from workers.engine.captives import captive_costs
from workers.engine.pressure.walk_round import walk_round
from workers.inputs import inputs_of, logo_of, profile_of
from workers.queue import settings
from workers.surveys import survey_of

_XML, _ZIP = "application/xml", "application/zip"


@dataclass(frozen=True, slots=True)
class Paper:
    """One file to be stored."""

    kind: str
    filename: str
    content: bytes
    media_type: str = PDF


def papers_of(store: Store, run: Run) -> tuple[Paper, ...]:
    """Everything a render run asks for."""
    if run.document_kind == "quote":
        return _quote(store, run)
    if run.document_kind == "order":
        return _order(store, run)
    alone = {
        "site_pack": _site_pack,
        "trade_pack": _trade_pack,
        "test_report": _test_report,
        "walk_round": _walk_round,
        "survey_report": _survey_report,
        "cut_labels": _cut_labels,
        drawings.FILES: _drawing_files,
    }
    return (alone[str(run.document_kind)](store, run),)


def _quote(store: Store, run: Run) -> tuple[Paper, ...]:
    with store.reading() as session:
        body = quotes.get_quote(session, run.account_id, str(run.subject_id)).body
    quote = load(Quote, {**body, "state": "issued"})  # it may have been answered or replaced since
    profile = profile_of(store, run)
    name = documents.safe_name("quote", quote.number, str(quote.revision))
    return (
        Paper("quote", name, _quote_pdf(store, run, quote, profile)),
        Paper("quote_xml", _as_xml(name), quotation_xml(quote, profile), _XML),
    )


def _order(store: Store, run: Run) -> tuple[Paper, ...]:
    with store.reading() as session:
        body = orders.get_order(session, run.account_id, str(run.subject_id)).body
    order = load(
        Order, {**body, "state": "sent"}
    )  # as the supplier gets it; where it stands is told beside it
    profile = profile_of(store, run)
    name = documents.safe_name("order", order.number)
    return (
        Paper("order", name, _order_pdf(store, run, order, profile)),
        Paper("order_xml", _as_xml(name), order_xml(order, profile), _XML),
    )


def _quote_pdf(store: Store, run: Run, quote: Quote, profile: Profile) -> bytes:
    return render_quote(quote, profile, made_at=run.created_at, letterhead=Letterhead(logo_of(store, run)))


def _order_pdf(store: Store, run: Run, order: Order, profile: Profile) -> bytes:
    return render_order(order, profile, made_at=run.created_at, letterhead=Letterhead(logo_of(store, run)))


def _site_pack(store: Store, run: Run) -> Paper:
    plan, inputs = _plan_of(store, run), inputs_of(store, run)
    with store.reading() as session:
        drawn = drawings.surfaces_of(session, run.account_id, str(run.subject_id))
    page = f"{settings.public_url.rstrip('/')}/jobs/{run.job_id}" if settings.public_url else ""
    content = render_site_pack(
        inputs.job, plan, inputs.standard, profile_of(store, run), made_at=run.created_at,
        letterhead=Letterhead(logo_of(store, run)), job_page=page, drawings=drawn,
        price_book=inputs.price_book,
    )  # fmt: skip
    name = documents.safe_name("site-pack", inputs.job.reference, str(run.revision))
    return Paper("site_pack", name, content)


def _trade_pack(store: Store, run: Run) -> Paper:
    plan, inputs = _plan_of(store, run), inputs_of(store, run)
    captives = captive_costs(inputs.job, plan.take_off, inputs.outputs, inputs.price_book)
    content = render_trade_pack(
        inputs.job, plan, captives, inputs.price_book, profile_of(store, run), made_at=run.created_at,
        letterhead=Letterhead(logo_of(store, run)),
    )  # fmt: skip
    name = documents.safe_name("trade-pack", inputs.job.reference, str(run.revision))
    return Paper("trade_pack", name, content)


def _cut_labels(store: Store, run: Run) -> Paper:
    plan, inputs = _plan_of(store, run), inputs_of(store, run)
    content = render_cut_labels(inputs.job, plan, profile_of(store, run), made_at=run.created_at)
    name = documents.safe_name("cut-labels", inputs.job.reference, str(run.revision))
    return Paper("cut_labels", name, content)


def _test_report(store: Store, run: Run) -> Paper:
    with store.reading() as session:
        test = pressure_tests.get_test(session, run.account_id, str(run.subject_id))
        job = jobs.job_body(session, run.account_id, test.job_id, run.revision) if test.job_id else {}
    content = render_test_report(
        load(PressureTestInput, test.body),
        load(PressureTestResult, test.result or {}),
        profile_of(store, run),
        made_at=run.created_at,
        letterhead=Letterhead(logo_of(store, run)),
        job_reference=job.get("reference", ""),
    )
    return Paper("test_report", documents.safe_name("test-report", test.reference), content)


def _walk_round(store: Store, run: Run) -> Paper:
    plan, inputs = _plan_of(store, run), inputs_of(store, run)
    walk = walk_round(inputs.job, plan.take_off, plan.layout)
    content = render_walk_round(
        walk, profile_of(store, run), made_at=run.created_at, letterhead=Letterhead(logo_of(store, run))
    )
    name = documents.safe_name("walk-round", inputs.job.reference, str(run.revision))
    return Paper("walk_round", name, content)


def _survey_report(store: Store, run: Run) -> Paper:
    inputs = inputs_of(store, run)
    survey = survey_of(inputs.sent, inputs.job)
    content = render_survey_report(
        survey, inputs.job.reference, inputs.job.title, profile_of(store, run), made_at=run.created_at,
        letterhead=Letterhead(logo_of(store, run)),
    )  # fmt: skip
    name = documents.safe_name("survey-report", inputs.job.reference, str(run.revision))
    return Paper("survey_report", name, content)


def _drawing_files(store: Store, run: Run) -> Paper:
    inputs, plan_id = inputs_of(store, run), drawings.run_of_subject(str(run.subject_id))
    with store.reading() as session:
        plan = load(Plan, runs.get_plan(session, run.account_id, plan_id))
        drawn = drawings.surfaces_of(session, run.account_id, plan_id)
    content = zip_of_drawings(
        inputs.job, plan, drawn, profile_of(store, run), revision=run.revision, made_at=run.created_at,
        letterhead=Letterhead(logo_of(store, run)),
    )  # fmt: skip
    name = documents.safe_name("drawings", inputs.job.reference, str(run.revision))
    return Paper(drawings.FILES, name.removesuffix(".pdf") + ".zip", content, _ZIP)


def _plan_of(store: Store, run: Run) -> Plan:
    with store.reading() as session:
        return load(Plan, runs.get_plan(session, run.account_id, str(run.subject_id)))


def _as_xml(name: str) -> str:
    return name.removesuffix(".pdf") + ".xml"
