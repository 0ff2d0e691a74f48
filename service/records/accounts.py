"""Accounts, their keys, a merchant's trade customers, and the audit trail."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from api_schema.account import AccountKind, Profile
from api_schema.shape import dump
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.ids import hash_of, looks_like_a_key, new_id, new_secret
from service.records.store import now_of
from service.records.tables import Account, ApiKey, Audit

SCOPES = ("read", "write", "admin")
_SHOWN = 12  # characters of a key that may be shown: its prefix and four more
_USED_AGAIN = datetime.timedelta(minutes=1)
OLD_KEY_OPENS = datetime.timedelta(hours=24)  # beside the one that takes its place


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key just made. `secret` is never to be had again."""

    key: ApiKey
    secret: str


def create_account(
    session: Session, *, name: str, kind: AccountKind, merchant_id: str | None = None
) -> Account:
    """A new account with a profile of defaults; with `merchant_id`, that merchant's trade customer."""
    account = Account(
        id=new_id("acc"),
        kind=kind,
        merchant_id=merchant_id,
        profile=dump(Profile(name=name, kind=kind)),
        version=1,
        created_at=now_of(session),
    )
    session.add(account)
    session.flush()
    return account


def get_account(session: Session, account_id: str) -> Account:
    """The account. Raises NotFound."""
    account = session.get(Account, account_id)
    if account is None:
        raise NotFound("account")
    return account


def put_profile(session: Session, account_id: str, profile: dict[str, Any], *, if_version: int) -> Account:
    """Stores a profile (JSON of `Profile`). Raises NotFound, or Stale where `if_version` has passed."""
    account = get_account(session, account_id)
    changed = session.execute(
        update(Account)
        .where(Account.id == account_id, Account.version == if_version)
        .values(profile=profile, version=if_version + 1)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("account")
    session.refresh(account)
    return account


def create_customer(session: Session, merchant_id: str, *, name: str) -> Account:
    """A trade customer of the merchant. Raises NotFound where the account is no merchant."""
    if get_account(session, merchant_id).kind != "merchant":
        raise NotFound("merchant")
    return create_account(session, name=name, kind="contractor", merchant_id=merchant_id)


def list_customers(
    session: Session,
    merchant_id: str,
    *,
    limit: int,
    after: tuple[datetime.datetime, str] | None = None,
) -> list[Account]:
    """The merchant's trade customers, oldest first; `after` is (created_at, id) of the last one seen."""
    query = select(Account).where(Account.merchant_id == merchant_id)
    if after is not None:
        moment, last = after
        query = query.where(
            (Account.created_at > moment) | ((Account.created_at == moment) & (Account.id > last))
        )
    return list(session.scalars(query.order_by(Account.created_at, Account.id).limit(limit)))


def customer_of(session: Session, merchant_id: str, account_id: str) -> Account:
    """The account, where it is a trade customer of the merchant. Raises NotFound otherwise."""
    account = session.get(Account, account_id)
    if account is None or account.merchant_id != merchant_id:
        raise NotFound("account")
    return account


def create_key(session: Session, account_id: str, *, name: str, scopes: tuple[str, ...] = SCOPES) -> NewKey:
    """A new key of the account; the secret is in the answer alone."""
    if not scopes or not set(scopes) <= set(SCOPES):
        raise ValueError(f"scopes must be some of {', '.join(SCOPES)}")
    get_account(session, account_id)
    secret = new_secret()
    key = ApiKey(
        id=new_id("key"),
        account_id=account_id,
        secret_sha256=hash_of(secret),
        prefix=secret[:_SHOWN],
        last4=secret[-4:],
        name=name,
        scopes=[scope for scope in SCOPES if scope in scopes],
        created_at=now_of(session),
    )
    session.add(key)
    session.flush()
    return NewKey(key, secret)


def find_key(session: Session, secret: str) -> ApiKey | None:
    """The key with that secret, unless unknown or revoked. Writes nothing."""
    if not looks_like_a_key(secret):
        return None
    key = session.scalar(select(ApiKey).where(ApiKey.secret_sha256 == hash_of(secret)))
    return None if key is None or not opens(session, key) else key


def opens(session: Session, key: ApiKey) -> bool:
    """Is the key not revoked, or only from a later moment on?"""
    return key.revoked_at is None or now_of(session) < key.revoked_at


def key_use_is_old(key: ApiKey, now: datetime.datetime) -> bool:
    """Was the last recorded use over a minute ago, so that `note_key_use` is worth a write?"""
    return key.last_used_at is None or now - key.last_used_at > _USED_AGAIN


def note_key_use(session: Session, account_id: str, key_id: str) -> None:
    """Records that the key was used now."""
    session.execute(
        update(ApiKey)
        .where(ApiKey.id == key_id, ApiKey.account_id == account_id)
        .values(last_used_at=now_of(session))
    )


def list_keys(session: Session, account_id: str) -> list[ApiKey]:
    """Every key of the account, revoked ones too, oldest first."""
    return list(
        session.scalars(
            select(ApiKey).where(ApiKey.account_id == account_id).order_by(ApiKey.created_at, ApiKey.id)
        )
    )


def revoke_key(session: Session, account_id: str, key_id: str) -> ApiKey:
    """Revokes the key at once; doing so twice changes nothing. Raises NotFound."""
    key = _key(session, account_id, key_id)
    if opens(session, key):
        key.revoked_at = now_of(session)
        session.flush()
    return key


def rotate_key(session: Session, account_id: str, key_id: str) -> NewKey:
    """A new key of the same name and scopes; the old one opens for `OLD_KEY_OPENS` yet.

    Raises:
        NotFound: no such key.
        NotPossibleNow: it is revoked, or another took its place already (`key_revoked`).
    """
    key = _key(session, account_id, key_id)
    if key.revoked_at is not None:
        raise NotPossibleNow(
            "key_revoked", "The key is revoked, or another has taken its place. Make a new key instead."
        )
    made = create_key(session, account_id, name=key.name, scopes=tuple(key.scopes))
    key.revoked_at = now_of(session) + OLD_KEY_OPENS
    session.flush()
    return made


def _key(session: Session, account_id: str, key_id: str) -> ApiKey:
    """The key, held against others until this transaction ends."""
    key = session.scalar(
        select(ApiKey).where(ApiKey.id == key_id, ApiKey.account_id == account_id).with_for_update()
    )
    if key is None:
        raise NotFound("key")
    return key


def note(
    session: Session,
    account_id: str,
    *,
    key_id: str | None,
    action: str,
    subject: str,
    detail: str | None = None,
) -> None:
    """Adds to the audit trail, in the transaction of what it tells of."""
    session.add(
        Audit(
            id=new_id("aud"),
            account_id=account_id,
            key_id=key_id,
            action=action,
            subject=subject,
            detail=detail,
            at=now_of(session),
        )
    )
