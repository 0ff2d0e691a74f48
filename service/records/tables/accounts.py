"""Accounts, their keys, what they changed of the defaults, and the trail of who did what."""

from __future__ import annotations

import datetime
from typing import Any

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from service.records.tables.base import Base, owner


class Account(Base):
    """A contractor or a merchant; a merchant's trade customers are contractors that name it."""

    __tablename__ = "account"
    id: Mapped[str] = mapped_column(primary_key=True)
    kind: Mapped[str]
    merchant_id: Mapped[str | None] = mapped_column(ForeignKey("account.id"), index=True)
    profile: Mapped[dict[str, Any]]  # api_schema.account.Profile
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime.datetime]


class ApiKey(Base):
    """A key of an account. The secret is shown once and kept as its SHA-256."""

    __tablename__ = "api_key"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    secret_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    prefix: Mapped[str]  # what is shown of it: lapwise_ and four characters
    last4: Mapped[str]
    name: Mapped[str]
    scopes: Mapped[list[str]]
    created_at: Mapped[datetime.datetime]
    last_used_at: Mapped[datetime.datetime | None]
    revoked_at: Mapped[datetime.datetime | None]


class Setting(Base):
    """What an account changed of its standard, outputs or price book. No row: the defaults hold."""

    __tablename__ = "setting"
    account_id: Mapped[str] = owner(primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)  # standard | outputs | price_book
    body: Mapped[dict[str, Any]]
    version: Mapped[int]
    updated_at: Mapped[datetime.datetime]


class Snapshot(Base):
    """A standard, outputs or price book as it was when something was planned with it, kept once for each content."""

    __tablename__ = "snapshot"
    account_id: Mapped[str] = owner(primary_key=True)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    body: Mapped[dict[str, Any]]


class Audit(Base):
    """Who did what to what. Never changed."""

    __tablename__ = "audit"
    id: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[str] = owner(index=True)
    key_id: Mapped[str | None]
    action: Mapped[str]
    subject: Mapped[str]
    detail: Mapped[str | None]  # what was said with it, such as who accepted on a page without a key
    at: Mapped[datetime.datetime]
