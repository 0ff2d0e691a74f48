"""Log lines: one JSON object each, on stderr, with secrets cut out wherever they stand.

Bind what a line is about with `structlog.contextvars.bind_contextvars`: ``request_id``, ``account``, ``run``,
``traceparent``. Never log bodies, names or addresses of customers.
"""

from __future__ import annotations

import logging
import re
import sys
from typing import Any, TextIO

import structlog
from structlog.typing import EventDict, WrappedLogger

_SECRET_NAMES = re.compile(r"authorization|secret|password|token|api_key|idempotency|signature|cookie", re.I)
_KEY = re.compile(r"lapwise_[0-9A-Za-z]{20,}|whsec_[0-9A-Za-z+/=]{20,}")
_CREDENTIALS = re.compile(r"(?<=://)[^/@\s:]*:[^/@\s]+(?=@)")
_CUT = "[cut]"


def cut_secrets(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
    """Replaces keys of ours, passwords in addresses, and whatever is named like a secret."""
    return {name: _CUT if _SECRET_NAMES.search(name) else _clean(value) for name, value in event.items()}


def _clean(value: Any) -> Any:
    if isinstance(value, str):
        return _CREDENTIALS.sub(_CUT, _KEY.sub(_CUT, value))
    if isinstance(value, dict):
        return {
            name: _CUT if _SECRET_NAMES.search(str(name)) else _clean(inner) for name, inner in value.items()
        }
    if isinstance(value, list | tuple):
        return [_clean(inner) for inner in value]
    return value


def configure(level: str = "INFO", stream: TextIO | None = None) -> None:
    """Sets up structlog and the standard library's logging alike; call once in each process.

    Args:
        level: DEBUG, INFO, WARNING or ERROR.
        stream: where the lines go; stderr where not said.
    """
    shared: list[Any] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.stdlib.PositionalArgumentsFormatter(),
    ]
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=False,
    )
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.format_exc_info,
                cut_secrets,
                structlog.processors.JSONRenderer(default=repr, ensure_ascii=False),
            ],
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level)
    for chatty in (
        "fontTools",
        "weasyprint",
        "PIL",
        "kombu",
        "alembic.runtime",
        "celery.worker.strategy",
        "celery.app.trace",
    ):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    logging.captureWarnings(capture=True)
