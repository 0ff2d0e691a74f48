"""Decimal places of currencies, for the rooms of the engine; the table itself is shared with the service."""

from api_schema.currency import minor_unit

__all__ = ["minor_unit"]
