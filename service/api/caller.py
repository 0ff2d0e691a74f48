"""Who asks: the key, its scopes, and the account it acts for."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request

from service.api.problems import Refusal
from service.records.accounts import (
    customer_of,
    find_key,
    get_account,
    key_use_is_old,
    note_key_use,
)
from service.records.errors import NotFound
from service.records.store import Store, now_of

_REALM = 'Bearer realm="lapwise"'


@dataclass(frozen=True, slots=True)
class Caller:
    """A key that was checked, and whose things it is about."""

    account_id: str
    """Whose things: the key's own account, or the trade customer named by Act-For."""
    key_id: str
    key_account_id: str
    scopes: frozenset[str]
    kind: str
    """Of the account whose things it is about: contractor or merchant."""


def caller_of_request(store: Store) -> Caller:
    """The caller by the headers Authorization and Act-For.

    Raises:
        Refusal: 401 without a valid key; 404 where Act-For names no trade customer of the key's account.
    """
    secret = _secret()
    with store.reading() as session:
        key = find_key(session, secret)
        if key is None:
            raise Refusal("bad_key", headers={"WWW-Authenticate": f'{_REALM}, error="invalid_token"'})
        owner = get_account(session, key.account_id)
        account = owner
        wanted = request.headers.get("Act-For")
        if wanted is not None and wanted != owner.id:
            if owner.kind != "merchant":
                raise NotFound("account")
            account = customer_of(session, owner.id, wanted)
        worth_noting = key_use_is_old(key, now_of(session))
    if worth_noting:
        with store.writing() as session:
            note_key_use(session, key.account_id, key.id)
    return Caller(account.id, key.id, key.account_id, frozenset(key.scopes), account.kind)


def _secret() -> str:
    header = request.headers.get("Authorization", "")
    scheme, _, secret = header.partition(" ")
    if scheme.lower() != "bearer" or not secret.strip():
        raise Refusal("no_key", headers={"WWW-Authenticate": _REALM})
    return secret.strip()


def require(caller: Caller, scope: str) -> None:
    """Raises a 403 unless the key has the scope."""
    if scope not in caller.scopes:
        raise Refusal(
            "scope_missing",
            f'This needs a key with the scope "{scope}"; yours has: {", ".join(sorted(caller.scopes))}.',
            headers={"WWW-Authenticate": f'{_REALM}, error="insufficient_scope", scope="{scope}"'},
        )
