"""Quotes of a job: made, issued, answered; each with its price and its PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import Response, request

from api_schema.problem import Fault
from api_schema.quote_alternatives import MOST_ALTERNATIVES, QuoteAcceptance
from api_schema.quote_wish import QuoteWish
from service.api.editing import loaded
from service.api.problems import Refusal
from service.pages.as_agreed import agreed_work
from service.pages.choices import alternatives_shown, names_of
from service.pages.forms import Form, tree, typed
from service.pages.jobs import Head, head_of
from service.pages.operations import ask
from service.pages.papers import Papers, papers_of
from service.pages.plan import price_groups
from service.pages.price_form import rate_choices
from service.pages.serving import Pages, Visit, go
from service.pages.wording import GROUP_WORDS
from service.records import quotes, tables
from service.records.own_values import get_value


def add_quotes(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/jobs/<job>/quote", quote_page, scope="write", methods=("GET", "POST"))
    pages.add("/quotes/<quote>/answer", answer, scope="write", methods=("POST",))


def quote_page(visit: Visit, job: str) -> Response:
    """The quotes of a job, and the form for the next one."""
    head = head_of(visit, job)
    if request.method == "GET":
        return _shown(visit, head, Form({}))
    form = tree({name: request.form[name].replace("\r\n", "\n") for name in request.form})
    rows = form.get("alternatives")
    rows = rows if isinstance(rows, list) else []
    sent = [place for place, row in enumerate(rows) if not isinstance(row, dict) or any(row.values())]
    form_sent = {**form, "alternatives": [rows[place] for place in sent]}
    try:
        wish = loaded(QuoteWish, {**typed(QuoteWish, form_sent), "draft": request.form.get("do") == "draft"})
        ask(visit, "issue_quote", job, body=wish)
    except Refusal as refusal:
        if not refusal.faults:
            raise
        faults = [Fault(_back(fault.pointer, sent), fault.detail) for fault in refusal.faults]
        return _shown(visit, head, Form(form, faults), status=422)
    return go(f"/jobs/{job}/quote", "drafted" if wish.draft else "issued")


def _back(pointer: str, sent: Sequence[int]) -> str:
    """A pointer at the rows of the form again: rows left empty were not sent."""
    steps = pointer.split("/")
    if len(steps) > 2 and steps[1] == "alternatives" and steps[2].isdecimal():
        steps[2] = str(sent[int(steps[2])])
    return "/".join(steps)


_DONE = {
    "issue": ("issue_draft", "issued"),
    "accept": ("accept_quote", "accepted"),
    "decline": ("decline_quote", "declined"),
}


def answer(visit: Visit, quote: str) -> Response:
    """Issues a draft, notes what the customer said, or makes a link at which the customer may say it."""
    row = quotes.get_quote(visit.session, visit.account_id, quote)
    wanted = request.form.get("do", "")
    if wanted == "link":
        made = ask(visit, "make_link", quote).body
        return _shown(visit, head_of(visit, row.job_id), Form({}), link={**made, "quote": quote})
    if wanted == "delete":
        ask(visit, "delete_quote", quote, if_match="*")
        return go(f"/jobs/{row.job_id}/quote", "draft_deleted")
    if wanted not in _DONE:
        raise Refusal("bad_request")
    name, said = _DONE[wanted]
    body = QuoteAcceptance(tuple(request.form.getlist("chosen"))) if wanted == "accept" else None
    try:
        ask(visit, name, quote, body=body)
    except Refusal as refusal:
        if not refusal.faults:
            raise
        words = [fault.detail for fault in refusal.faults]
        refused = {"quote": quote, "ticked": request.form.getlist("chosen"), "faults": words}
        return _shown(visit, head_of(visit, row.job_id), Form({}), status=422, refused=refused)
    return go(f"/jobs/{row.job_id}/quote", said)


def _one(visit: Visit, row: tables.Quote, papers: Papers) -> dict[str, Any]:
    """A quote as the page shows it: with the price agreed where the customer chose something."""
    chosen = quotes.chosen_of(row, quotes.basis_of(visit.session, visit.account_id, row.id))
    price = quotes.agreed_price(row.body, chosen)
    told = ask(visit, "read_quote", row.id).body if price is None else {"pricing": "ready", "problem": None}
    return {
        "row": row,
        "body": row.body,
        "price": price,
        "pricing": told["pricing"],
        "problem": told["problem"],
        "chosen": names_of(row.body, chosen),
        "alternatives": alternatives_shown(row.body, visit.language),
        "paper": papers.of("quote", row.id),
        "coming": papers.is_coming("quote", row.id),
        "groups": price_groups(price) if price else (),
        "changes": ask(visit, "read_changes", row.id).body
        if row.revision > 1 or row.state == "draft"
        else None,
    }


def _shown(
    visit: Visit,
    head: Head,
    form: Form,
    *,
    status: int = 200,
    link: dict[str, Any] | None = None,
    refused: dict[str, Any] | None = None,
) -> Response:
    papers = papers_of(visit, head.row.id)
    book = get_value(visit.session, visit.account_id, "price_book").body
    shown = [_one(visit, row, papers) for row in head.quotes]
    return visit.page(
        "quote.html", status=status, title="Quote", head=head, step="quote", quotes=shown, form=form, group_names=GROUP_WORDS, link=link, refused=refused or {},
        agreed=agreed_work(visit, head), most_alternatives=MOST_ALTERNATIVES,
        tax_rates=rate_choices(book), tax_rates_of_all=rate_choices(book, otherwise="each line's own"),
        days=visit.account.profile.get("quote_valid_days", 30),
        moving=any(one["coming"] or one["pricing"] in ("queued", "running") for one in shown),
    )  # fmt: skip
