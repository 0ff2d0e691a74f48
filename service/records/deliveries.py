"""How hooks are told: what is due is claimed, sent outside any transaction, and its outcome written down.

Like the ledger this room serves workers and asks for no account. A delivery that is being sent has in `next_at` when
its sender is taken for dead; `attempt` is its fence: only the sender of the newest attempt may say how it went.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, delete, func, or_, select, update
from sqlalchemy.orm import Session, aliased

from service.records.accounts import note
from service.records.store import now_of
from service.records.tables import Hook, HookDelivery

EACH_HOOK, EACH_ACCOUNT = 2, 8
"""How many deliveries of a hook and of an account are under way at once, so that a slow one delays nobody else."""
LOST_AFTER = datetime.timedelta(seconds=60)
KEPT = datetime.timedelta(days=30)
MOST_LOGGED = 30
STOP_AFTER = 5
"""Events given up in a row, each after its day of attempts, before the hook is stopped."""


@dataclass(frozen=True, slots=True)
class Due:
    """One delivery to be attempted now, with everything that takes."""

    id: str
    attempt: int
    tries: int
    account_id: str
    event_id: str
    event: str
    subject: str
    data: dict[str, Any]
    at: datetime.datetime
    url: str
    secrets: tuple[str, ...]
    """As they are kept, so sealed; the newest first."""


def claim_due(session: Session, *, most: int) -> list[Due]:
    """Claims up to `most` deliveries, in turns by account and hook, for active hooks."""
    now = now_of(session)
    busy = aliased(HookDelivery)
    by_hook = _under_way(busy, busy.hook_id, now)
    by_account = _under_way(busy, busy.account_id, now)
    oldest_first = (HookDelivery.next_at, HookDelivery.created_at, HookDelivery.id)
    in_hook = func.row_number().over(partition_by=HookDelivery.hook_id, order_by=oldest_first)
    in_account = func.row_number().over(partition_by=HookDelivery.account_id, order_by=oldest_first)
    ranked = (
        select(
            HookDelivery.id,
            (in_hook + func.coalesce(by_hook.c.count, 0)).label("hook_turn"),
            (in_account + func.coalesce(by_account.c.count, 0)).label("account_turn"),
        )
        .join(Hook, Hook.id == HookDelivery.hook_id)
        .outerjoin(by_hook, by_hook.c.name == HookDelivery.hook_id)
        .outerjoin(by_account, by_account.c.name == HookDelivery.account_id)
        .where(
            HookDelivery.state.in_(("waiting", "sending")),
            HookDelivery.next_at <= now,
            HookDelivery.give_up_at > now,
            Hook.active.is_(True),
        )
        .cte("ranked")
    )
    chosen = session.execute(
        select(HookDelivery, Hook)
        .join(ranked, ranked.c.id == HookDelivery.id)
        .join(Hook, Hook.id == HookDelivery.hook_id)
        .where(
            ranked.c.hook_turn <= EACH_HOOK,
            ranked.c.account_turn <= EACH_ACCOUNT,
            HookDelivery.next_at <= now,
        )
        .order_by(ranked.c.account_turn, *oldest_first)
        .limit(most)
        .with_for_update(of=HookDelivery, skip_locked=True)
    ).all()
    for delivery, _ in chosen:
        delivery.state, delivery.next_at = "sending", now + LOST_AFTER
        delivery.attempt, delivery.tries = delivery.attempt + 1, delivery.tries + 1
    session.flush()
    return [_due(delivery, hook, now) for delivery, hook in chosen]


def any_due(session: Session) -> bool:
    """Is there something whose time has come? Writes nothing, so it may be asked often."""
    now = now_of(session)
    return (
        session.scalar(
            select(HookDelivery.id)
            .join(Hook, Hook.id == HookDelivery.hook_id)
            .where(
                HookDelivery.state.in_(("waiting", "sending")),
                HookDelivery.next_at <= now,
                HookDelivery.give_up_at > now,
                Hook.active.is_(True),
            )
            .limit(1)
        )
        is not None
    )


def _under_way(busy: Any, name: Any, now: datetime.datetime) -> Any:
    return (
        select(name.label("name"), func.count().label("count"))
        .where(busy.state == "sending", busy.next_at > now)
        .group_by(name)
        .subquery()
    )


def _due(delivery: HookDelivery, hook: Hook, now: datetime.datetime) -> Due:
    old = hook.old_secret
    still_signs = old is not None and hook.old_secret_until is not None and hook.old_secret_until > now
    return Due(
        id=delivery.id,
        attempt=delivery.attempt,
        tries=delivery.tries,
        account_id=delivery.account_id,
        event_id=delivery.event_id,
        event=delivery.event,
        subject=delivery.subject,
        data=delivery.data,
        at=delivery.created_at,
        url=hook.url,
        secrets=(hook.secret, str(old)) if still_signs else (hook.secret,),
    )


def outcome(
    session: Session,
    due: Due,
    *,
    entry: dict[str, Any],
    delivered: bool,
    again_in_s: float | None,
    stop_hook: str | None = None,
    theirs: bool = True,
) -> bool:
    """Writes down how an attempt went; False where another sender has taken it meanwhile.

    Args:
        session: a writing session.
        due: what was attempted.
        entry: the line of its log, JSON of `api_schema.hook_more.HookAttempt`.
        delivered: was it taken?
        again_in_s: when to try again; None, or beyond the day it has, gives up.
        stop_hook: why the hook is not to be told anything any more, at once.
        theirs: was it up to the receiver? What failed for a reason of ours is not held against the hook.
    """
    now = now_of(session)
    delivery = session.scalar(
        select(HookDelivery)
        .where(
            HookDelivery.id == due.id, HookDelivery.attempt == due.attempt, HookDelivery.state == "sending"
        )
        .with_for_update()
    )
    if delivery is None:
        return False
    delivery.log = [*delivery.log, {"at": now.isoformat(), "attempt": due.attempt, **entry}][-MOST_LOGGED:]
    next_at = None if again_in_s is None else now + datetime.timedelta(seconds=again_in_s)
    if delivered:
        delivery.state, delivery.ended_at = "delivered", now
    elif next_at is None or next_at >= delivery.give_up_at:
        delivery.state, delivery.ended_at = "given_up", now
    else:
        delivery.state, delivery.next_at = "waiting", next_at
    if delivered or (theirs and delivery.state == "given_up"):
        _count(session, delivery, delivered=delivered, stop_hook=stop_hook, failure=str(entry["failure"]))
    session.flush()
    return True


def _count(
    session: Session, delivery: HookDelivery, *, delivered: bool, stop_hook: str | None, failure: str
) -> None:
    """Counts events not taken in a row; stops the hook and says so in the audit trail where they are too many."""
    hook = session.scalar(
        select(Hook)
        .where(Hook.id == delivery.hook_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    if hook is None:
        return
    hook.given_up_in_a_row = 0 if delivered else hook.given_up_in_a_row + 1
    if stop_hook is None and hook.given_up_in_a_row >= STOP_AFTER:
        stop_hook = (
            f"It took none of {hook.given_up_in_a_row} events in a row, each tried for 24 hours; the last time: "
            f"{failure[:120]}. See to the receiver and set `active` to true to be told again."
        )
    if stop_hook is not None and hook.active:
        hook.active, hook.stopped_because, hook.version = False, stop_hook, hook.version + 1
        note(session, hook.account_id, key_id=None, action="hook.stopped", subject=hook.id, detail=stop_hook)


def give_up_late(session: Session) -> int:
    """Gives up what could not be told within its day; gives how many."""
    now = now_of(session)
    ended = session.execute(
        update(HookDelivery)
        .where(
            or_(
                HookDelivery.state == "waiting",
                and_(HookDelivery.state == "sending", HookDelivery.next_at <= now),
            ),
            HookDelivery.give_up_at <= now,
        )
        .values(state="given_up", ended_at=now)
        .execution_options(synchronize_session=False)
    )
    return int(ended.rowcount)  # type: ignore[attr-defined]


def forget_old(session: Session) -> None:
    """Removes the record of what was told or given up long ago."""
    session.execute(delete(HookDelivery).where(HookDelivery.ended_at < now_of(session) - KEPT))


def counts(session: Session) -> dict[str, int]:
    """Deliveries of every account by state, for those who run the service."""
    rows = session.execute(select(HookDelivery.state, func.count()).group_by(HookDelivery.state))
    return {state: count for state, count in rows}  # noqa: C416 - a row is no pair to a type checker
