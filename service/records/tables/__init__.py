"""The tables, one file a subject; all are had from here. Whatever belongs to an account says so in `account_id`.

Bodies are kept as the JSON of the shared records (`api_schema`), so that what is stored is what travels. Public names
are random. Money is never computed here, and nothing is queried: that is for the files beside this folder.
"""

from service.records.tables.accounts import Account, ApiKey, Audit, Setting, Snapshot
from service.records.tables.base import Base, Moment
from service.records.tables.batches import Batch, BatchItem
from service.records.tables.fan_tests import Leak, PressureTest
from service.records.tables.files import Blob, Document, ModelFile
from service.records.tables.hooks import Hook, HookDelivery
from service.records.tables.jobs import FinishedJob, Job, JobRevision, RecordedHours
from service.records.tables.requests import Repeat
from service.records.tables.runs import (
    BATCH,
    ENDED,
    INTERACTIVE,
    PAPER,
    RUN_STATES,
    Drawing,
    Plan,
    PlanPart,
    Presence,
    Run,
)
from service.records.tables.stock import Offcut, SettledPlan, SpokenFor
from service.records.tables.trade import Counter, Order, Quote, QuoteBasis, QuoteCombination

__all__ = [
    "BATCH",
    "ENDED",
    "INTERACTIVE",
    "PAPER",
    "RUN_STATES",
    "Account",
    "ApiKey",
    "Audit",
    "Base",
    "Batch",
    "BatchItem",
    "Blob",
    "Counter",
    "Document",
    "Drawing",
    "FinishedJob",
    "Hook",
    "HookDelivery",
    "Job",
    "JobRevision",
    "Leak",
    "ModelFile",
    "Moment",
    "Offcut",
    "Order",
    "Plan",
    "PlanPart",
    "Presence",
    "PressureTest",
    "Quote",
    "QuoteBasis",
    "QuoteCombination",
    "RecordedHours",
    "Repeat",
    "Run",
    "Setting",
    "SettledPlan",
    "Snapshot",
    "SpokenFor",
]
