"""Addresses of our own things, absolute where the service knows the address clients reach it under."""

from __future__ import annotations

from flask import current_app


def address(path: str) -> str:
    """The address of a path such as ``/v1/jobs``."""
    return f"{current_app.config['PUBLIC_URL']}{path}"
