"""Fan tests, leaks, what is computed beside a plan, and models; work and documents that belong to no job."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    _job_may_be_missing(True)
    op.create_table(
        "plan_part",
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_plan_part_account_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_plan_part_run_id")),
        sa.PrimaryKeyConstraint("run_id", "name", name=op.f("pk_plan_part")),
    )
    op.create_index(op.f("ix_plan_part_account_id"), "plan_part", ["account_id"], unique=False)
    op.create_table(
        "pressure_test",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=True),
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("prediction", sa.JSON(), nullable=True),
        sa.Column("table_csv", sa.Text(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_pressure_test_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_pressure_test_job_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_pressure_test_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pressure_test")),
    )
    op.create_index(
        op.f("ix_pressure_test_account_id_created_at_id"), "pressure_test", ["account_id", "created_at", "id"]
    )
    op.create_index(op.f("ix_pressure_test_job_id"), "pressure_test", ["job_id"])
    op.create_table(
        "leak",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("test_id", sa.String(), nullable=True),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_leak_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_leak_job_id")),
        sa.ForeignKeyConstraint(["test_id"], ["pressure_test.id"], name=op.f("fk_leak_test_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_leak")),
    )
    op.create_index(op.f("ix_leak_job_id_created_at_id"), "leak", ["job_id", "created_at", "id"])
    op.create_index(op.f("ix_leak_test_id"), "leak", ["test_id"])
    op.create_table(
        "model_file",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("filename", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("reading", sa.JSON(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_model_file_account_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_model_file_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_model_file")),
    )
    op.create_index(
        op.f("ix_model_file_account_id_created_at_id"), "model_file", ["account_id", "created_at", "id"]
    )


def downgrade() -> None:
    """Back to the schema before; what belongs to no job is lost with it."""
    for name in ("model_file", "leak", "pressure_test", "plan_part"):
        op.drop_table(name)
    op.execute("DELETE FROM document WHERE job_id IS NULL")
    op.execute("DELETE FROM run WHERE job_id IS NULL")
    _job_may_be_missing(False)


def _job_may_be_missing(missing: bool) -> None:
    # Indexes over a part of the rows are made anew by hand: the copy SQLite needs would make them over all.
    op.drop_index("ix_run_running", "run")
    op.drop_index("ix_run_waiting", "run")
    with op.batch_alter_table("run") as run:
        run.alter_column("job_id", existing_type=sa.String(), nullable=missing)
    op.create_index(
        "ix_run_running", "run", ["lease_until"],
        postgresql_where=sa.text("state = 'running'"), sqlite_where=sa.text("state = 'running'"),
    )  # fmt: skip
    op.create_index(
        "ix_run_waiting", "run", ["kind", "account_id", "priority", "created_at", "id"],
        postgresql_where=sa.text("state = 'queued'"), sqlite_where=sa.text("state = 'queued'"),
    )  # fmt: skip
    with op.batch_alter_table("document") as document:
        document.alter_column("job_id", existing_type=sa.String(), nullable=missing)
