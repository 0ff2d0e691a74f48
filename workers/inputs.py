"""What a run is made from: the job at its revision, and the settings as they were when it was asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api_schema.account import Profile
from api_schema.job import Job
from api_schema.outputs import Outputs
from api_schema.price_book import PriceBook
from api_schema.shape import load
from api_schema.standard import Standard
from service.records import jobs, logos, own_values
from service.records.store import Store
from service.records.tables import Run
from workers.engine.envelope import prepare


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything a plan is made from."""

    job: Job
    """Prepared for the engine: the surfaces of its building filled in."""
    sent: Job
    """As it was sent."""
    standard: Standard
    outputs: Outputs
    price_book: PriceBook


def inputs_of(store: Store, run: Run) -> Inputs:
    """What the run's plan is made from. Raises SurveyFaults where the job cannot be planned."""

    def kept(name: str, record: type[Any]) -> Any:
        return load(record, own_values.get_snapshot(session, run.account_id, run.snapshots[name]))

    with store.reading() as session:
        sent = load(Job, jobs.job_body(session, run.account_id, str(run.job_id), run.revision))
        return Inputs(
            prepare(sent),
            sent,
            kept("standard", Standard),
            kept("outputs", Outputs),
            kept("price_book", PriceBook),
        )


def profile_of(store: Store, run: Run) -> Profile:
    """The profile the run's documents show."""
    with store.reading() as session:
        return load(Profile, own_values.get_snapshot(session, run.account_id, run.snapshots["profile"]))


def logo_of(store: Store, run: Run) -> bytes:
    """The logo the run's documents show, as it was when they were asked for; empty where there was none."""
    with store.reading() as session:
        return logos.kept_logo(session, run.account_id, run.snapshots.get("logo"))
