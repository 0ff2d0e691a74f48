"""Which jobs are finished, and what they used up."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.create_table(
        "finished_job",
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_finished_job_job_id")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_finished_job_account_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_finished_job_run_id")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_finished_job")),
    )
    op.create_index(op.f("ix_finished_job_account_id"), "finished_job", ["account_id"])


def downgrade() -> None:
    """Back from it."""
    op.drop_table("finished_job")
