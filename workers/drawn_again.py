"""Draws the surfaces of a plan again, with the leaks that were found since."""

from __future__ import annotations

from api_schema.plan import Plan
from api_schema.pressure_test import LeakNote
from api_schema.shape import load
from service.records import leaks, ledger, runs
from service.records.store import Store
from service.records.tables import Run
from workers.drawings import drawings_of
from workers.inputs import inputs_of, profile_of


def leaks_noted(store: Store, run: Run) -> dict[tuple[str, int], LeakNote]:
    """The leaks of a run's job, by (id, version), in the order of their numbers."""
    with store.reading() as session:
        rows = leaks.leaks_of(session, run.account_id, str(run.job_id))
    return {(row.id, row.version): load(LeakNote, row.body) for row in rows}


def draw_again(store: Store, claimed: ledger.Claim) -> None:
    """Draws the plan named by the run anew. Where leaks came meanwhile a later run draws those, and this one nothing."""
    run, plan_id = claimed.run, str(claimed.run.subject_id)
    inputs, noted = inputs_of(store, run), leaks_noted(store, run)
    with store.reading() as session:
        plan = load(Plan, runs.get_plan(session, run.account_id, plan_id))
    drawings = drawings_of(
        inputs.job, plan, inputs.standard, tuple(noted.values()), language=profile_of(store, run).language
    )
    with store.writing() as session:
        ledger.finish(session, run.id, fence=claimed.fence)
        if leaks.versions_of(session, run.account_id, str(run.job_id)) == list(noted):
            leaks.draw_surfaces(session, run.account_id, plan_id, drawings)
