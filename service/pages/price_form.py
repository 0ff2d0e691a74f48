"""Between a price book's JSON and its form: price breaks in one line, the rest field by field."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from api_schema.price_book import PriceBook
from service.pages.forms import Form, Tree, hundredths, typed

_IN_HUNDREDTHS = ("labour_markup", "material_markup", "overhead", "contingency", "discount", "tax_rate")
_BREAK = re.compile(r"\s*(?:from\s+)?(\d+)\s*(?:packs?)?\s*:\s*([^;]+?)\s*(?:;|$)")


def form_of_book(book: dict[str, Any]) -> Tree:
    """The form of a price book."""
    products = []
    for product in book["products"]:
        packs = [{**pack, "_breaks": _said(pack["breaks"])} for pack in product["packs"]]
        products.append({**product, "packs": packs})
    rules = {**book["rules"], **{name: hundredths(book["rules"][name]) for name in _IN_HUNDREDTHS}}
    rates = [{**rate, "rate": hundredths(rate["rate"])} for rate in book["tax_rates"]]
    return {**book, "products": products, "rules": rules, "tax_rates": rates}


def places_in_hundredths(form: Form) -> list[str]:
    """Where a price book's form has parts of one."""
    rates = [f"/tax_rates/{place}/rate" for place in form.rows("/tax_rates")]
    return [*(f"/rules/{name}" for name in _IN_HUNDREDTHS), *rates]


def _said(breaks: Sequence[dict[str, Any]]) -> str:
    return "; ".join(f"{one['from_packs']}: {one['price']}" for one in breaks)


def book_of(form: Tree) -> dict[str, Any]:
    """The price book's JSON of a form; a line of breaks that cannot be read is refused in words by its field."""
    products = [_product_of(product) for product in _list(form, "products")]
    made: dict[str, Any] = typed(PriceBook, {**form, "products": products})
    return made


def _product_of(form: Any) -> Any:
    if not isinstance(form, dict):
        return form
    packs = []
    for pack in _list(form, "packs"):
        words = pack.get("_breaks", "").strip()
        packs.append({**pack, "breaks": _breaks(words) if words else []})
    return {**form, "packs": packs}


def _breaks(words: str) -> Any:
    found, end = [], 0
    for match in _BREAK.finditer(words):
        if match.start() != end:
            return words
        found.append({"from_packs": match[1], "price": match[2]})
        end = match.end()
    return found if end == len(words) else words


def _list(form: Tree, name: str) -> list[Any]:
    found = form.get(name)
    return found if isinstance(found, list) else []


def act(form: Tree, action: str) -> str:
    """Adds or takes away a row, and gives its pointer. Unknown actions change nothing."""
    verb, _, pointer = action.partition(":")
    steps = pointer.strip("/").split("/")
    rows: Any = form
    for step in steps if verb == "add" else steps[:-1]:
        if isinstance(rows, list):
            rows = rows[int(step)] if step.isdigit() and int(step) < len(rows) else {}
        else:
            rows = (
                rows.setdefault(step, [])
                if step in ("products", "suppliers", "offcuts", "packs", "tax_rates")
                else {}
            )
    if not isinstance(rows, list):
        return ""
    if verb == "remove" and steps[-1].isdigit() and int(steps[-1]) < len(rows):
        del rows[int(steps[-1])]
        return ""
    if verb == "add":
        rows.append(_new(steps[-1], form))
        return f"{pointer}/{len(rows) - 1}"
    return ""


def _new(what: str, form: Tree) -> Tree:
    suppliers = _list(form, "suppliers")
    if what == "packs":
        return {"size": "", "price": "", "_breaks": ""}
    if what == "suppliers":
        return {"code": "", "name": "", "address": "", "email": ""}
    if what == "tax_rates":
        return {"code": "", "name": "", "rate": "", "category": "AA", "provenance": "yours"}
    if what == "offcuts":
        return {"product": "", "length_mm": "", "width_mm": "", "count": "1"}
    return {
        "code": "", "name": "", "kind": "membrane", "supplier": suppliers[0].get("code", "") if suppliers else "",
        "unit": "m", "packs": [_new("packs", form)], "on_hand": "0", "provenance": "yours",
    }  # fmt: skip


def rate_choices(book: dict[str, Any], *, otherwise: str = "the standard one") -> list[tuple[str, str]]:
    """The tax rates of a price book's JSON to choose from, each with its height; the first leaves it as it is."""
    named = [rate for rate in book.get("tax_rates") or () if rate.get("code")]
    return [
        ("", otherwise),
        ("standard", _with_rate("standard", hundredths(book["rules"]["tax_rate"]))),
        *(
            (rate["code"], _with_rate(rate.get("name") or rate["code"], hundredths(rate["rate"])))
            for rate in named
        ),
    ]


def rates_of_form(form: Form) -> list[tuple[str, str]]:
    """The same of a price book's form, whose rates are written with their sign."""

    def rate_at(pointer: str) -> str:
        return form.value(pointer).strip() if form.value(pointer).strip().endswith("%") else ""

    standard = _with_rate("standard", rate_at("/rules/tax_rate"))
    rows = [f"/tax_rates/{place}" for place in form.rows("/tax_rates")]
    named = [
        (code, _with_rate(form.value(f"{row}/name") or code, rate_at(f"{row}/rate")))
        for row in rows
        if (code := form.value(f"{row}/code"))
    ]
    return [("", "the standard one"), ("standard", standard), *named]


def _with_rate(name: str, shown: str) -> str:
    """The name of a tax rate and how high it is, where the name does not say so."""
    return name if not shown or "%" in name else f"{name}, {shown}"
