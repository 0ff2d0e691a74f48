"""What a worker does with a run: claim it, compute or render, save once, and leave the rest to the ledger.

The only room that knows both the queue and the store. A run's transaction is never open while it is computed; a
thread keeps the lease alive meanwhile. What cannot be planned is a result and is never retried; what may pass is
given back, and the ledger counts.
"""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import structlog
from celery import bootsteps
from celery.signals import worker_process_init, worker_process_shutdown, worker_ready
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.order import Order
from api_schema.outputs import Outputs
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.problem import Problem, SurveyFaults
from api_schema.quote import Quote
from api_schema.shape import dump, load
from api_schema.standard import Standard
from service import logs
from service.records import documents, jobs, ledger, orders, own_values, presence, quotes, runs
from service.records.errors import LostLease
from service.records.store import Store
from service.records.tables import Run
from workers.documents import render_order, render_quote, render_site_pack
from workers.drawings import drawings_of
from workers.engine.plan import plan_job
from workers.queue import PLAN, RENDER, app, settings

log = structlog.get_logger(__name__)
_SAY_ALIVE_S = 5.0
_stores: dict[int, Store] = {}  # by process: a connection never crosses a fork


@app.task(name=PLAN, soft_time_limit=settings.plan_time_limit_s, time_limit=settings.plan_time_limit_s + 15)
def plan(run_id: str) -> None:
    """Plans a job's revision."""
    _do(run_id, _plan)


@app.task(
    name=RENDER, soft_time_limit=settings.render_time_limit_s, time_limit=settings.render_time_limit_s + 15
)
def render(run_id: str) -> None:
    """Renders a document."""
    _do(run_id, _render)


def _do(run_id: str, work: Callable[[Store, ledger.Claim], None]) -> None:
    store = _store()
    with store.writing() as session:
        claimed = ledger.claim(session, run_id, worker=_name(), lease_s=settings.lease_s)
    if claimed is None:  # another worker has it, or it has ended: a hint too many
        log.debug("run not to be had", run=run_id)
        return
    run = claimed.run
    structlog.contextvars.bind_contextvars(
        run=run.id, account=run.account_id, job=run.job_id, attempt=run.attempt, traceparent=run.traceparent
    )
    began = time.perf_counter()
    try:
        with _kept_alive(store, claimed):
            work(store, claimed)
        took_s = round(time.perf_counter() - began, 3)
        log.info("run ready", kind=run.kind, document=run.document_kind, took_s=took_s)
    except LostLease:
        log.warning("run lost to another worker or cancelled; result thrown away")
    except SurveyFaults as faults:
        _end(store, claimed, _cannot_be_planned(faults))
        log.info("run failed", reason="survey faults", faults=len(faults.faults))
    except SQLAlchemyError:  # the database takes nothing now; the lease runs out and the run is swept
        log.exception("run left to the sweeper")
    except Exception:
        log.exception("run broke off")
        _give_back(store, claimed)
    finally:
        structlog.contextvars.clear_contextvars()


def _plan(store: Store, claimed: ledger.Claim) -> None:
    run = claimed.run
    job, values = _inputs(store, run)
    planned = plan_job(job, values["standard"], values["outputs"], values["price_book"])
    drawings = drawings_of(job, planned, values["standard"])
    body = dump(planned)
    with store.writing() as session:
        ledger.finish_plan(session, claimed, plan=body, drawings=drawings)
        runs.queue_render(session, run.account_id, of=run, document_kind="site_pack", subject_id=run.id)


def _render(store: Store, claimed: ledger.Claim) -> None:
    run = claimed.run
    content, filename = _paper(store, run)
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        documents.add_document(
            session,
            run.account_id,
            run.job_id,
            kind=str(run.document_kind),
            subject_id=str(run.subject_id),
            filename=filename,
            content=content,
        )


def _paper(store: Store, run: Run) -> tuple[bytes, str]:
    """The document a render run asks for, and its file name."""
    account, subject_id, made_at = run.account_id, str(run.subject_id), run.created_at
    with store.reading() as session:
        profile = load(Profile, own_values.get_snapshot(session, account, run.snapshots["profile"]))
        if run.document_kind == "quote":
            body = quotes.get_quote(session, account, subject_id).body
        elif run.document_kind == "order":
            body = orders.get_order(session, account, subject_id).body
        else:
            body = runs.get_plan(session, account, subject_id)
    if run.document_kind == "quote":
        quote = load(Quote, {**body, "state": "issued"})  # it may have been answered or replaced since
        name = documents.safe_name("quote", quote.number, str(quote.revision))
        return render_quote(quote, profile, made_at=made_at), name
    if run.document_kind == "order":
        order = load(Order, body)
        return render_order(order, profile, made_at=made_at), documents.safe_name("order", order.number)
    job, values = _inputs(store, run)
    name = documents.safe_name("site-pack", job.reference, str(run.revision))
    return render_site_pack(job, load(Plan, body), values["standard"], profile, made_at=made_at), name


def _inputs(store: Store, run: Run) -> tuple[Job, dict[str, Any]]:
    records = {"standard": Standard, "outputs": Outputs, "price_book": PriceBook}
    with store.reading() as session:
        job = load(Job, jobs.job_body(session, run.account_id, run.job_id, run.revision))
        return job, {
            name: load(record, own_values.get_snapshot(session, run.account_id, run.snapshots[name]))
            for name, record in records.items()
        }


@contextmanager
def _kept_alive(store: Store, claimed: ledger.Claim) -> Iterator[None]:
    """Extends the lease from a thread until the block ends."""
    done = threading.Event()

    def beat() -> None:
        while not done.wait(settings.heartbeat_s):
            try:
                with store.writing() as session:
                    if not ledger.heartbeat(
                        session, claimed.run.id, fence=claimed.fence, lease_s=settings.lease_s
                    ):
                        return
            except SQLAlchemyError as error:
                log.warning("heartbeat failed", run=claimed.run.id, error=repr(error))

    beating = threading.Thread(target=beat, name="heartbeat", daemon=True)
    beating.start()
    try:
        yield
    finally:
        done.set()
        beating.join()


def _end(store: Store, claimed: ledger.Claim, problem: Problem) -> None:
    try:
        with store.writing() as session:
            ledger.fail(session, claimed.run.id, fence=claimed.fence, problem=problem)
    except (LostLease, SQLAlchemyError) as error:
        log.warning("end not written; left to the sweeper", error=repr(error))


def _give_back(store: Store, claimed: ledger.Claim) -> None:
    try:
        with store.writing() as session:
            ledger.give_back(
                session,
                claimed.run.id,
                fence=claimed.fence,
                problem=_BROKE_OFF,
                retry_delay_s=settings.retry_delay_s,
            )
    except (LostLease, SQLAlchemyError) as error:
        log.warning("run not given back; left to the sweeper", error=repr(error))


def _cannot_be_planned(faults: SurveyFaults) -> Problem:
    count = len(faults.faults)
    return Problem(
        type="/problems/cannot_be_planned",
        title="The job cannot be planned as it was sent",
        status=422,
        code="cannot_be_planned",
        detail=f"{count} thing{'s' if count != 1 else ''} in it must be corrected.",
        errors=faults.faults,
    )


_BROKE_OFF = Problem(
    type="/problems/run_broke_off",
    title="The work broke off",
    status=500,
    code="run_broke_off",
    detail="Something went wrong on our side, several times. Retry it; if it happens again, tell us the run's id.",
)


def _store() -> Store:
    if os.getpid() not in _stores:
        _stores[os.getpid()] = Store(settings.database_url, pool_size=2, statement_timeout_s=30)
    return _stores[os.getpid()]


def _name() -> str:
    return f"{socket.gethostname()}:{os.getpid()}"


@worker_process_init.connect
def _child_begins(**_: Any) -> None:
    logs.configure(settings.log_level)
    for inherited in _stores.values():
        inherited.after_fork()
    _stores.clear()


@worker_process_shutdown.connect
def _child_ends(**_: Any) -> None:
    for store in _stores.values():
        store.close()
    _stores.clear()


class SayAlive(bootsteps.StartStopStep):
    """Tells the database from the worker's own loop that it moves; opens and closes a connection each time."""

    requires = ("celery.worker.components:Timer",)

    def __init__(self, _worker: Any, **_: Any) -> None:
        self.timer: Any = None

    def start(self, worker: Any) -> None:
        """Begins to tell."""
        self.timer = worker.timer.call_repeatedly(_SAY_ALIVE_S, _say_alive, (worker.hostname,))

    def stop(self, worker: Any) -> None:
        """Stops telling, and says goodbye."""
        if self.timer is not None:
            self.timer.cancel()
        _tell(lambda session: presence.gone(session, name=worker.hostname))


app.steps["worker"].add(SayAlive)


def _say_alive(name: str) -> None:
    _tell(lambda session: presence.heard_from(session, name=name, kind="worker"))


def _tell(what: Callable[[Session], None]) -> None:
    store = Store(settings.database_url, pooled=False)
    try:
        with store.writing() as session:
            what(session)
    except SQLAlchemyError as error:
        log.warning("the worker could not say how it is", error=repr(error))


@worker_ready.connect
def _ready(sender: Any = None, **_: Any) -> None:
    _say_alive(sender.hostname)
    log.info("worker ready", name=sender.hostname)
