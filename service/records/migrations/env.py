"""How alembic runs our steps: on the connection `service.records.migrate` hands over."""

from __future__ import annotations

from typing import Any

from alembic import context

from service.records.tables import Base, Moment


def _written(kind: str, item: Any, _context: Any) -> str | bool:
    return "sa.DateTime(timezone=True)" if kind == "type" and isinstance(item, Moment) else False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    compare_type=True,
    render_item=_written,
    render_as_batch=True,
)
context.run_migrations()
