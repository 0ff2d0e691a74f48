"""A job beside what was agreed in its accepted quote, and the wish to plan it so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from api_schema.fields import choice, list_of, many, table, text, truth, whole
from api_schema.stored import JOB_STATES, JobState

SettingName = Literal["insulation", "collars", "platforms"]
SETTING_NAMES: tuple[SettingName, ...] = ("insulation", "collars", "platforms")


@dataclass(frozen=True, slots=True)
class AsAgreedWish:
    """How the job is planned as agreed."""

    onto_revision: Annotated[
        int | None,
        whole(
            "Where something else of the job was changed after the quote was priced: the newest revision of the job, to say that you know and want what was agreed laid over it.",
            example=3,
            minimum=1,
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class AgreedSetting:
    """One setting that the job has otherwise than agreed."""

    setting: Annotated[
        SettingName,
        choice("Which: of `platforms` a job says nothing but on the crew's papers.", SETTING_NAMES),
    ]
    now: Annotated[str, text("As the job had it; empty for platforms.", example="in_place", longest=120)]
    agreed: Annotated[
        str,
        text("As agreed; of platforms the name of what the customer chose.", example="blown_in", longest=120),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class AsAgreed:
    """A job beside what was agreed in its accepted quote."""

    quote: Annotated[str, text("The accepted quote.", example="quo_4Zk0c7tQm2")]
    job: Annotated[str, text("Its job.", example="job_4Zk0c7tQm2")]
    follows: Annotated[
        bool, truth("True where the newest revision of the job has what was agreed.", example=True)
    ]
    changed: Annotated[
        bool, truth("True where this request made that revision; false where nothing was done.", example=True)
    ]
    said: Annotated[
        str,
        text(
            "The same in words.",
            example="Revision 2 of the job has what was agreed; it is being planned.",
            longest=2000,
        ),
    ]
    settings: Annotated[
        tuple[AgreedSetting, ...],
        many(AgreedSetting, "What differs; what differed, where `changed`.", most=len(SETTING_NAMES) + 4),
    ]
    priced_revision: Annotated[
        int, whole("The revision of the job that the quote was priced from.", example=1, minimum=1)
    ]
    revision: Annotated[int, whole("The newest revision of the job.", example=2, minimum=1)]
    changed_since: Annotated[
        tuple[str, ...],
        list_of(
            text("In words.", example="surface attic changed", longest=4000),
            "What else of the job was changed after the quote was priced; its price reckons with none of it.",
        ),
    ]
    needs_otherwise: Annotated[
        bool | None,
        truth(
            "True where the plan as agreed needs other material than the agreed price and its orders reckon with: strips may lie otherwise, or settings were changed since. Null before that plan is ready.",
            example=False,
        ),
    ]
    status: Annotated[
        JobState, choice("How far the plan of the newest revision is.", JOB_STATES, example="queued")
    ]
    links: Annotated[
        Mapping[str, str],
        table(
            text("An address.", example="/v1/jobs/job_4Zk0c7tQm2", longest=400),
            "Where to go from here.",
            example={"plan": "/v1/jobs/job_4Zk0c7tQm2/plan"},
        ),
    ]
