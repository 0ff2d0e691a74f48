"""The logo that documents carry: looked at, set, taken away."""

from __future__ import annotations

from flask import Response, request

from api_schema.problem import Fault
from service.api.problems import Refusal, bad_input
from service.pages.account import show_profile
from service.pages.operations import ask
from service.pages.serving import Pages, Visit, go


def add_logo(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/account/logo", logo, scope="admin", methods=("POST",))
    pages.add("/account/logo.png", picture)


def logo(visit: Visit) -> Response:
    """A new one, or none from now on."""
    if request.form.get("do") == "remove":
        ask(visit, "remove_logo")
        return go("/account", "no_logo")
    file = request.files.get("logo")
    try:
        if not file or not file.filename:
            raise bad_input((Fault("", "is missing; choose a PNG or JPEG file."),))
        ask(visit, "set_logo", body=file.stream.read())
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return show_profile(visit, logo_faults=[fault.detail for fault in refusal.faults], status=422)
    return go("/account", "logo")


def picture(visit: Visit) -> Response:
    """The logo as documents show it."""
    answer = ask(visit, "read_logo")
    response = Response(answer.body, content_type=answer.media_type)
    response.headers["Cache-Control"] = "private, no-cache"
    response.set_etag(str(answer.etag))
    return response.make_conditional(request)  # type: ignore[return-value]
