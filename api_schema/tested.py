"""What the API keeps and gives of fan tests, leaks, leakage budgets and models."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.document import DOCUMENT_KINDS, DocumentKind
from api_schema.fields import choice, identifier, moment, one, table, text, truth, whole
from api_schema.leakage import LeakageBudget, LeakRange
from api_schema.measured import measured
from api_schema.model_reading import ModelReading
from api_schema.pressure_result import PressureTestResult
from api_schema.pressure_test import LeakNote, PressureTestInput
from api_schema.problem import Problem
from api_schema.stored import PLAN_STATES, PlanState

_CREATED = moment("When it was stored.")
_FINAL = truth("False while it is worth asking again.", example=True)
_STATUS = choice("How far it is.", PLAN_STATES, example="ready")
_PROBLEM = one(Problem, "Why it failed.")
_LINKS = table(
    text("An address.", example="/v1/pressure-tests/tst_4Zk0c7tQm2", longest=400),
    "Where to go from here.",
    example={"self": "/v1/pressure-tests/tst_4Zk0c7tQm2"},
)


@dataclass(frozen=True, slots=True)
class Predicted:
    """What the leakage budget of the job's plan had expected, beside what the test measured."""

    predicted_m3_h: Annotated[LeakRange, one(LeakRange, "Flow at 50 Pa of the budget, m³/h.")]
    measured_m3_h: Annotated[float, measured("Flow at 50 Pa of the test.", example=205.0, unit="m3/h")]
    factor: Annotated[
        float, measured("Factor in the values that the budget used.", example=1.0, unit="1")
    ] = 1.0
    counts: Annotated[
        bool, truth("Does the account's factor learn from it? Only from a valid test, the newest of its job.", example=True)
    ] = True  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureTestSummary:
    """A fan test in few words."""

    id: Annotated[str, text("Public name of the test.", example="tst_4Zk0c7tQm2")]
    reference: Annotated[str, text("Your own reference.", example="PT-007")]
    job: Annotated[str | None, text("The job it belongs to.", example="job_4Zk0c7tQm2")]
    status: Annotated[PlanState, _STATUS]
    final: Annotated[bool, _FINAL]
    created_at: Annotated[datetime.datetime, _CREATED]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPressureTest(PressureTestSummary):
    """A fan test: its readings, and what they mean once `status` is ready."""

    problem: Annotated[Problem | None, _PROBLEM]
    test: Annotated[
        PressureTestInput,
        one(PressureTestInput, "As sent; once ready, with the sizes and the target that came from the job."),
    ]
    result: Annotated[PressureTestResult | None, one(PressureTestResult, "What the readings mean.")]
    prediction: Annotated[
        Predicted | None, one(Predicted, "Predicted beside measured; null without a planned job.")
    ]
    document: Annotated[
        str | None, text("Its report as PDF; null until it is rendered.", example="doc_4Zk0c7tQm2")
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryEntry(Predicted):
    """One test the account's factor learns from."""

    id: Annotated[str, text("Public name of the test.", example="tst_4Zk0c7tQm2")]
    job: Annotated[str, text("Its job.", example="job_4Zk0c7tQm2")]
    created_at: Annotated[datetime.datetime, _CREATED]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredLeak(LeakNote):
    """A leak found on a job."""

    id: Annotated[str, text("Public name of the note.", example="lek_4Zk0c7tQm2")]
    job: Annotated[str, text("The job.", example="job_4Zk0c7tQm2")]
    test: Annotated[
        str | None, text("The fan test whose readings came with it.", example="tst_4Zk0c7tQm2")
    ] = None
    created_at: Annotated[datetime.datetime, _CREATED]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakageBudgets:
    """Beside a plan: its budget for the job's own target and for every preset."""

    own: Annotated[LeakageBudget, one(LeakageBudget, "For the target of the job, where it has one.")]
    presets: Annotated[
        Mapping[str, LeakageBudget],
        table(one(LeakageBudget, "A budget."), "By the preset's name.", example={}),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLeakage:
    """The leakage budget of a job's plan."""

    job: Annotated[str, text("Public name of the job.", example="job_4Zk0c7tQm2")]
    revision: Annotated[int, whole("The job's revision it is made from.", example=1, minimum=1)]
    preset: Annotated[
        str | None, identifier("The preset it was asked for with; null for the job's own target.", example="passive-house")
    ]  # fmt: skip
    budget: Annotated[LeakageBudget, one(LeakageBudget, "What the target allows, and where it may go.")]


@dataclass(frozen=True, slots=True)
class DocumentWish:
    """A document that is rendered only when somebody wants it."""

    kind: Annotated[
        Literal["walk_round", "survey_report", "cut_labels", "drawing_files"],
        choice(
            "walk_round: what to look at before the fan test, with boxes; survey_report: what was measured; "
            "cut_labels: a label a piece, 24 to a sheet; drawing_files: every surface as SVG, PDF and DXF, in one ZIP.",
            ("walk_round", "survey_report", "cut_labels", "drawing_files"),
        ),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class WishedDocument:
    """How far a wished document is."""

    kind: Annotated[DocumentKind, choice("What it is.", DOCUMENT_KINDS, example="walk_round")]
    of: Annotated[str, text("The plan's run it shows.", example="run_4Zk0c7tQm2")]
    status: Annotated[PlanState, _STATUS]
    final: Annotated[bool, _FINAL]
    problem: Annotated[Problem | None, _PROBLEM]
    document: Annotated[str | None, text("The document, once ready.", example="doc_4Zk0c7tQm2")]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredModel:
    """A model that was sent, and the survey it proposes once `status` is ready."""

    id: Annotated[str, text("Public name of it.", example="mod_4Zk0c7tQm2")]
    filename: Annotated[str, text("The file's name as sent.", example="house.ifc")]
    size: Annotated[int, whole("Its length.", example=48_213, maximum=2**31 - 1, unit="B")]
    sha256: Annotated[
        str,
        text(
            "SHA-256 of its bytes, in hex.",
            example="9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
        ),
    ]
    status: Annotated[PlanState, _STATUS]
    final: Annotated[bool, _FINAL]
    problem: Annotated[Problem | None, _PROBLEM]
    proposal: Annotated[
        ModelReading | None,
        one(ModelReading, "The proposed survey, to be confirmed: send its surfaces and junctions with a job once they are right."),
    ]  # fmt: skip
    created_at: Annotated[datetime.datetime, _CREATED]
    links: Annotated[Mapping[str, str], _LINKS]


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelSummary:
    """A model in few words."""

    id: Annotated[str, text("Public name of it.", example="mod_4Zk0c7tQm2")]
    filename: Annotated[str, text("The file's name as sent.", example="house.ifc")]
    status: Annotated[PlanState, _STATUS]
    final: Annotated[bool, _FINAL]
    created_at: Annotated[datetime.datetime, _CREATED]
    links: Annotated[Mapping[str, str], _LINKS]
