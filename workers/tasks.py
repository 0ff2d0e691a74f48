"""What a worker does with a run: claim it, compute or render, save once, and leave the rest to the ledger.

The only room that knows both the queue and the store. A run's transaction is never open while it is computed; a
thread keeps the lease alive meanwhile and breaks off what must not go on (`workers.watch`). What cannot be planned is
a result and is never retried; what may pass is given back, and the ledger counts.
"""

from __future__ import annotations

import os
import socket
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cache
from typing import Any

import structlog
from billiard.exceptions import SoftTimeLimitExceeded
from celery import bootsteps
from celery.signals import worker_process_init, worker_process_shutdown, worker_ready
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from api_schema.plan import Plan
from api_schema.problem import Problem, SurveyFaults
from api_schema.quote_options import QuoteOptions
from api_schema.shape import dump, load
from service import logs
from service.records import documents, leaks, ledger, own_values, presence, quote_drafts, quotes, runs
from service.records.errors import LostLease
from service.records.store import Store
from workers.drawings import drawings_of
from workers.drawn_again import draw_again, leaks_noted
from workers.engine.plan import fault_of, plan_job
from workers.engine.quoting import price_choices, with_differences
from workers.engine.refusal import SettingRefused
from workers.fan_tests import analyse_test, history_of
from workers.history import learnt_outputs
from workers.inputs import inputs_of, profile_of
from workers.model_files import read_sent_model
from workers.papers import papers_of
from workers.queue import ANALYSE, PLAN, PRICE, READ, RENDER, TASK_OF, app, settings
from workers.refused import WorkRefused
from workers.stopped import BROKE_OFF, cannot_be_planned, too_large, too_long
from workers.surveys import budgets_of, isometric_of, survey_of, values_of
from workers.watch import BrokenOff, Why, limit_memory, watched

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


@app.task(name=PRICE, soft_time_limit=settings.plan_time_limit_s, time_limit=settings.plan_time_limit_s + 15)
def price(run_id: str) -> None:
    """Prices a quote with its options, and each choice of its alternatives."""
    _do(run_id, _price)


@app.task(
    name=ANALYSE, soft_time_limit=settings.render_time_limit_s, time_limit=settings.render_time_limit_s + 15
)
def analyse(run_id: str) -> None:
    """Analyses the readings of a fan test."""
    _do(run_id, analyse_test)


@app.task(
    name=READ, soft_time_limit=settings.render_time_limit_s, time_limit=settings.render_time_limit_s + 15
)
def read(run_id: str) -> None:
    """Reads a model that was sent."""
    _do(run_id, read_sent_model)


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
        with _watched(store, claimed):
            work(store, claimed)
        took_s = round(time.perf_counter() - began, 3)
        log.info("run ready", kind=run.kind, document=run.document_kind, took_s=took_s)
    except LostLease:
        log.warning("run lost to another worker or cancelled; result thrown away")
    except BrokenOff as broken_off:
        log.warning("run broken off", reason=broken_off.why)
        _broken_off(store, claimed, broken_off.why)
    except SurveyFaults as faults:
        _end(store, claimed, cannot_be_planned(faults))
        log.info("run failed", reason="survey faults", faults=len(faults.faults))
    except WorkRefused as refused:
        _end(store, claimed, refused.problem)
        log.info("run failed", reason=refused.problem.code)
    except SQLAlchemyError:  # the database takes nothing now; the lease runs out and the run is swept
        log.exception("run left to the sweeper")
    except SoftTimeLimitExceeded:
        log.exception("run took too long")
        _give_back(store, claimed, too_long(_time_limit_s(run.kind)))
    except MemoryError:
        log.exception("run was refused memory")
        _give_back(store, claimed, too_large(settings.run_memory_kib))
    except Exception:
        log.exception("run broke off")
        _give_back(store, claimed, BROKE_OFF)
    finally:
        structlog.contextvars.clear_contextvars()


def _plan(store: Store, claimed: ledger.Claim) -> None:
    run = claimed.run
    inputs = inputs_of(store, run)
    outputs = learnt_outputs(store, run.account_id, inputs.outputs)
    planned = plan_job(inputs.job, inputs.standard, outputs, inputs.price_book)
    survey = survey_of(inputs.sent, inputs.job)
    noted = leaks_noted(store, run)
    language = profile_of(store, run).language
    drawings = drawings_of(inputs.job, planned, inputs.standard, tuple(noted.values()), language=language)
    budgets = budgets_of(inputs.job, planned, survey, values_of(history_of(store, run.account_id)))
    body, parts = dump(planned), {"survey": dump(survey), "leakage": dump(budgets)}
    with store.writing() as session:
        if outputs != inputs.outputs:  # what is priced from this plan later is priced with these
            own_values.use_outputs(session, run.account_id, run.id, dump(outputs))
        ledger.finish_plan(
            session, claimed, plan=body, drawings={**drawings, **isometric_of(survey, language)}, parts=parts
        )
        runs.queue_render(session, run.account_id, of=run, document_kind="site_pack", subject_id=run.id)
        if leaks.versions_of(session, run.account_id, str(run.job_id)) != list(noted):
            leaks.draw_again(session, run.account_id, str(run.job_id))


def _render(store: Store, claimed: ledger.Claim) -> None:
    run = claimed.run
    if run.document_kind == leaks.DRAWINGS:
        draw_again(store, claimed)
        return
    papers = papers_of(store, run)
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        for paper in papers:
            documents.add_document(
                session,
                run.account_id,
                run.job_id,
                kind=paper.kind,
                subject_id=str(run.subject_id),
                filename=paper.filename,
                content=paper.content,
                media_type=paper.media_type,
            )


def _price(store: Store, claimed: ledger.Claim) -> None:
    run, quote_id = claimed.run, str(claimed.run.subject_id)
    inputs = inputs_of(store, run)
    with store.reading() as session:
        quote = quotes.get_quote(session, run.account_id, quote_id)
        plan = load(Plan, runs.get_plan(session, run.account_id, quote.run_id))
    options = load(QuoteOptions, quote.body["options"])
    alternatives = quotes.alternatives_of(quote)
    try:
        found = price_choices(
            inputs.job, plan, options, alternatives, inputs.standard, inputs.outputs, inputs.price_book
        )
    except SettingRefused as refused:
        raise SurveyFaults((fault_of(refused),)) from refused
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        quote_drafts.priced(
            session,
            run.account_id,
            quote_id,
            [
                quote_drafts.PricedChoice(
                    one.chosen,
                    price=dump(one.offered.price),
                    labour=dump(one.offered.labour),
                    order_lines=[dump(line) for line in one.offered.order_lines],
                    breakdown=dump(one.offered.breakdown),
                )
                for one in found
            ],
            [dump(one) for one in with_differences(alternatives, found)],
        )


def _watched(store: Store, claimed: ledger.Claim) -> AbstractContextManager[None]:
    def still_ours() -> bool:
        with store.writing() as session:
            return ledger.heartbeat(session, claimed.run.id, fence=claimed.fence, lease_s=settings.lease_s)

    return watched(
        still_ours,
        heartbeat_s=settings.heartbeat_s,
        memory_kib=settings.run_memory_kib,
        before_the_end=lambda why: _broken_off(store, claimed, why),
    )


def _broken_off(store: Store, claimed: ledger.Claim, why: Why) -> None:
    if why == "memory":  # else it is no longer ours to say anything about
        _give_back(store, claimed, too_large(settings.run_memory_kib))


def _end(store: Store, claimed: ledger.Claim, problem: Problem) -> None:
    try:
        with store.writing() as session:
            ledger.fail(session, claimed.run.id, fence=claimed.fence, problem=problem)
    except (LostLease, SQLAlchemyError) as error:
        log.warning("end not written; left to the sweeper", error=repr(error))


def _give_back(store: Store, claimed: ledger.Claim, problem: Problem) -> None:
    try:
        with store.writing() as session:
            ledger.give_back(
                session,
                claimed.run.id,
                fence=claimed.fence,
                problem=problem,
                retry_delay_s=settings.retry_delay_s,
            )
    except (LostLease, SQLAlchemyError) as error:
        log.warning("run not given back; left to the sweeper", error=repr(error))


def _time_limit_s(kind: str) -> int:
    return int(app.tasks[TASK_OF[kind]].soft_time_limit)


def _store() -> Store:
    if os.getpid() not in _stores:
        _stores[os.getpid()] = Store(settings.database_url, pool_size=2, statement_timeout_s=30)
    return _stores[os.getpid()]


def _name() -> str:
    return f"{socket.gethostname()}:{os.getpid()}"


@worker_process_init.connect
def _child_begins(**_: Any) -> None:
    logs.configure(settings.log_level)
    limit_memory(settings.run_memory_kib)
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

    # what starts after the pool stops before it: goodbye is said as soon as nothing more is taken, not at the end
    requires = ("celery.worker.components:Timer", "celery.worker.components:Pool")

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


@cache
def _unpooled() -> (
    Store
):  # holds no connection, since the pool's processes are forked from this one at any time
    return Store(settings.database_url, pooled=False)


def _tell(what: Callable[[Session], None]) -> None:
    try:
        with _unpooled().writing() as session:
            what(session)
    except SQLAlchemyError as error:
        log.warning("the worker could not say how it is", error=repr(error))


@worker_ready.connect
def _ready(sender: Any = None, **_: Any) -> None:
    _say_alive(sender.hostname)
    log.info("worker ready", name=sender.hostname)
