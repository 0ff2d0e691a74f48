"""The Celery application and its settings.

The database is the queue of record (see `service.records.ledger`); a message carries a run's id and nothing else,
and may be lost, doubled or late without harm. So there is no result backend, no chord, no retry by Celery: the
ledger counts attempts.
"""

from __future__ import annotations

import warnings

from celery import Celery
from celery.platforms import SecurityWarning
from kombu import Queue

from service.settings import Settings, from_environment
from workers.unstuck import Unstuck

PLAN, RENDER, PRICE = "lapwise.plan", "lapwise.render", "lapwise.price"
ANALYSE, READ = "lapwise.analyse", "lapwise.read"
QUEUE_OF = {
    "plan": "compute", "render": "documents", "price": "compute", "analyse": "compute", "read": "documents",
}  # fmt: skip
TASK_OF = {"plan": PLAN, "render": RENDER, "price": PRICE, "analyse": ANALYSE, "read": READ}
QUEUES = tuple(dict.fromkeys(QUEUE_OF.values()))

# Celery warns of running as root because a pickled message could then do anything; only JSON is taken here, and
# containers run as a plain user.
warnings.filterwarnings("ignore", category=SecurityWarning)


def make_app(settings: Settings, *, publisher: bool = False) -> Celery:
    """The application. A `publisher` gives up on a broker that does not answer within about two seconds."""
    app = Celery("lapwise", broker=settings.broker_url, include=[] if publisher else ["workers.tasks"])
    longest = max(settings.plan_time_limit_s, settings.render_time_limit_s)
    app.conf.update(
        # what a message is
        task_serializer="json",
        accept_content=["json"],
        result_backend=None,
        task_ignore_result=True,
        task_default_queue="compute",
        task_queues=[Queue(name) for name in QUEUES],
        task_routes={TASK_OF[kind]: {"queue": QUEUE_OF[kind]} for kind in QUEUE_OF},
        task_create_missing_queues=False,  # a typo in a queue's name must fail
        # delivery: what a killed worker held is found by its lease, so Celery need not bring it back
        task_acks_late=True,
        worker_prefetch_multiplier=1,
        task_reject_on_worker_lost=False,
        task_acks_on_failure=True,
        task_acks_on_timeout=True,
        worker_cancel_long_running_tasks_on_connection_loss=False,  # a second delivery is refused at the claim
        # worker processes
        worker_max_tasks_per_child=500,
        worker_max_memory_per_child=settings.worker_memory_kib,
        worker_proc_alive_timeout=30,
        worker_hijack_root_logger=False,
        worker_redirect_stdouts=False,
        worker_send_task_events=False,
        worker_enable_remote_control=False,
        # connections
        broker_connection_retry_on_startup=True,
        broker_connection_max_retries=None,
        broker_connection_timeout=2 if publisher else 4,
        broker_pool_limit=2,
        task_publish_retry=False,
        broker_transport_options={
            "visibility_timeout": 2 * longest + 60,  # longer than any task may run
            "unacked_restore_interval": 10,
            "unacked_restore_throttle": 1,
            "socket_timeout": 2 if publisher else 15,
            "socket_connect_timeout": 2,
            "socket_keepalive": not settings.broker_url.startswith("redis+socket"),
            "health_check_interval": 10,
            "queue_order_strategy": "round_robin",
            "global_keyprefix": "lapwise:",
        },
        timezone="UTC",
        enable_utc=True,
    )
    if not publisher:
        app.steps["worker"].add(Unstuck)
    return app


settings = from_environment()
app = make_app(settings)
