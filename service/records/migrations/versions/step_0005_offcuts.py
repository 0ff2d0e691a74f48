"""The ledger of offcuts, and which plans' rolls were settled in it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    moment = sa.DateTime(timezone=True)
    op.create_table(
        "settled_plan",
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("created_at", moment, nullable=False),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_settled_plan_run_id")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_settled_plan_account_id")),
        sa.PrimaryKeyConstraint("run_id", name=op.f("pk_settled_plan")),
    )
    op.create_index(op.f("ix_settled_plan_account_id"), "settled_plan", ["account_id"])
    op.create_table(
        "offcut",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("product", sa.String(), nullable=False),
        sa.Column("length_mm", sa.Integer(), nullable=False),
        sa.Column("width_mm", sa.Integer(), nullable=False),
        sa.Column("from_job_id", sa.String(), nullable=True),
        sa.Column("used_by_job_id", sa.String(), nullable=True),
        sa.Column("created_at", moment, nullable=False),
        sa.Column("used_at", moment, nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_offcut_account_id")),
        sa.ForeignKeyConstraint(["from_job_id"], ["job.id"], name=op.f("fk_offcut_from_job_id")),
        sa.ForeignKeyConstraint(["used_by_job_id"], ["job.id"], name=op.f("fk_offcut_used_by_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offcut")),
    )
    op.create_index(op.f("ix_offcut_account_id_created_at_id"), "offcut", ["account_id", "created_at", "id"])


def downgrade() -> None:
    """Back from it."""
    op.drop_table("offcut")
    op.drop_table("settled_plan")
