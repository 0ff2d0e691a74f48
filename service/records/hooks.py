"""Hooks as their owner sees them: set up, changed, removed, their secrets changed, what they were told."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.events import TOLD_FOR, deliveries_to
from service.records.ids import new_id
from service.records.paging import Place, newest_first
from service.records.store import now_of
from service.records.tables import Hook, HookDelivery

MOST_HOOKS = 20
OLD_SECRET_SIGNS = datetime.timedelta(hours=24)


def create_hook(
    session: Session, account_id: str, *, url: str, events: list[str], active: bool, note: str, secret: str
) -> Hook:
    """Sets a hook up; `secret` is kept as given, so sealed. Raises NotPossibleNow where the account has `MOST_HOOKS` (`too_many_hooks`)."""
    count = session.scalar(select(func.count()).select_from(Hook).where(Hook.account_id == account_id)) or 0
    if count >= MOST_HOOKS:
        raise NotPossibleNow(
            "too_many_hooks", f"An account has {MOST_HOOKS} hooks at most; remove one you no longer need."
        )
    hook = Hook(
        id=new_id("hook"),
        account_id=account_id,
        url=url,
        events=events,
        active=active,
        note=note,
        secret=secret,
        created_at=now_of(session),
    )
    session.add(hook)
    session.flush()
    return hook


def get_hook(session: Session, account_id: str, hook_id: str) -> Hook:
    """The hook. Raises NotFound."""
    hook = session.scalar(select(Hook).where(Hook.account_id == account_id, Hook.id == hook_id))
    if hook is None:
        raise NotFound("hook")
    return hook


def list_hooks(session: Session, account_id: str) -> list[Hook]:
    """Every hook of the account, oldest first."""
    return list(
        session.scalars(select(Hook).where(Hook.account_id == account_id).order_by(Hook.created_at, Hook.id))
    )


def change_hook(session: Session, account_id: str, hook_id: str, *, if_version: int, **values: Any) -> Hook:
    """Changes url, events, active or note; one made active again is told what still waits. Raises NotFound or Stale."""
    hook = get_hook(session, account_id, hook_id)
    if values.get("active"):
        values["stopped_because"], values["given_up_in_a_row"] = None, 0
    _update(session, hook, if_version, values)
    return hook


def rotate_secret(session: Session, account_id: str, hook_id: str, *, secret: str) -> Hook:
    """From now on `secret` (given sealed) signs, and for `OLD_SECRET_SIGNS` the one before beside it. Raises NotFound."""
    hook = get_hook(session, account_id, hook_id)
    _update(
        session,
        hook,
        hook.version,
        {
            "secret": secret,
            "old_secret": hook.secret,
            "old_secret_until": now_of(session) + OLD_SECRET_SIGNS,
        },
    )
    return hook


def delete_hook(session: Session, account_id: str, hook_id: str, *, if_version: int) -> None:
    """Removes a hook and the record of what it was told. Raises NotFound or Stale."""
    hook = get_hook(session, account_id, hook_id)
    _update(session, hook, if_version, {"active": False})
    session.execute(delete(HookDelivery).where(HookDelivery.hook_id == hook_id))
    session.execute(delete(Hook).where(Hook.id == hook_id))


def test_hook(session: Session, account_id: str, hook_id: str) -> HookDelivery:
    """Tells this hook a ``hook.test`` event. Raises NotFound, NotPossibleNow (`hook_not_active`)."""
    hook = _active(get_hook(session, account_id, hook_id))
    return deliveries_to(
        session, [hook], "hook.test", subject=f"/v1/hooks/{hook_id}", data={"hook": hook_id}
    )[0]


def get_delivery(session: Session, account_id: str, hook_id: str, delivery_id: str) -> HookDelivery:
    """One delivery of a hook. Raises NotFound."""
    found = session.scalar(
        select(HookDelivery).where(
            HookDelivery.account_id == account_id,
            HookDelivery.hook_id == hook_id,
            HookDelivery.id == delivery_id,
        )
    )
    if found is None:
        raise NotFound("delivery")
    return found


def list_deliveries(
    session: Session,
    account_id: str,
    hook_id: str,
    *,
    limit: int,
    after: Place | None = None,
    state: str | None = None,
) -> list[HookDelivery]:
    """What a hook was or will be told, newest first. Raises NotFound for the hook."""
    get_hook(session, account_id, hook_id)
    query = select(HookDelivery).where(HookDelivery.account_id == account_id, HookDelivery.hook_id == hook_id)
    if state is not None:
        query = query.where(HookDelivery.state == state)
    page = newest_first(query, HookDelivery.created_at, HookDelivery.id, limit=limit, after=after)
    return list(session.scalars(page))


def replay(session: Session, account_id: str, hook_id: str, delivery_id: str) -> HookDelivery:
    """Tells it once more, under the same event id, with a day of attempts ahead. One that waits goes out at once.

    Raises:
        NotFound: no such delivery.
        NotPossibleNow: the hook is not active (`hook_not_active`).
    """
    _active(get_hook(session, account_id, hook_id))
    delivery = get_delivery(session, account_id, hook_id, delivery_id)
    now = now_of(session)
    session.execute(
        update(HookDelivery)
        .where(HookDelivery.id == delivery_id, HookDelivery.state != "sending")
        .values(state="waiting", tries=0, next_at=now, give_up_at=now + TOLD_FOR, ended_at=None)
        .execution_options(synchronize_session=False)
    )
    session.refresh(delivery)
    return delivery


def _active(hook: Hook) -> Hook:
    if not hook.active:
        raise NotPossibleNow(
            "hook_not_active", "The hook is not active, so nothing is sent to it. Set `active` to true first."
        )
    return hook


def _update(session: Session, hook: Hook, if_version: int, values: dict[str, Any]) -> None:
    changed = session.execute(
        update(Hook)
        .where(Hook.id == hook.id, Hook.version == if_version)
        .values(**values, version=Hook.version + 1)
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount == 0:  # type: ignore[attr-defined]
        raise Stale("hook")
    session.refresh(hook)
