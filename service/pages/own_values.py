"""The account's standard, outputs (working speeds, to people) and price book: looked at with where each value comes from, and changed."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Mapping
from typing import Any

from flask import Response, request
from marshmallow.fields import Boolean

from api_schema.fields import LengthMm, Number
from api_schema.outputs import Outputs
from api_schema.price_book import PRODUCT_KINDS, PriceBook
from api_schema.shape import schema_of
from api_schema.standard import BATTEN_PLACES, BATTEN_RUNS, MEASUREMENT_RULES, Standard
from service.api.editing import loaded
from service.api.own_values import RESOURCES
from service.api.problems import Refusal
from service.pages.forms import Form, Tree, hundredths, tree, typed, without_sign
from service.pages.operations import ask
from service.pages.price_form import act, book_of, form_of_book, places_in_hundredths, rates_of_form
from service.pages.serving import Pages, Visit, go
from service.records.own_values import OwnValue, get_value

_REPLACE = {
    operation.name: operation.view
    for resource in RESOURCES
    for operation in resource.operations
    if operation.method == "PUT"
}
SOURCES = {
    "own": "These are your own.",
    "merchant": "These are your merchant's; once you save, you have your own.",
    "default": "These are starting values; once you save, you have your own.",
}
RULES = {
    "net": "net of every opening",
    "deduct_over_1_00_m2": "openings over 1.00 m² deducted",
    "deduct_over_2_50_m2": "openings over 2.50 m² deducted",
}
_BATTENS = {
    "none": "none",
    "slopes_and_ceilings": "slopes and ceilings",
    "everywhere": "walls, slopes and ceilings",
}
_CHOICES: dict[str, tuple[tuple[str, str], ...]] = {
    "measurement_rule": tuple((rule, RULES[rule]) for rule in MEASUREMENT_RULES),
    "battens_in_place": tuple((place, _BATTENS[place]) for place in BATTEN_PLACES),
    "battens_blown_in": tuple((place, _BATTENS[place]) for place in BATTEN_PLACES),
    "batten_run": tuple((run, run.replace("_", " ")) for run in BATTEN_RUNS),
}
_KIND_TITLES = {
    "membrane": "Membranes", "lap_tape": "Lap tapes", "frame_tape": "Frame tapes", "collar": "Collars", "sealant": "Sealants",
    "primer": "Primers", "staples": "Staples", "batten": "Battens",
}  # fmt: skip
_EACH = {"m2": "a square metre", "m": "a metre", "piece": "each", "room": "a room", "job": "a job"}
_PLACES = {
    "slope": "on a slope", "overhead": "overhead", "floor": "on a floor", "reveal": "in a reveal", "hand": "stapled by hand",
    "electric": "with an electric stapler", "pneumatic": "with a stapler on compressed air", "blown_in": "insulation blown in",
    "over_2500_mm": "above 2.5 m", "over_3500_mm": "above 3.5 m", "over_5000_mm": "above 5 m",
    "over_10_m2": "pieces over 10 m²", "under_2_m2": "pieces under 2 m²",
}  # fmt: skip
"""What a condition of the working speeds looks for, in words."""
_SMALL_WORDS = frozenset(("a", "an", "the", "of", "to", "on", "in", "at", "lost"))
_GROUPS = (
    ("Laying", ("lap_mm", "end_lap_mm", "lap_clear_mm", "lap_penalty_per_m", "along_members_allowed", "handled_length_mm", "cut_step_mm", "slanted_cuts_allowed", "splices_allowed", "splice_part_mm", "splice_overlap_mm")),
    ("At edges and openings", ("return_mm", "trim_mm", "edge_timber_mm", "edge_masonry_mm", "edge_slab_mm", "edge_frame_mm", "edge_open_mm", "opening_turn_in_mm")),
    ("Fixing and sealing", ("fixing_centres_in_place_mm", "fixing_centres_blown_in_mm", "battens_in_place", "battens_blown_in", "batten_run", "batten_centres_mm", "captive_tape_piece_mm", "captive_tape_overlap_mm", "bead_mm")),
    ("Waste, remnants and measuring", ("tape_waste", "bead_waste", "primer_waste", "staple_waste", "batten_waste", "keep_remnant_mm", "measurement_rule")),
)  # fmt: skip


_LABELS = {
    "lap_clear_mm": "Lap kept clear of pipes", "lap_penalty_per_m": "Lap too near a pipe, a metre",
    "along_members_allowed": "Strips may run along the members", "handled_length_mm": "Longest piece handled",
    "slanted_cuts_allowed": "Slanted pieces may share a cut",
    "splices_allowed": "Pieces may be spliced to save a roll", "splice_part_mm": "Shortest part of a spliced piece",
    "splice_overlap_mm": "Overlap of a splice",
    "cut_step_mm": "Cut lengths rounded up to", "return_mm": "Return round a corner", "trim_mm": "Trimmed off at an edge",
    "edge_timber_mm": "Past an edge on timber", "edge_masonry_mm": "Past an edge on masonry",
    "edge_slab_mm": "Past an edge on a slab", "edge_frame_mm": "Past an edge on a frame", "edge_open_mm": "Past an open edge",
    "opening_turn_in_mm": "Turned into an opening", "fixing_centres_in_place_mm": "Staples apart, insulation in place",
    "fixing_centres_blown_in_mm": "Staples apart, blown in",
    "battens_in_place": "Battens, insulation in place", "battens_blown_in": "Battens, insulation blown in",
    "batten_run": "Battens run", "batten_centres_mm": "Battens apart, across the members", "captive_tape_piece_mm": "Tape piece round a captive pipe",
    "captive_tape_overlap_mm": "Overlap of those pieces", "bead_mm": "Bead of sealant",
    "keep_remnant_mm": "Shortest remnant kept", "measurement_rule": "Measured for payment",
}  # fmt: skip


@dataclasses.dataclass(frozen=True, slots=True)
class Entry:
    """One value of the standard."""

    name: str
    label: str
    about: str
    kind: str
    provenance: Mapping[str, Any] | None


def add_own_values(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/standard", standard, scope="write", methods=("GET", "POST"))
    pages.add("/outputs", outputs, scope="write", methods=("GET", "POST"))
    pages.add("/price-book", price_book, scope="write", methods=("GET", "POST"))


def standard(visit: Visit) -> Response:
    """Laps, allowances, centres, waste."""
    value = get_value(visit.session, visit.account_id, "standard")
    if request.method == "GET":
        shown = {name: hundredths(value.body[name]) for name in _shares()}
        return _standard(visit, value, Form({**value.body, **shown}))
    return _save(
        visit, value, Standard, lambda form: {**value.body, **typed(Standard, form)}, _standard,
        lambda _: [f"/{name}" for name in _shares()],
    )  # fmt: skip


def _standard(visit: Visit, value: OwnValue, form: Form, *, status: int = 200) -> Response:
    about = schema_of(Standard)().fields
    sources = {entry["of"]: entry for entry in value.body["provenance"]}
    placed = {name for _, names in _GROUPS for name in names} | {"provenance"}
    others = tuple(
        name for name in about if name not in placed
    )  # a value that is new here still has its place
    groups = [
        (title, [Entry(name, _label(name), _about(name, about[name].metadata["description"]), _kind(about[name]), sources.get(name)) for name in names])
        for title, names in (*_GROUPS, *((('Further', others),) if others else ()))
    ]  # fmt: skip
    return visit.page(
        "standard.html", status=status, title="Standard", part="/standard", form=form, groups=groups, etag=value.sha256,
        source=SOURCES[value.source], choices=_CHOICES,
    )  # fmt: skip


def _shares() -> list[str]:
    """The values of the standard that are parts of one."""
    return [name for name, field in schema_of(Standard)().fields.items() if _kind(field) == "share"]


def _about(name: str, description: str) -> str:
    """What is said under a value; nothing where its label says it already."""
    said = set(re.findall(r"\w+", description.lower())) - _SMALL_WORDS
    return "" if said <= set(re.findall(r"\w+", _label(name).lower())) else description


def _label(name: str) -> str:
    return _LABELS.get(name) or name.removesuffix("_mm").replace("_", " ").capitalize()


def _kind(field: Any) -> str:
    if isinstance(field, LengthMm):
        return "length"
    if isinstance(field, Number):
        return "share" if field.metadata.get("unit") == "1" else "money"
    return "tick" if isinstance(field, Boolean) else "choice"


def outputs(visit: Visit) -> Response:
    """Minutes by operation, and what changes them."""
    value = get_value(visit.session, visit.account_id, "outputs")
    if request.method == "GET":
        return _outputs(
            visit, value, Form({**value.body, "sure_share": hundredths(value.body["sure_share"])})
        )
    return _save(
        visit, value, Outputs, lambda form: typed(Outputs, _over(value.body, form)), _outputs,
        lambda _: ["/sure_share"],
    )  # fmt: skip


def _outputs(visit: Visit, value: OwnValue, form: Form, *, status: int = 200) -> Response:
    return visit.page(
        "outputs.html", status=status, title="Working speeds", part="/outputs", form=form, body=value.body, etag=value.sha256,
        source=SOURCES[value.source], learnt={one["operation"]: one for one in ask(visit, "read_learnt_outputs").body["outputs"]},
        places=_PLACES, units=_EACH,
    )  # fmt: skip


def _over(body: Any, form: Any) -> Any:
    """The body with what the form has in its place; what the form has no field for stays."""
    if isinstance(body, dict) and isinstance(form, dict):
        return {name: _over(inner, form[name]) if name in form else inner for name, inner in body.items()}
    if isinstance(body, list) and isinstance(form, list) and len(body) == len(form):
        return [_over(inner, other) for inner, other in zip(body, form, strict=True)]
    return body if isinstance(body, dict | list) else form


def price_book(visit: Visit) -> Response:
    """Products, packs and prices, suppliers, offcuts on hand, and how a price is made."""
    value = get_value(visit.session, visit.account_id, "price_book")
    if request.method == "GET":
        return _price_book(visit, value, Form(form_of_book(value.body)))
    action = request.form.get("do", "save")
    if action != "save":
        form = _sent()
        opened = act(form, action)
        return _price_book(
            visit, value, Form(form, opened=(opened,)), part=request.headers.get("X-Part") == "form"
        )
    return _save(visit, value, PriceBook, book_of, _price_book, places_in_hundredths)


def _price_book(
    visit: Visit, value: OwnValue, form: Form, *, status: int = 200, part: bool = False
) -> Response:
    return visit.page(
        "price_book_form.html" if part else "price_book.html", status=status, title="Price book", part="/price-book",
        form=form, etag=request.form.get("etag") or value.sha256, source=SOURCES[value.source], kinds=PRODUCT_KINDS, kind_titles=_KIND_TITLES,
        here="/price-book", tax_rates=rates_of_form(form),
    )  # fmt: skip


def _sent() -> Tree:
    return tree({name: request.form.getlist(name)[-1].replace("\r\n", "\n") for name in request.form})


def _save(
    visit: Visit,
    value: OwnValue,
    record: type[Any],
    made_of: Any,
    shown: Any,
    places_in_hundredths: Callable[[Form], list[str]],
) -> Response:
    form = _sent()
    unclear = without_sign(Form(form), places_in_hundredths(Form(form)))
    if unclear:
        return shown(visit, value, Form(form, unclear), status=422)  # type: ignore[no-any-return]
    try:
        replace = _REPLACE[f"replace_{value.name}"]
        replace(visit.asked(loaded(record, made_of(form)), if_match=f'"{request.form.get("etag", "")}"'))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return shown(visit, value, Form(form, refusal.faults), status=422)  # type: ignore[no-any-return]
    return go(request.path, "saved")
