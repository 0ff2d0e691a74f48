"""The outputs an account plans with: its settings, moved by the hours of its finished jobs."""

from __future__ import annotations

from api_schema.outputs import Outputs
from service.learning import history_of, learn
from service.records.store import Store


def learnt_outputs(store: Store, account_id: str, start: Outputs) -> Outputs:
    """`start` moved toward the account's own recorded hours; `start` itself where nothing was recorded.

    Every plan learns anew from the whole history, so that no job counts twice and a correction takes effect.
    """
    with store.reading() as session:
        history = history_of(session, account_id, start)
    return learn(start, history) if history else start
