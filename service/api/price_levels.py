"""A merchant's price levels for its trade customers."""

from __future__ import annotations

from api_schema.price_levels import PriceLevels
from api_schema.problem import Fault
from service.api.editing import check_match, etag_of, storable
from service.api.noting import note
from service.api.operation import Answer, Asked, Resource
from service.api.problems import Refusal, bad_input
from service.records import accounts, served_books
from service.records.errors import NotFound

price_levels = Resource(
    "price-levels",
    "Price levels",
    "By how much a merchant's prices differ for its trade customers, as long as they buy from its price book.",
)


@price_levels.operation(
    "GET",
    "/v1/price-levels",
    "Read the price levels",
    scope="read",
    gives={200: PriceLevels},
    may_answer=(409,),
    etag=True,
)
def read_price_levels(asked: Asked) -> Answer:
    """Gives the levels and who buys at which. A merchant's affair: its customers see prices, not levels."""
    _merchants_only(asked)
    body, version = served_books.get_levels(asked.session, asked.caller.account_id)
    return Answer(body, etag=_etag(asked, version))


@price_levels.operation(
    "PUT",
    "/v1/price-levels",
    "Replace the price levels",
    scope="admin",
    takes=PriceLevels,
    example={
        "levels": [{"code": "regular", "name": "Regular customers", "change": "-0.08"}],
        "others": "regular",
    },
    gives={200: PriceLevels},
    may_answer=(409,),
    edits=True,
    etag=True,
)
def replace_price_levels(asked: Asked) -> Answer:
    """Replaces the levels. They hold for what is planned from now on; quotes and orders made before stay as they are."""
    _merchants_only(asked)
    account_id = asked.caller.account_id
    _, version = served_books.get_levels(asked.session, account_id)
    check_match(asked.if_match, _etag(asked, version))
    wish: PriceLevels = asked.body
    faults = _faults(asked, wish)
    if faults:
        raise bad_input(faults)
    body = storable(wish)
    version = served_books.put_levels(asked.session, account_id, body, if_version=version)
    note(asked, "price_levels.changed", account_id)
    return Answer(body, etag=_etag(asked, version))


def _faults(asked: Asked, wish: PriceLevels) -> tuple[Fault, ...]:
    faults = []
    codes = [level.code for level in wish.levels]
    for place, code in enumerate(codes):
        if code in codes[:place]:
            faults.append(Fault(f"/levels/{place}/code", f'"{code}" stands twice; each may stand once.'))
    if wish.others is not None and wish.others not in codes:
        faults.append(Fault("/others", f'"{wish.others}" is not among the levels; add it or leave it out.'))
    named = [one.account for one in wish.customers]
    for place, one in enumerate(wish.customers):
        if one.level not in codes:
            faults.append(
                Fault(f"/customers/{place}/level", f'"{one.level}" is not among the levels; add it.')
            )
        if one.account in named[:place]:
            faults.append(Fault(f"/customers/{place}/account", "stands twice; each may stand once."))
        try:
            accounts.customer_of(asked.session, asked.caller.account_id, one.account)
        except NotFound:
            faults.append(
                Fault(f"/customers/{place}/account", "is no trade customer of yours; add it first.")
            )
    return tuple(faults)


def _etag(asked: Asked, version: int) -> str:
    return etag_of("price_levels", asked.caller.account_id, version)


def _merchants_only(asked: Asked) -> None:
    if asked.caller.kind != "merchant":
        raise Refusal("conflict", "Only a merchant has price levels; this account is a contractor.")
