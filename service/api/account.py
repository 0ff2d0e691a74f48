"""The account: its profile, its keys, and a merchant's trade customers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from api_schema.account import Profile
from api_schema.key import Key, KeyWish, NewKey
from api_schema.problem import Fault
from api_schema.shape import dump
from api_schema.stored import CustomerWish, StoredAccount, TradeCustomer
from service.api.editing import check_match, etag_of, loaded, merge_patch, storable
from service.api.locales import currency_faults, language_faults
from service.api.noting import note
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import PAGE_PARAMETERS, page_of, whole_list
from service.api.problems import Refusal, bad_input
from service.records import accounts, tables
from service.records.own_values import OwnValue, currency_of, get_value

account = Resource(
    "account",
    "Account",
    "Who you are: the profile your documents show, your keys, and, for a merchant, its trade customers.",
)


def _shown(row: tables.Account, currency: str) -> dict[str, Any]:
    return {
        **row.profile,
        "currency": currency,
        "id": row.id,
        "merchant": row.merchant_id,
        "created_at": row.created_at.isoformat(),
    }


def account_etag(row: tables.Account, currency: str) -> str:
    """Of the account as it is shown."""
    return etag_of("account", row.id, row.version, currency)


@account.operation(
    "GET", "/v1/account", "Read the account", scope="read", gives={200: StoredAccount}, etag=True
)
def read_account(asked: Asked) -> Answer:
    """Gives the profile: name, address, currency, language, tax and terms as your documents show them. The currency is
    that of the price book you buy from.
    """
    row = accounts.get_account(asked.session, asked.caller.account_id)
    currency = currency_of(asked.session, row.id)
    return Answer(_shown(row, currency), etag=account_etag(row, currency))


@account.operation(
    "PATCH",
    "/v1/account",
    "Change the profile",
    scope="admin",
    takes=Profile,
    example={"terms": "Payment within 14 days.", "quote_valid_days": 60},
    gives={200: StoredAccount},
    edits=True,
    etag=True,
)
def change_account(asked: Asked) -> Answer:
    """Changes what you name and leaves the rest. `null` puts a value back to its default.

    Documents made before keep what they show. The currency is that of your prices: once you have a price book, it is
    changed there, with the prices in it.
    """
    row = accounts.get_account(asked.session, asked.caller.account_id)
    book = get_value(asked.session, row.id, "price_book")
    currency = str(book.body["currency"])
    check_match(asked.if_match, account_etag(row, currency))
    profile = loaded(Profile, merge_patch({**row.profile, "currency": currency}, asked.body))
    faults = tuple(_profile_faults(profile, row, book))
    if faults:
        raise bad_input(faults)
    row = accounts.put_profile(asked.session, row.id, storable(profile), if_version=row.version)
    note(asked, "account.changed", row.id)
    return Answer(_shown(row, profile.currency), etag=account_etag(row, profile.currency))


def _profile_faults(profile: Profile, row: tables.Account, book: OwnValue) -> Iterator[Fault]:
    if profile.kind != row.kind:
        yield Fault("/kind", f"cannot be changed: this account is a {row.kind}. Leave it out.")
    if profile.language != row.profile["language"]:
        yield from language_faults(profile.language)
    currency = book.body["currency"]
    if profile.currency == currency:
        return
    if book.source == "default":
        yield from currency_faults(profile.currency)
    else:
        whose = "your" if book.source == "own" else "your merchant's"
        yield Fault(
            "/currency", f"is that of {whose} price book, {currency}. Change it there, with its prices."
        )


keys = Resource(
    "keys", "Keys", "What a program shows to be let in. A key's secret is shown once and kept as a hash."
)


def _shown_key(row: tables.ApiKey) -> dict[str, Any]:
    return dump(
        Key(
            id=row.id,
            name=row.name,
            starts_with=row.prefix,
            ends_with=row.last4,
            scopes=tuple(row.scopes),  # type: ignore[arg-type]
            created_at=row.created_at,
            last_used_at=row.last_used_at,
            revoked_at=row.revoked_at,
        )
    )


@keys.operation(
    "POST",
    "/v1/account/keys",
    "Make a key",
    scope="admin",
    takes=KeyWish,
    example={"name": "job system in the office", "scopes": ["read", "write"]},
    gives={201: NewKey},
)
def make_key(asked: Asked) -> Answer:
    """Makes a key and shows its secret, this once. Give each program its own, with no more scopes than it needs."""
    wish: KeyWish = asked.body
    made = accounts.create_key(
        asked.session, asked.caller.account_id, name=wish.name, scopes=tuple(wish.scopes)
    )
    note(asked, "key.made", made.key.id)
    return _shown_once(made)


def _shown_once(made: accounts.NewKey) -> Answer:
    shown = _shown_key(made.key)
    return Answer({**shown, "secret": made.secret}, status=201, kept_body={**shown, "secret": None})


@keys.operation("GET", "/v1/account/keys", "List the keys", scope="admin", gives={200: ListOf(Key)})
def list_keys(asked: Asked) -> Answer:
    """Lists every key, revoked ones too, oldest first. Secrets are never shown again."""
    return whole_list(accounts.list_keys(asked.session, asked.caller.account_id), _shown_key)


@keys.operation(
    "DELETE", "/v1/account/keys/{key}", "Revoke a key", scope="admin", gives={204: None}, may_answer=(404,)
)
def revoke_key(asked: Asked, key: str) -> Answer:
    """Revokes a key at once and for good. Doing it twice changes nothing."""
    accounts.revoke_key(asked.session, asked.caller.account_id, key)
    note(asked, "key.revoked", key)
    return Answer(status=204)


@keys.operation(
    "POST",
    "/v1/account/keys/{key}/rotate",
    "Change a key's secret",
    scope="admin",
    gives={201: NewKey},
    may_answer=(404, 409),
)
def rotate_key(asked: Asked, key: str) -> Answer:
    """Makes a key of the same name and scopes and shows its secret, this once. The old one opens for 24 hours yet, so
    that programs can change over; its `revoked_at` says until when. Revoke it sooner once nothing uses it any more.
    """
    made = accounts.rotate_key(asked.session, asked.caller.account_id, key)
    note(asked, "key.rotated", key, detail=f"{made.key.id} takes its place")
    return _shown_once(made)


customers = Resource(
    "customers",
    "Trade customers",
    "Contractors a merchant may act for: send the customer's account id as `Act-For` with the merchant's key.",
)


def _shown_customer(row: tables.Account) -> dict[str, Any]:
    return dump(TradeCustomer(id=row.id, name=row.profile["name"], created_at=row.created_at))


@customers.operation(
    "POST",
    "/v1/account/customers",
    "Add a trade customer",
    scope="admin",
    takes=CustomerWish,
    example={"name": "Example Airtight Ltd"},
    gives={201: TradeCustomer},
    may_answer=(409,),
)
def add_customer(asked: Asked) -> Answer:
    """Makes a contractor account this merchant may act for. It buys from the merchant's price book until it has its own."""
    _merchants_only(asked)
    row = accounts.create_customer(asked.session, asked.caller.account_id, name=asked.body.name)
    note(asked, "customer.added", row.id)
    return Answer(_shown_customer(row), status=201)


@customers.operation(
    "GET",
    "/v1/account/customers",
    "List the trade customers",
    scope="read",
    gives={200: ListOf(TradeCustomer)},
    query=PAGE_PARAMETERS,
    may_answer=(409,),
)
def list_customers(asked: Asked) -> Answer:
    """Lists the merchant's trade customers, oldest first."""
    _merchants_only(asked)
    return page_of(
        asked.query,
        lambda limit, after: accounts.list_customers(
            asked.session, asked.caller.account_id, limit=limit, after=after
        ),
        _shown_customer,
    )


def _merchants_only(asked: Asked) -> None:
    if asked.caller.kind != "merchant":
        raise Refusal("conflict", "Only a merchant has trade customers; this account is a contractor.")
