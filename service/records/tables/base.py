"""What every table shares: names of constraints, moments in UTC, and whose a row is."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import JSON, DateTime, ForeignKey, MetaData, String
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator


class Moment(TypeDecorator[datetime.datetime]):
    """A moment in UTC: ``timestamptz`` on PostgreSQL, ISO text on SQLite; always aware in Python."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> Any:
        """UTC, without offset where the database keeps none."""
        if value is None:
            return None
        utc = value.astimezone(datetime.UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(
        self, value: datetime.datetime | None, dialect: Dialect
    ) -> datetime.datetime | None:
        """Aware again."""
        if value is None:
            return None
        return (
            value.replace(tzinfo=datetime.UTC) if dialect.name == "sqlite" else value.astimezone(datetime.UTC)
        )


class Base(DeclarativeBase):
    """Names every constraint alike on every database, so that a migration can find it."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it from the class
        datetime.datetime: Moment(),
        dict[str, Any]: JSON(none_as_null=True),
        list[str]: JSON(),
        str: String(),
    }


def owner(**options: Any) -> Mapped[str]:
    """The column that says whose a row is."""
    return mapped_column(ForeignKey("account.id"), **options)
