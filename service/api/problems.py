"""Refusals: the kinds there are, and how each becomes an RFC 9457 answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from urllib.parse import quote

from flask import Response, g, request

from api_schema.problem import Fault, Problem
from api_schema.shape import dump
from service.api import strict_json

MEDIA_TYPE = "application/problem+json"
MOST_FAULTS_SHOWN = 200


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: its stable word, status, and what to do about it."""

    code: str
    status: int
    title: str
    advice: str


_KINDS = (
    Kind("not_json", 400, "What was sent is not JSON", "Mend the text where the answer says it breaks."),
    Kind("bad_request", 400, "The request cannot be used", "The detail says which part to change."),
    Kind("bad_header", 400, "A header cannot be used", "The detail names the header and what it may hold."),
    Kind("bad_parameter", 400, "A query parameter cannot be used", "`errors` names each one."),
    Kind("bad_cursor", 400, "That page cannot be found",
         "Start from the first page; take each next address from the answer instead of building it."),
    Kind("no_key", 401, "A key is needed", "Send `Authorization: Bearer KEY` with a key of your account."),
    Kind("bad_key", 401, "This key is not valid",
         "It is mistyped, revoked or of another installation. Make a new one with an admin key."),
    Kind("scope_missing", 403, "This key may not do that", "Use a key with the scope the answer names."),
    Kind("not_found", 404, "There is no such thing here",
         "Check the address. A thing of another account, a deleted one and one that never was answer alike."),
    Kind("not_planned", 404, "This job has not been planned",
         "Plan it with `POST /v1/jobs/{id}/plan/retry`, or send it with `plan` true."),
    Kind("no_such_method", 405, "That cannot be done here", "The `Allow` header lists what can."),
    Kind("conflict", 409, "That cannot be done as things stand", "The detail says what stands in the way."),
    Kind("plan_not_ready", 409, "The plan is not ready yet",
         "Ask again after the seconds in `Retry-After`, or read the plan's status."),
    Kind("still_running", 409, "The first request with this Idempotency-Key is still being answered",
         "Send the same request again after the seconds in `Retry-After`."),
    Kind("run_ended", 409, "The plan has ended already",
         "There is nothing left to stop. Plan the job again if you want another plan."),
    Kind("run_not_failed", 409, "The plan has not failed",
         "Only a failed or cancelled plan is made again. Change the job to get a new revision and a new plan."),
    Kind("quote_not_open", 409, "The quote is not open for an answer",
         "Only an issued quote is accepted or declined. Look at the newest revision of the job's quote."),
    Kind("chosen_otherwise", 409, "The quote was accepted with another choice",
         "What was agreed stands. Issue a further revision to agree on something else."),
    Kind("quote_frozen", 409, "The quote was issued and is kept", "Issue a further revision; it takes the place of this one."),
    Kind("quote_not_priced", 409, "The quote has no price yet",
         "Ask again in a moment; `pricing` and `problem` of the quote say how far it is."),
    Kind("quote_outdated", 409, "The job has changed since the draft was made", "Make a new quote from the new plan."),
    Kind("quote_not_accepted", 409, "The quote is not accepted", "Nothing is agreed before the customer accepted it."),
    Kind("quote_replaced", 409, "A later revision of the quote was accepted", "Ask the same of the revision accepted last."),
    Kind("job_changed_since", 409, "The job has changed since the quote was priced",
         "The detail says what differs. Send `onto_revision` with the newest revision of the job to go on knowingly."),
    Kind("has_customers", 409, "The merchant still has trade customers", "Delete their accounts first."),
    Kind("already_finished", 409, "The job was finished before",
         "Its stock was taken off then; its ledger says what it used. Put other changes right in the price book."),
    Kind("not_so_ordered", 409, "The order is for other packs", "Read the order; `lines` and `came` say what is still to come."),
    Kind("key_revoked", 409, "The key is revoked", "Make a new key."),
    Kind("order_moved_on", 409, "The order has moved on", "Read the order; its state says what can follow."),
    Kind("already_settled", 409, "The rolls of this plan were taken off stock before",
         "Nothing is left to do: `GET /v1/offcuts` says what was kept. Put other changes right in the price book."),
    Kind("order_under_way", 409, "An order with rolls of this plan is under way",
         "Note first that it was received, so that its rolls are on hand before they are taken off."),
    Kind("stock_changed", 409, "What the plan uses is no longer on hand",
         "Put the price book right, or plan the job again with what is on hand now."),
    Kind("no_such_offcut", 409, "The plan leaves no such offcut",
         "Name places in `cut_list.kept` of the plan, counted from 0."),
    Kind("too_many_offcuts", 409, "There are as many offcuts on hand as a price book takes",
         "Keep fewer, or take some out of the price book."),
    Kind("not_rendered_yet", 409, "It has not been written yet",
         "Ask again after the seconds in `Retry-After`. A draft of a quote is written once it is issued."),
    Kind("too_many_hooks", 409, "The account has as many hooks as it may have", "Remove one you no longer need."),
    Kind("hook_not_active", 409, "The hook is not active", "Set `active` to true first; nothing is sent to it until then."),
    Kind("batch_too_big_at_once", 409, "That is too much for one file",
         "Ask for a part of the batch: `first` and `last` say from which job to which, `kind` which documents."),
    Kind("quote_expired", 409, "The quote's last day has passed",
         "Issue a new revision of the quote and answer that one."),
    Kind("too_many_leaks", 409, "No more leaks can be noted on this job",
         "Note what is left under one surface, or in the notes of the fan test."),
    Kind("test_not_ready", 409, "The fan test has no result yet",
         "Ask again after the seconds in `Retry-After`, or read the test's status."),
    Kind("changed_meanwhile", 412, "It was changed since you read it",
         "Read it again, make your change on what stands there now, and send it with the new `ETag`."),
    Kind("too_large", 413, "The request is too large", "Split it. The detail says how much is taken."),
    Kind("wrong_media_type", 415, "That kind of content is not taken here", "The detail says which is."),
    Kind("bad_input", 422, "What was sent cannot be used", "`errors` names every place and what to do there."),
    Kind("key_reused", 422, "This Idempotency-Key came with another request before",
         "Use a new key for each new request; repeat a request only with the very same body."),
    Kind("if_match_missing", 428, "Say which version you are changing",
         "Read the thing first and send its `ETag` as `If-Match`, so that nobody's change is lost."),
    Kind("too_many_requests", 429, "Too many requests", "Wait for the seconds in `Retry-After`."),
    Kind("our_fault", 500, "Something went wrong on our side",
         "Try again; if it stays, tell whoever runs this service the `request_id`."),
    Kind("busy", 503, "The service is too busy or not ready", "Try again after the seconds in `Retry-After`."),
)  # fmt: skip
KINDS: Mapping[str, Kind] = {kind.code: kind for kind in _KINDS}

_BY_STATUS = {
    400: "bad_request", 404: "not_found", 405: "no_such_method", 413: "too_large", 415: "wrong_media_type",
    503: "busy",
}  # fmt: skip


class Refusal(Exception):  # noqa: N818 - the request is refused; nothing of ours failed
    """Ends a request with a problem. `code` names one of `KINDS`, or is a state's own word (409)."""

    def __init__(
        self,
        code: str,
        detail: str = "",
        *,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        self.kind = KINDS.get(code) or Kind(code, 409, KINDS["conflict"].title, "")
        self.detail = detail
        self.faults = tuple(faults)
        self.headers = dict(headers or {})
        super().__init__(detail or self.kind.title)

    def answer(self) -> Response:
        """The HTTP answer."""
        return problem_answer(self.kind, self.detail, faults=self.faults, headers=self.headers)


def bad_input(faults: Sequence[Fault]) -> Refusal:
    """A 422 that lists every fault."""
    count = len(faults)
    detail = "1 thing needs correcting." if count == 1 else f"{count} things need correcting."
    if count > MOST_FAULTS_SHOWN:
        detail += f" The first {MOST_FAULTS_SHOWN} are listed."
    return Refusal("bad_input", detail, faults=faults[:MOST_FAULTS_SHOWN])


def problem_answer(
    kind: Kind, detail: str, *, faults: Sequence[Fault] = (), headers: Mapping[str, str] | None = None
) -> Response:
    """A problem+json answer."""
    body = Problem(
        type=f"/problems/{kind.code}" if kind.code in KINDS else "about:blank",
        title=kind.title,
        status=kind.status,
        detail=detail or kind.advice or kind.title,
        instance=quote(request.path, safe="/:@!$&'()*+,;=~", errors="replace")[:400],
        code=kind.code,
        request_id=g.get("request_id", ""),
        errors=tuple(faults),
    )
    answer = Response(strict_json.write(dump(body)), status=kind.status, mimetype=MEDIA_TYPE)
    for name, value in (headers or {}).items():
        answer.headers[name] = value
    return answer


def kind_of_status(status: int) -> Kind:
    """The kind of a refusal that the web framework made by itself."""
    if status in _BY_STATUS:
        return KINDS[_BY_STATUS[status]]
    title = HTTPStatus(status).phrase if status in HTTPStatus._value2member_map_ else "Refused"
    return Kind(f"http_{status}", status, title, "")
