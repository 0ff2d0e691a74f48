"""Hooks and what is told to them, batches, and runs by when they ended."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    moment = sa.DateTime(timezone=True)
    op.create_index(op.f("ix_run_finished_at"), "run", ["finished_at"])
    op.create_table(
        "hook",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("events", sa.JSON(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("secret", sa.String(), nullable=False),
        sa.Column("old_secret", sa.String(), nullable=True),
        sa.Column("old_secret_until", moment, nullable=True),
        sa.Column("stopped_because", sa.String(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", moment, nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_hook_account_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hook")),
    )
    op.create_index(op.f("ix_hook_account_id_created_at_id"), "hook", ["account_id", "created_at", "id"])
    op.create_table(
        "hook_delivery",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("hook_id", sa.String(), nullable=False),
        sa.Column("event_id", sa.String(), nullable=False),
        sa.Column("event", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_at", moment, nullable=False),
        sa.Column("give_up_at", moment, nullable=False),
        sa.Column("log", sa.JSON(), nullable=False),
        sa.Column("created_at", moment, nullable=False),
        sa.Column("ended_at", moment, nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_hook_delivery_account_id")),
        sa.ForeignKeyConstraint(["hook_id"], ["hook.id"], name=op.f("fk_hook_delivery_hook_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hook_delivery")),
    )
    waiting = sa.text("state IN ('waiting', 'sending')")
    op.create_index(
        "ix_hook_delivery_waiting",
        "hook_delivery",
        ["next_at"],
        postgresql_where=waiting,
        sqlite_where=waiting,
    )
    op.create_index(
        op.f("ix_hook_delivery_hook_id_created_at_id"), "hook_delivery", ["hook_id", "created_at", "id"]
    )
    op.create_index(op.f("ix_hook_delivery_account_id"), "hook_delivery", ["account_id"])
    op.create_table(
        "batch",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("created_at", moment, nullable=False),
        sa.Column("finished_at", moment, nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_batch_account_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch")),
    )
    op.create_index(op.f("ix_batch_account_id_created_at_id"), "batch", ["account_id", "created_at", "id"])
    unfinished = sa.text("finished_at IS NULL")
    op.create_index(
        "ix_batch_unfinished",
        "batch",
        ["created_at"],
        postgresql_where=unfinished,
        sqlite_where=unfinished,
    )
    op.create_table(
        "batch_item",
        sa.Column("batch_id", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=True),
        sa.Column("problem", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_batch_item_account_id")),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_batch_item_batch_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_batch_item_job_id")),
        sa.PrimaryKeyConstraint("batch_id", "position", name=op.f("pk_batch_item")),
    )
    op.create_index(op.f("ix_batch_item_account_id"), "batch_item", ["account_id"])
    op.create_index(op.f("ix_batch_item_job_id"), "batch_item", ["job_id"])


def downgrade() -> None:
    """Back from it."""
    for table in ("batch_item", "batch", "hook_delivery", "hook"):
        op.drop_table(table)
    op.drop_index(op.f("ix_run_finished_at"), table_name="run")
