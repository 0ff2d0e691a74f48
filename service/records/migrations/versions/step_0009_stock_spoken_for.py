"""What jobs count on of the stock, from the moment their orders are made."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.create_table(
        "spoken_for",
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_spoken_for_run_id")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_spoken_for_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_spoken_for_job_id")),
        sa.PrimaryKeyConstraint("run_id", name=op.f("pk_spoken_for")),
    )
    op.create_index(op.f("ix_spoken_for_account_id"), "spoken_for", ["account_id"])
    op.create_index(op.f("ix_spoken_for_job_id"), "spoken_for", ["job_id"])


def downgrade() -> None:
    """Back from it."""
    op.drop_table("spoken_for")
