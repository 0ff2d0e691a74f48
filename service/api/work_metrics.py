"""What monitoring reads of the work itself: the queue, durations, documents, hooks. Read from the database when asked."""

from __future__ import annotations

from collections.abc import Iterable

from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from service.records import deliveries, operations
from service.records.store import Store


class WorkCollector(Collector):
    """Figures of every account together, and nobody's data."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def collect(self) -> Iterable[Metric]:
        """Durations and waits of the last minutes, outbox lag, quarantine, documents, deliveries to hooks."""
        with self._store.reading() as session:
            took = operations.took_lately(session)
            quarantined = operations.count_quarantined(session)
            lag_s = operations.relay_lag_s(session)
            documents = operations.documents_by_kind(session)
            told = deliveries.counts(session)
        minutes = operations.LATELY.total_seconds() / 60
        seconds = GaugeMetricFamily(
            "lapwise_run_seconds_lately", f"Mean seconds of runs ended in the last {minutes:.0f} minutes: working, and "
            "from being asked for to the end.", labels=["kind", "of"],
        )  # fmt: skip
        ended = GaugeMetricFamily(
            "lapwise_runs_ended_lately", f"Runs ready in the last {minutes:.0f} minutes.", labels=["kind"]
        )
        for kind, (count, working_s, total_s) in sorted(took.items()):
            seconds.add_metric([kind, "working"], working_s)
            seconds.add_metric([kind, "total"], total_s)
            ended.add_metric([kind], count)
        yield seconds
        yield ended
        yield GaugeMetricFamily("lapwise_runs_quarantined", "Runs put aside.", value=quarantined)
        yield GaugeMetricFamily(
            "lapwise_outbox_lag_seconds",
            "How long the relay has announced nothing although runs wait.",
            value=lag_s,
        )
        stored = GaugeMetricFamily("lapwise_documents", "Documents stored.", labels=["kind"])
        for kind, count in sorted(documents.items()):
            stored.add_metric([kind], count)
        yield stored
        hooks = GaugeMetricFamily(
            "lapwise_hook_deliveries", "Deliveries to hooks by state.", labels=["state"]
        )
        for state in ("waiting", "sending", "delivered", "given_up"):
            hooks.add_metric([state], told.get(state, 0))
        yield hooks
