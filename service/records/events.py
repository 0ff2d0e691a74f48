"""What is told to hooks: written in the transaction in which it happens, so that neither is there without the other.

Sending is for later, and for others: see `service.records.deliveries`.
"""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from api_schema.hook import EVENTS
from service.records.ids import new_id
from service.records.store import now_of
from service.records.tables import Hook, HookDelivery, Run

TOLD_FOR = datetime.timedelta(hours=24)


def tell(
    session: Session, account_id: str, event: str, *, subject: str, data: dict[str, Any]
) -> list[HookDelivery]:
    """Writes down that every active hook of the account which wants this event shall be told of it.

    `event` is one of `api_schema.hook.EVENTS`; `subject` is the address of what it is about; `data` is thin: names
    and states, nothing a customer would mind.
    """
    if event not in EVENTS:
        raise ValueError(f"no event is called {event}")
    hooks = session.scalars(
        select(Hook).where(Hook.account_id == account_id, Hook.active.is_(True)).order_by(Hook.id)
    ).all()
    wanted = [hook for hook in hooks if not hook.events or event in hook.events]
    return deliveries_to(session, wanted, event, subject=subject, data=data) if wanted else []


def deliveries_to(
    session: Session, hooks: list[Hook], event: str, *, subject: str, data: dict[str, Any]
) -> list[HookDelivery]:
    """Writes one event down for each of these hooks, under one event id."""
    now, event_id = now_of(session), new_id("evt")
    written = [
        HookDelivery(
            id=new_id("dly"),
            account_id=hook.account_id,
            hook_id=hook.id,
            event_id=event_id,
            event=event,
            subject=subject,
            data=data,
            state="waiting",
            next_at=now,
            give_up_at=now + TOLD_FOR,
            log=[],
            created_at=now,
        )
        for hook in hooks
    ]
    session.add_all(written)
    session.flush()
    return written


def tell_of_plan(session: Session, run: Run, state: str) -> None:
    """Tells that a plan is ready or has failed; of other runs nothing is told from here."""
    if run.kind != "plan" or state not in ("ready", "failed"):
        return
    tell(
        session,
        run.account_id,
        f"plan.{state}",
        subject=f"/v1/jobs/{run.job_id}/plan",
        data={"job": run.job_id, "revision": run.revision, "status": state},
    )
