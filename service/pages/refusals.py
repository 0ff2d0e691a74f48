"""What a browser sees where the API would answer with problem+json: the same refusal, as a page with a way on."""

from __future__ import annotations

from flask import Response, g, request

from service.api.problems import Kind
from service.pages.html import private_page

_FOR_PROGRAMS = ("/v1", "/healthz", "/readyz", "/metrics")
_IN_WORDS = {
    404: ("There is no page at this address", "It may be mistyped, or what stood here was removed or belongs to another account."),
    405: ("That cannot be done at this address", "Open the page again and do it from there."),
    413: ("That is too large", "Send less at once: a smaller file, or a form with fewer rows."),
    415: ("That kind of file is not taken here", "Open the page again; it says which kind is."),
    429: ("Too many requests from here", "Wait a minute, then open the page again."),
    500: ("Something went wrong on our side", "What you did last may not have been saved: go back and look before you do it again. If it stays, tell whoever runs this service."),
    503: ("The service is busy, or not ready yet", "Nothing was changed. Try again in a moment."),
}  # fmt: skip

_TO_DO = {
    "scope_missing": "The key you signed in with does not reach this far. Ask whoever keeps your firm's keys for one that does.",
    "not_planned": "Open its Plan page and plan it there.",
    "plan_not_ready": "It is being made, or could not be made: the job's Plan page says which.",
    "still_running": "Wait a moment, then open the page again.",
    "quote_not_priced": "Wait a moment, then open the page again.",
    "test_not_ready": "Wait a moment, then open the page again.",
    "not_rendered_yet": "Wait a moment, then open the page again. A draft of a quote is written once it is issued.",
    "already_settled": "Nothing is left to do: the page of offcuts says what was kept.",
    "no_such_offcut": "Open the Fit page again, and tick what is really left.",
    "changed_meanwhile": "Open it again, and make your change on what stands there now.",
    "hook_not_active": "Go on with it first; nothing is sent to it until then.",
    "bad_input": "Go back and look through what was entered.",
    "too_many_requests": "Wait a minute, then open the page again.",
    "busy": "Nothing was changed. Try again in a moment.",
}
"""What somebody at a page does about a refusal, where the API's advice is for programs."""


def advice_of(kind: Kind) -> str:
    """What to do about a refusal, for somebody at a page."""
    return _TO_DO.get(kind.code, kind.advice)


def wants_a_page() -> bool:
    """Is it a browser that asks for a page? A program gets problem+json, and so does everybody under the API's addresses."""
    if any(request.path == one or request.path.startswith(f"{one}/") for one in _FOR_PROGRAMS):
        return False
    return any(kind == "text/html" and quality > 0 for kind, quality in request.accept_mimetypes)


def refusal_page(kind: Kind, detail: str) -> Response:
    """The page of a refusal. `detail` is said where it knows more than the kind of refusal does."""
    title, advice = _IN_WORDS.get(kind.status, (kind.title, kind.advice))
    return private_page(
        "refused.html",
        status=kind.status,
        title=title,
        detail=detail or advice,
        request_id=g.get("request_id", ""),
    )
