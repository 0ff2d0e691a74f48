"""Is it alive, is it ready, and what the operator's monitoring reads. Nobody's data is in these answers.

Ready is whoever can take a job and keep it, and that takes the database alone: a broker, relay or worker that is away
or behind delays plans and loses none. Were that "not ready", every web process would be taken out at once for a
queue it did not make, and jobs refused that could be kept. So these are told in the body, and alerted on elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import redis
from flask import Flask, Response
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from service.api import strict_json
from service.api.work_metrics import WorkCollector
from service.records import migrate, operations, presence
from service.records.store import Store
from service.settings import Settings

_BROKER_PATIENCE_S = 0.5


class RunCollector(Collector):
    """Reads the queue from the database whenever monitoring asks."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def collect(self) -> Iterable[Metric]:
        """Runs by kind and state, age of the oldest waiting one, processes heard from."""
        with self._store.reading() as session:
            counts = operations.counts_by_state(session)
            oldest_s = operations.queue_age_s(session)
            alive = {kind: presence.alive(session, kind=kind) for kind in ("worker", "scheduler", "teller")}
        runs = GaugeMetricFamily("lapwise_runs", "Runs in the database.", labels=["kind", "state"])
        for (kind, state), count in sorted(counts.items()):
            runs.add_metric([kind, state], count)
        yield runs
        yield GaugeMetricFamily(
            "lapwise_queue_age_seconds", "How long the oldest waiting run has waited.", value=oldest_s
        )
        processes = GaugeMetricFamily(
            "lapwise_processes", "Processes heard from in the last seconds.", labels=["kind"]
        )
        for kind, count in alive.items():
            processes.add_metric([kind], count)
        yield processes


class Metrics:
    """What this web process counts."""

    def __init__(self, store: Store) -> None:
        self.registry = CollectorRegistry()
        self.requests = Counter(
            "lapwise_requests_total",
            "Requests answered.",
            ["operation", "method", "status"],
            registry=self.registry,
        )
        self.seconds = Histogram(
            "lapwise_request_seconds",
            "Time to answer, without waiting asked for by Prefer.",
            ["operation"],
            registry=self.registry,
            buckets=(0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10, 30),
        )
        self.registry.register(RunCollector(store))
        self.registry.register(WorkCollector(store))


def add_health(app: Flask, store: Store, settings: Settings, metrics: Metrics) -> None:
    """Routes /healthz, /readyz and /metrics."""
    broker = redis.Redis.from_url(
        _redis_url(settings.broker_url),
        socket_timeout=_BROKER_PATIENCE_S,
        socket_connect_timeout=_BROKER_PATIENCE_S,
    )

    @app.get("/healthz", provide_automatic_options=False)
    def healthz() -> Response:
        return _json({"status": "alive"}, 200)

    @app.get("/readyz", provide_automatic_options=False)
    def readyz() -> Response:
        checks = {"database": _database(store), "broker": _broker(broker)}
        standing = _work(store) if checks["database"] else None
        body: dict[str, object] = {"status": "not_ready", "checks": checks}
        if standing is not None:
            checks |= {
                "worker": standing.workers > 0,
                "scheduler": standing.schedulers > 0,
                "relay": standing.relay_lag_s <= settings.relay_lag_limit_s,
                "queue": standing.queue_age_s <= settings.queue_age_limit_s,
            }
            body |= {
                "status": "ready" if all(checks.values()) else "degraded",
                "relay_lag_s": round(standing.relay_lag_s, 1),
                "queue_age_s": round(standing.queue_age_s, 1),
            }
        return _json(body, 200 if standing is not None else 503)

    @app.get("/metrics", provide_automatic_options=False)
    def metrics_text() -> Response:
        return Response(
            generate_latest(metrics.registry), content_type="text/plain; version=0.0.4; charset=utf-8"
        )


def _json(body: dict[str, object], status: int) -> Response:
    response = Response(strict_json.write(body), status=status, content_type="application/json")
    if status == 503:
        response.headers["Retry-After"] = "5"
    return response


def _redis_url(broker_url: str) -> str:
    return broker_url.replace("redis+socket://", "unix://", 1)


def _database(store: Store) -> bool:
    try:
        with store.reading() as session:
            session.execute(text("SELECT 1"))
        return migrate.is_current(store)
    except SQLAlchemyError:
        return False


def _broker(broker: redis.Redis) -> bool:
    try:
        return bool(broker.ping())
    except redis.RedisError:
        return False


@dataclass(frozen=True, slots=True)
class _Work:
    workers: int
    schedulers: int
    relay_lag_s: float
    queue_age_s: float


def _work(store: Store) -> _Work | None:
    try:
        with store.reading() as session:
            return _Work(
                workers=presence.alive(session, kind="worker"),
                schedulers=presence.alive(session, kind="scheduler"),
                relay_lag_s=operations.relay_lag_s(session),
                queue_age_s=operations.queue_age_s(session),
            )
    except SQLAlchemyError:
        return None
