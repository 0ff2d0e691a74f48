"""Lists that are read a page at a time, newest first."""

from __future__ import annotations

import datetime
from typing import Any, TypeVar

from sqlalchemy import Select
from sqlalchemy.orm import InstrumentedAttribute

Place = tuple[datetime.datetime, str]
"""When a row was made, and its public name: rows of the same moment go by that."""
Query = TypeVar("Query", bound=Select[Any])


def newest_first(
    query: Query,
    made: InstrumentedAttribute[datetime.datetime],
    name: InstrumentedAttribute[str],
    *,
    limit: int,
    after: Place | None,
) -> Query:
    """The rows of a query by the columns `made` and `name`, at most `limit`, from behind the place of the last one seen."""
    if after is not None:
        moment, last = after
        query = query.where((made < moment) | ((made == moment) & (name < last)))
    return query.order_by(made.desc(), name.desc()).limit(limit)
