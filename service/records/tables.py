"""The tables. Whatever belongs to an account says so in `account_id`; public names are random.

Bodies are kept as the JSON of the shared records (`api_schema`), so that what is stored is what travels. Money is
never computed here.
"""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import (
    JSON,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    text,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

RUN_STATES = ("queued", "running", "ready", "failed", "cancelled")
ENDED = ("ready", "failed", "cancelled")
INTERACTIVE, PAPER, BATCH = 0, 2, 10
"""Priorities: each counts as that many turns later in its account's queue."""


class Moment(TypeDecorator[datetime.datetime]):
    """A moment in UTC: ``timestamptz`` on PostgreSQL, ISO text on SQLite; always aware in Python."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> Any:
        """UTC, without offset where the database keeps none."""
        if value is None:
            return None
        utc = value.astimezone(datetime.UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(
        self, value: datetime.datetime | None, dialect: Dialect
    ) -> datetime.datetime | None:
        """Aware again."""
        if value is None:
            return None
        return (
            value.replace(tzinfo=datetime.UTC) if dialect.name == "sqlite" else value.astimezone(datetime.UTC)
        )


class Base(DeclarativeBase):
    """Names every constraint alike on every database, so that a migration can find it."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it from the class
        datetime.datetime: Moment(),
        dict[str, Any]: JSON(none_as_null=True),
        list[str]: JSON(),
        str: String(),
    }


def _owner(**options: Any) -> Mapped[str]:
    return mapped_column(ForeignKey("account.id"), **options)


class Account(Base):
    """A contractor or a merchant; a merchant's trade customers are contractors that name it."""

    __tablename__ = "account"
    id: Mapped[str] = mapped_column(primary_key=True)
    kind: Mapped[str]
    merchant_id: Mapped[str | None] = mapped_column(ForeignKey("account.id"), index=True)
    profile: Mapped[dict[str, Any]]  # api_schema.account.Profile
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class ApiKey(Base):
    """A key of an account. The secret is shown once and kept as its SHA-256."""

    __tablename__ = "api_key"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    secret_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    prefix: Mapped[str]  # what is shown of it: lapwise_ and four characters
    last4: Mapped[str]
    name: Mapped[str]
    scopes: Mapped[list[str]]
    created_at: Mapped[datetime.datetime]
    last_used_at: Mapped[datetime.datetime | None]
    revoked_at: Mapped[datetime.datetime | None]


class Setting(Base):
    """What an account changed of its standard, outputs or price book. No row: the defaults hold."""

    __tablename__ = "setting"
    account_id: Mapped[str] = _owner(primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)  # standard | outputs | price_book
    body: Mapped[dict[str, Any]]
    version: Mapped[int]
    updated_at: Mapped[datetime.datetime]


class Snapshot(Base):
    """A standard, outputs or price book as it was when something was planned with it, kept once for each content."""

    __tablename__ = "snapshot"
    account_id: Mapped[str] = _owner(primary_key=True)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    body: Mapped[dict[str, Any]]


class Job(Base):
    """A job as it stands; `body` is `api_schema.job.Job` of the newest revision."""

    __tablename__ = "job"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    reference: Mapped[str]
    title: Mapped[str] = mapped_column(default="")
    revision: Mapped[int] = mapped_column(default=1)
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
    updated_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]


class JobRevision(Base):
    """What a job said at each revision; never changed, so that old plans keep their meaning."""

    __tablename__ = "job_revision"
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    body: Mapped[dict[str, Any]]
    created_at: Mapped[datetime.datetime]


class Run(Base):
    """One piece of work, and the queue of record: a plan of a job's revision, a document to be rendered, and so on.

    `kind` is ``plan``, ``render``, ``price``, ``analyse`` (the readings of a fan test) or ``read`` (a model). A
    render says what in `document_kind` (``site_pack``, ``quote``, ``order`` …) and of what in `subject_id` (the
    plan's run, the quote, the order). Work on no job has no `job_id`, and revision 0. `fence` counts the claims: only the holder
    of the newest may finish. `dispatched_at` is when a hint was last sent to the broker.
    """

    __tablename__ = "run"
    __table_args__ = (
        Index(
            "ix_run_waiting",
            "kind",
            "account_id",
            "priority",
            "created_at",
            "id",
            postgresql_where=text("state = 'queued'"),
            sqlite_where=text("state = 'queued'"),
        ),
        Index(
            "ix_run_running",
            "lease_until",
            postgresql_where=text("state = 'running'"),
            sqlite_where=text("state = 'running'"),
        ),
        Index(None, "job_id", "kind", "created_at"),
        Index(None, "account_id", "state"),
        Index(None, "finished_at"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    kind: Mapped[str]
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))
    revision: Mapped[int]
    document_kind: Mapped[str | None]
    subject_id: Mapped[str | None]
    state: Mapped[str]
    priority: Mapped[int] = mapped_column(default=INTERACTIVE)
    attempt: Mapped[int] = mapped_column(default=0)
    max_attempts: Mapped[int]
    fence: Mapped[int] = mapped_column(default=0)
    not_before: Mapped[datetime.datetime]
    dispatched_at: Mapped[datetime.datetime | None]
    lease_until: Mapped[datetime.datetime | None]
    deadline_at: Mapped[datetime.datetime]
    worker: Mapped[str | None]
    progress: Mapped[int] = mapped_column(default=0)  # hundredths
    problem: Mapped[dict[str, Any] | None]  # api_schema.problem.Problem where it failed
    snapshots: Mapped[dict[str, Any]]  # {"standard": sha256, "outputs", "price_book", "profile"}
    traceparent: Mapped[str | None]
    created_at: Mapped[datetime.datetime]
    started_at: Mapped[datetime.datetime | None]
    finished_at: Mapped[datetime.datetime | None]


class Plan(Base):
    """What a run computed; `body` is `api_schema.plan.Plan`."""

    __tablename__ = "plan"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    body: Mapped[dict[str, Any]]


class PlanPart(Base):
    """What was computed beside a plan: ``survey`` (`api_schema.job_survey`) and ``leakage`` (`api_schema.tested`)."""

    __tablename__ = "plan_part"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    body: Mapped[dict[str, Any]]


class Drawing(Base):
    """One surface of a plan, drawn; under ``_isometric`` the whole building, which no surface can be named."""

    __tablename__ = "drawing"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    surface: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    svg: Mapped[bytes] = mapped_column(LargeBinary)


class Quote(Base):
    """A priced offer; `body` is `api_schema.quote.Quote`, `state` and `version` move beside it.

    A draft has no number yet: its own public name stands in `number`, and `body` has none.
    """

    __tablename__ = "quote"
    __table_args__ = (
        UniqueConstraint("account_id", "number", "revision"),
        Index(None, "account_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    number: Mapped[str]
    revision: Mapped[int]
    state: Mapped[str]
    body: Mapped[dict[str, Any]]
    issued_on: Mapped[datetime.date | None]
    valid_until: Mapped[datetime.date | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class QuoteBasis(Base):
    """What stands behind a quote and is not on it: the wish, what was priced anew, and who answered.

    `labour`, `order_lines` and `breakdown` are null where the plan's own hold.
    """

    __tablename__ = "quote_basis"
    quote_id: Mapped[str] = mapped_column(ForeignKey("quote.id"), primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    wish: Mapped[dict[str, Any]]  # api_schema.quote_options.QuoteWish
    pricing_run_id: Mapped[str | None] = mapped_column(ForeignKey("run.id"))
    labour: Mapped[dict[str, Any] | None]
    order_lines: Mapped[list[Any] | None] = mapped_column(JSON(none_as_null=True))
    breakdown: Mapped[dict[str, Any] | None]
    answered_by: Mapped[str | None]
    answered_at: Mapped[datetime.datetime | None]


class Order(Base):
    """The packs to buy from one supplier; `body` is `api_schema.order.Order`. One for each plan and supplier."""

    __tablename__ = "order_to_supplier"
    __table_args__ = (
        UniqueConstraint("account_id", "number"),
        UniqueConstraint("run_id", "supplier"),
        Index(None, "account_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    number: Mapped[str]
    supplier: Mapped[str]
    state: Mapped[str]
    body: Mapped[dict[str, Any]]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class Blob(Base):
    """Bytes, kept once for each content and account."""

    __tablename__ = "blob"
    account_id: Mapped[str] = _owner(primary_key=True)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)


class Document(Base):
    """A rendered document: stored, never changed. One for each kind and subject, so none is made twice."""

    __tablename__ = "document"
    __table_args__ = (
        UniqueConstraint("account_id", "kind", "subject_id"),
        Index(None, "job_id", "created_at", "id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))  # null for a fan test on no job
    kind: Mapped[str]
    subject_id: Mapped[str]  # the plan's run, the quote, the order or the fan test it shows
    filename: Mapped[str]
    media_type: Mapped[str]
    sha256: Mapped[str] = mapped_column(String(64))
    size: Mapped[int]
    created_at: Mapped[datetime.datetime]


class Counter(Base):
    """The last number given out, by account, purpose and year."""

    __tablename__ = "counter"
    account_id: Mapped[str] = _owner(primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    year: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    value: Mapped[int]


class Repeat(Base):
    """An Idempotency-Key and, once there is one, the answer its first request got."""

    __tablename__ = "repeat"
    account_id: Mapped[str] = _owner(primary_key=True)
    scope: Mapped[str] = mapped_column(primary_key=True)  # method and route
    key: Mapped[str] = mapped_column(primary_key=True)
    fingerprint: Mapped[str] = mapped_column(String(64))
    status: Mapped[int | None]
    headers: Mapped[dict[str, Any] | None]
    body: Mapped[str | None] = mapped_column(Text)
    expires_at: Mapped[datetime.datetime] = mapped_column(index=True)


class RecordedHours(Base):
    """Hours of a finished job as the crew recorded them."""

    __tablename__ = "recorded_hours"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), index=True)
    body: Mapped[dict[str, Any]]
    created_at: Mapped[datetime.datetime]


class PressureTest(Base):
    """A fan test: the readings as sent, and what they mean once its run is ready.

    `prediction` is what the budget of the job's plan had expected (`api_schema.leakage.PredictedMeasured`).
    """

    __tablename__ = "pressure_test"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"), index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    reference: Mapped[str]
    body: Mapped[dict[str, Any]]  # api_schema.pressure_test.PressureTestInput
    result: Mapped[dict[str, Any] | None]  # api_schema.pressure_result.PressureTestResult
    prediction: Mapped[dict[str, Any] | None]
    table_csv: Mapped[str | None] = mapped_column(Text)
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]


class Leak(Base):
    """A leak found on a job; `body` is `api_schema.pressure_test.LeakNote`."""

    __tablename__ = "leak"
    __table_args__ = (Index(None, "job_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"))
    test_id: Mapped[str | None] = mapped_column(ForeignKey("pressure_test.id"), index=True)
    body: Mapped[dict[str, Any]]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class ModelFile(Base):
    """A designer's model that was sent, and the survey it proposes once its run is ready."""

    __tablename__ = "model_file"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))
    filename: Mapped[str]
    sha256: Mapped[str] = mapped_column(String(64))  # of its bytes, kept as a blob
    size: Mapped[int]
    reading: Mapped[dict[str, Any] | None]  # api_schema.model_reading.ModelReading
    created_at: Mapped[datetime.datetime]


class Audit(Base):
    """Who did what to what. Never changed."""

    __tablename__ = "audit"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    key_id: Mapped[str | None]
    action: Mapped[str]
    subject: Mapped[str]
    detail: Mapped[str | None]  # what was said with it, such as who accepted on a page without a key
    at: Mapped[datetime.datetime]


class Presence(Base):
    """When a process of ours was last heard from."""

    __tablename__ = "presence"
    name: Mapped[str] = mapped_column(primary_key=True)
    kind: Mapped[str]  # worker | scheduler
    seen_at: Mapped[datetime.datetime]


class Hook(Base):
    """An address of the account's that is told of events.

    `secret` signs what is sent, so it must be read back and cannot be kept as a hash: it is kept sealed
    (`service.records.sealing`). `old_secret` signs beside it until `old_secret_until`. `given_up_in_a_row` counts the
    events it did not take since the last it took; `stopped_because` says why we stopped telling it.
    """

    __tablename__ = "hook"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    url: Mapped[str] = mapped_column(Text)
    events: Mapped[list[str]]  # empty: all
    active: Mapped[bool]
    note: Mapped[str]
    secret: Mapped[str]
    old_secret: Mapped[str | None]
    old_secret_until: Mapped[datetime.datetime | None]
    stopped_because: Mapped[str | None]
    given_up_in_a_row: Mapped[int] = mapped_column(default=0, server_default=text("0"))
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class HookDelivery(Base):
    """One event to be told to one hook: written with what happened, sent afterwards. `event_id` never changes."""

    __tablename__ = "hook_delivery"
    __table_args__ = (
        Index(
            "ix_hook_delivery_waiting",
            "next_at",
            postgresql_where=text("state IN ('waiting', 'sending')"),
            sqlite_where=text("state IN ('waiting', 'sending')"),
        ),
        Index(None, "hook_id", "created_at", "id"),
        Index(None, "account_id"),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    hook_id: Mapped[str] = mapped_column(ForeignKey("hook.id"))
    event_id: Mapped[str]
    event: Mapped[str]
    subject: Mapped[str]
    data: Mapped[dict[str, Any]]
    state: Mapped[str]  # waiting | sending | delivered | given_up
    attempt: Mapped[int] = mapped_column(default=0)
    tries: Mapped[int] = mapped_column(default=0)  # attempts since it was asked for (again)
    next_at: Mapped[datetime.datetime]  # while sending: when the sender is taken for dead
    give_up_at: Mapped[datetime.datetime]
    log: Mapped[list[Any]] = mapped_column(JSON)
    created_at: Mapped[datetime.datetime]
    ended_at: Mapped[datetime.datetime | None]


class Batch(Base):
    """Many jobs sent in one request."""

    __tablename__ = "batch"
    __table_args__ = (
        Index(None, "account_id", "created_at", "id"),
        Index(
            "ix_batch_unfinished",
            "created_at",
            postgresql_where=text("finished_at IS NULL"),
            sqlite_where=text("finished_at IS NULL"),
        ),
    )
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    reference: Mapped[str]
    total: Mapped[int]
    created_at: Mapped[datetime.datetime]
    finished_at: Mapped[datetime.datetime | None]


class BatchItem(Base):
    """One job of a batch: the job it became, or why it became none."""

    __tablename__ = "batch_item"
    batch_id: Mapped[str] = mapped_column(ForeignKey("batch.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    account_id: Mapped[str] = _owner(index=True)
    reference: Mapped[str]
    job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"), index=True)
    problem: Mapped[dict[str, Any] | None]  # api_schema.problem.Problem


class SettledPlan(Base):
    """A plan whose rolls were taken off stock and whose offcuts were kept: done once."""

    __tablename__ = "settled_plan"
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"), primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    created_at: Mapped[datetime.datetime]


class FinishedJob(Base):
    """A job that is finished: what it used up left the stock, once."""

    __tablename__ = "finished_job"
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    account_id: Mapped[str] = _owner(index=True)
    run_id: Mapped[str] = mapped_column(ForeignKey("run.id"))  # the plan it was finished by
    body: Mapped[
        dict[str, Any]
    ]  # {"used": [api_schema.finish.UsedUp], "packs": [api_schema.finish.PacksUsed]}
    created_at: Mapped[datetime.datetime]


class Offcut(Base):
    """An offcut in the ledger. What is on hand stands in the price book; here is where it came from and went."""

    __tablename__ = "offcut"
    __table_args__ = (Index(None, "account_id", "created_at", "id"),)
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = _owner()
    product: Mapped[str]
    length_mm: Mapped[int]
    width_mm: Mapped[int]
    from_job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))  # null: written into the price book
    used_by_job_id: Mapped[str | None] = mapped_column(ForeignKey("job.id"))
    created_at: Mapped[datetime.datetime]
    used_at: Mapped[datetime.datetime | None]
