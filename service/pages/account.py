"""The account: what its documents show, its keys, and a merchant's trade customers."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

from flask import Response, request

from api_schema.account import Profile
from api_schema.key import KEY_SCOPES, KeyWish
from api_schema.problem import Fault
from api_schema.stored import CustomerWish
from service.api import account as operations
from service.api.editing import loaded
from service.api.problems import Refusal, bad_input
from service.pages.forms import Form, hundredths, tree, typed, without_sign
from service.pages.html import locale_of
from service.pages.serving import Pages, Visit, go
from service.records import accounts, logos
from service.records.store import now_of

SCOPE_WORDS = {
    "read": ("look", "Look at everything"),
    "write": ("change", "Make and change jobs, prices, quotes and orders"),
    "admin": ("look after the account", "Look after keys, hooks, the firm's details and trade customers"),
}
"""What a key may, in a word or two and in full."""
_LANGUAGES = (
    "en_GB", "en_IE", "en_US", "en_CA", "en_AU", "en_NZ", "cs_CZ", "da_DK", "de_AT", "de_CH", "de_DE", "es_ES", "fi_FI", "fr_BE",
    "fr_CA", "fr_CH", "fr_FR", "it_IT", "nb_NO", "nl_BE", "nl_NL", "pl_PL", "pt_PT", "sv_SE",
)  # fmt: skip
"""Whose ways of writing figures and dates can be chosen; another one that stands in the profile stays."""
_MOST_CUSTOMERS = 500


def add_account(pages: Pages) -> None:
    """Routes the pages."""
    pages.add("/account", profile, scope="admin", read_with="read", methods=("GET", "POST"))
    pages.add("/account/keys", keys, scope="admin", read_with="admin", methods=("GET", "POST"))
    pages.add("/account/keys/<key>/revoke", revoke, scope="admin", methods=("POST",))
    pages.add("/account/keys/<key>/rotate", rotate, scope="admin", methods=("POST",))
    pages.add("/account/customers", customers, methods=("GET",))
    pages.add("/account/customers/add", add_customer, scope="admin", methods=("POST",))
    pages.add("/account/customers/act", act_for, methods=("POST",))


def profile(visit: Visit) -> Response:
    """What documents show of the firm."""
    if request.method == "GET":
        return show_profile(visit)
    form = tree({name: request.form[name].replace("\r\n", "\n") for name in request.form})
    unclear = without_sign(Form(form), ["/tax_rate"])
    if unclear:
        return show_profile(visit, Form(form, unclear), status=422)
    changed = typed(Profile, form)
    names = {field.name for field in dataclasses.fields(Profile)} - {"kind"}
    patch = {name: changed.get(name) for name in names if name in form}
    try:
        operations.change_account(visit.asked(patch, if_match=request.form.get("etag", "")))
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return show_profile(visit, Form(form, refusal.faults), status=422)
    return go("/account", "saved")


def show_profile(
    visit: Visit, form: Form | None = None, *, logo_faults: Sequence[str] = (), status: int = 200
) -> Response:
    """The page, with the profile that is stored where no form is given."""
    row, currency = accounts.get_account(visit.session, visit.account_id), visit.currency
    shown = {"currency": currency, "tax_rate": hundredths(row.profile.get("tax_rate"))}
    form = form or Form({**row.profile, **shown})
    etag = operations.account_etag(row, currency)
    return visit.page(
        "account.html",
        status=status,
        title="Account",
        part="/account",
        form=form,
        languages=[(name, locale_of(name).get_display_name("en")) for name in _LANGUAGES],
        etag=f'"{etag}"',
        account=visit.account,
        logo=logos.logo_now(visit.session, visit.account_id).get("logo", ""),
        logo_faults=logo_faults,
    )


def keys(visit: Visit) -> Response:
    """Every key; a new one's secret is shown here, once."""
    if request.method == "GET":
        return _keys(visit, Form({}))
    form = tree(dict(request.form))
    wanted = {
        "name": form.get("name", "").strip(),
        "scopes": [scope for scope in KEY_SCOPES if f"/may/{scope}" in request.form],
    }
    try:
        made = operations.make_key(visit.asked(loaded(KeyWish, wanted))).body
    except Refusal as refusal:
        if not refusal.faults:
            raise
        return _keys(visit, Form(form, refusal.faults), status=422)
    return _keys(visit, Form({}), made=made)


def _keys(visit: Visit, form: Form, *, made: dict[str, Any] | None = None, status: int = 200) -> Response:
    return visit.page(
        "keys.html", status=status, title="Keys", part="/account", form=form, made=made, scopes=SCOPE_WORDS,
        keys=accounts.list_keys(visit.session, visit.account_id), own=visit.caller.key_id, now=now_of(visit.session),
    )  # fmt: skip


def rotate(visit: Visit, key: str) -> Response:
    """Another key in its place, shown here, once."""
    return _keys(visit, Form({}), made=operations.rotate_key(visit.asked(), key).body)


def revoke(visit: Visit, key: str) -> Response:
    """Revokes a key; with one's own, this session ends too."""
    operations.revoke_key(visit.asked(), key)
    return go("/account/keys", "revoked")


def customers(visit: Visit) -> Response:
    """A merchant's trade customers, and for which one it works just now."""
    owner = _merchant(visit)
    return visit.page(
        "customers.html", title="Trade customers", part="/account", acting=visit.account if visit.account.id != owner else None,
        customers=accounts.list_customers(visit.session, owner, limit=_MOST_CUSTOMERS), form=Form({}),
    )  # fmt: skip


def add_customer(visit: Visit) -> Response:
    """A further trade customer."""
    owner = _merchant(visit)
    wish = loaded(CustomerWish, {"name": request.form.get("/name", "").strip()})
    row = accounts.create_customer(visit.session, owner, name=wish.name)
    accounts.note(visit.session, owner, key_id=visit.caller.key_id, action="customer.added", subject=row.id)
    return go("/account/customers", "saved")


def act_for(visit: Visit) -> Response:
    """From here on for this trade customer, or for the merchant itself again."""
    owner = _merchant(visit)
    wanted = request.form.get("customer", "")
    if wanted:
        accounts.customer_of(visit.session, owner, wanted)
    visit.begin_again(acts_for=wanted)
    return go("/jobs", "acting" if wanted else "")


def _merchant(visit: Visit) -> str:
    """The merchant's account, also while it works for a customer. Raises Refusal for a contractor."""
    owner = visit.caller.key_account_id
    if accounts.get_account(visit.session, owner).kind != "merchant":
        raise bad_input((Fault("", "Only a merchant has trade customers; this account is a contractor."),))
    return owner
