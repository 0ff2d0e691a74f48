"""An account's standard, outputs and price book; the documented defaults where it changed nothing."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from api_schema import defaults
from api_schema.outputs import Outputs
from api_schema.price_book import PriceBook
from api_schema.shape import dump, load
from api_schema.standard import Standard
from service.records.accounts import get_account
from service.records.errors import NotFound, Stale
from service.records.price_dates import in_force
from service.records.served_books import served_book
from service.records.spoken_for import held_for_others, left_of
from service.records.store import now_of
from service.records.tables import Account, Run, Setting, Snapshot
from service.records.upsert import insert_unless_there

ValueName = Literal["standard", "outputs", "price_book"]
NAMES: tuple[ValueName, ...] = ("standard", "outputs", "price_book")
_RECORDS: dict[ValueName, type[Any]] = {"standard": Standard, "outputs": Outputs, "price_book": PriceBook}
_MAKERS: dict[ValueName, Callable[[], Any]] = {
    "standard": defaults.default_standard,
    "outputs": defaults.default_outputs,
    "price_book": defaults.default_price_book,
}


@dataclass(frozen=True, slots=True)
class OwnValue:
    """What holds for an account."""

    name: ValueName
    body: dict[str, Any]
    """JSON of `Standard`, `Outputs` or `PriceBook`. Do not change it in place."""
    version: int
    """0 where the account stored none; else counted from 1."""
    source: Literal["own", "merchant", "default"]
    sha256: str
    """Of the canonical JSON; the same content has the same, so it serves as an ETag."""

    def record(self) -> Any:
        """The body as its frozen record."""
        return load(_RECORDS[self.name], self.body)


@cache
def _default(name: ValueName) -> dict[str, Any]:
    return dump(_MAKERS[name]())


def _whole(name: ValueName, body: dict[str, Any]) -> dict[str, Any]:
    """Outputs with every operation: those stored before an operation was known would refuse each job that needs it."""
    if name != "outputs":
        return body
    named = {output["operation"] for output in body["operations"]}
    missing = [output for output in _default(name)["operations"] if output["operation"] not in named]
    return {**body, "operations": [*body["operations"], *missing]} if missing else body


def get_value(session: Session, account_id: str, name: ValueName) -> OwnValue:
    """The account's own value; its merchant's price book where it has none; else the default, in the account's currency.

    Operations that its own outputs do not name keep their starting values. Raises NotFound for the account.
    """
    row = session.get(Setting, (account_id, name))
    if row is not None:
        own = _whole(name, row.body)
        return OwnValue(name, own, row.version, "own", sha256_of(own))
    if name == "price_book":
        return _book_of_others(session, get_account(session, account_id))
    body = _default(name)
    return OwnValue(name, body, 0, "default", sha256_of(body))


def _book_of_others(session: Session, account: Account) -> OwnValue:
    """What an account without a price book buys from: its merchant's, else the default in the account's currency."""
    if account.merchant_id is None:
        body = {**_default("price_book"), "currency": account.profile["currency"]}
        return OwnValue("price_book", body, 0, "default", sha256_of(body))
    merchants = get_value(session, account.merchant_id, "price_book")
    served = served_book(session, account, merchants.body)
    return OwnValue("price_book", served, 0, "merchant", sha256_of(served))


def currency_of(session: Session, account_id: str) -> str:
    """The currency an account buys and quotes in: that of the price book that holds for it."""
    return str(get_value(session, account_id, "price_book").body["currency"])


def put_value(
    session: Session, account_id: str, name: ValueName, body: dict[str, Any], *, if_version: int
) -> OwnValue:
    """Stores the account's own value: JSON that was loaded and dumped by its schema.

    Args:
        session: a writing session.
        account_id: whose.
        name: which of the three.
        body: the JSON.
        if_version: the version it was read at; 0 where there was none of its own.

    Raises:
        Stale: it was changed since.
    """
    values = {"body": body, "version": if_version + 1, "updated_at": now_of(session)}
    if if_version == 0:
        if not insert_unless_there(session, Setting, account_id=account_id, name=name, **values):
            raise Stale(name)
    else:
        changed = session.execute(
            update(Setting)
            .where(Setting.account_id == account_id, Setting.name == name, Setting.version == if_version)
            .values(**values)
        )
        if changed.rowcount == 0:  # type: ignore[attr-defined]
            raise Stale(name)
    own = _whole(name, body)
    return OwnValue(name, own, if_version + 1, "own", sha256_of(own))


def keep_snapshots(
    session: Session, account_id: str, *, job_id: str | None = None, standard: dict[str, Any] | None = None
) -> dict[str, str]:
    """Keeps what holds for the account now; gives {"standard": sha256, "outputs": …, …, "profile": …} for a run.

    Prices not in force today are left out (`price_dates`), and of the stock what jobs other than `job_id` count on
    (`spoken_for`). A tax rate in the account's profile takes the place of the price book's; `standard`, where given, takes the
    place of the account's for this run alone.
    """
    bodies = {name: get_value(session, account_id, name).body for name in NAMES}
    left = left_of(bodies["price_book"], held_for_others(session, account_id, job_id))
    bodies["price_book"] = in_force(left, now_of(session).date())
    if standard is not None:
        bodies["standard"] = standard
    tax_rate = get_account(session, account_id).profile.get("tax_rate")
    if tax_rate is not None:
        book = bodies["price_book"]
        bodies["price_book"] = {**book, "rules": {**book["rules"], "tax_rate": tax_rate}}
    kept = {name: _keep(session, account_id, body) for name, body in bodies.items()}
    return {**kept, "profile": keep_profile(session, account_id)}


def keep_profile(session: Session, account_id: str) -> str:
    """Keeps the account's profile as it is now, for a document; gives its hash."""
    return _keep(session, account_id, get_account(session, account_id).profile)


def use_outputs(session: Session, account_id: str, run_id: str, outputs: dict[str, Any]) -> None:
    """Keeps the outputs a plan was made with, where they were learnt, and names them in its run."""
    run = session.scalar(select(Run).where(Run.account_id == account_id, Run.id == run_id))
    if run is None:
        raise NotFound("run")
    run.snapshots = {**run.snapshots, "outputs": _keep(session, account_id, outputs)}


def _keep(session: Session, account_id: str, body: dict[str, Any]) -> str:
    sha256 = sha256_of(body)
    insert_unless_there(session, Snapshot, account_id=account_id, sha256=sha256, body=body)
    return sha256


def get_snapshot(session: Session, account_id: str, sha256: str) -> dict[str, Any]:
    """The JSON kept under that hash. Raises NotFound."""
    found = session.get(Snapshot, (account_id, sha256))
    if found is None:
        raise NotFound("snapshot")
    return found.body


def sha256_of(body: Any) -> str:
    """SHA-256 of the JSON with sorted names and no spaces."""
    canonical = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
