"""Addresses of our own things, absolute where the service knows the address clients reach it under."""

from __future__ import annotations

from flask import current_app

_OF_A_JOB = (
    "plan", "survey", "isometric.svg", "quotes", "orders", "documents", "trade-pack", "hours", "ledger", "offcuts",
    "leakage-budget", "leaks", "finish",
)  # fmt: skip


def address(path: str) -> str:
    """The address of a path such as ``/v1/jobs``."""
    return f"{current_app.config['PUBLIC_URL']}{path}"


def links_of_job(job_id: str) -> dict[str, str]:
    """Where to go from a job: itself, and everything that hangs on it and needs no further name."""
    here = address(f"/v1/jobs/{job_id}")
    names = {part: part.partition(".")[0].replace("-", "_") for part in _OF_A_JOB}
    return {"self": here} | {name: f"{here}/{part}" for part, name in names.items()}
