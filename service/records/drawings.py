"""The drawings of a plan's surfaces, and the file that holds them in every form."""

from __future__ import annotations

import hashlib

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.records.tables import Drawing

FILES = "drawing_files"  # the kind of document that holds them
_WHOLE_BUILDING = "_isometric"


def surfaces_of(session: Session, account_id: str, run_id: str) -> dict[str, bytes]:
    """Every surface of a ready plan as SVG, by its id; the building as a whole is not among them."""
    rows = session.scalars(
        select(Drawing)
        .where(Drawing.account_id == account_id, Drawing.run_id == run_id, Drawing.surface != _WHOLE_BUILDING)
        .order_by(Drawing.surface)
    )
    return {row.surface: row.svg for row in rows}


def files_subject(session: Session, account_id: str, run_id: str) -> str:
    """What the file of a plan's drawings is stored under: another once a leak was drawn on one of them."""
    digest = hashlib.sha256()
    for surface, svg in surfaces_of(session, account_id, run_id).items():
        digest.update(f"{surface}\n{len(svg)}\n".encode() + svg)
    return f"{run_id}.{digest.hexdigest()[:16]}"


def run_of_subject(subject_id: str) -> str:
    """The plan's run that such a file is of."""
    return subject_id.partition(".")[0]
