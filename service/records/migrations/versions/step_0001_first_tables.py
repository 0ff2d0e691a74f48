"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.create_table(
        "account",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("merchant_id", sa.String(), nullable=True),
        sa.Column("profile", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["merchant_id"], ["account.id"], name=op.f("fk_account_merchant_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
    )
    op.create_index(op.f("ix_account_merchant_id"), "account", ["merchant_id"], unique=False)
    op.create_table(
        "presence",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_presence")),
    )
    op.create_table(
        "api_key",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("secret_sha256", sa.String(length=64), nullable=False),
        sa.Column("prefix", sa.String(), nullable=False),
        sa.Column("last4", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("scopes", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_api_key_account_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_key")),
        sa.UniqueConstraint("secret_sha256", name=op.f("uq_api_key_secret_sha256")),
    )
    op.create_index(op.f("ix_api_key_account_id"), "api_key", ["account_id"], unique=False)
    op.create_table(
        "audit",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("key_id", sa.String(), nullable=True),
        sa.Column("action", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_audit_account_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    op.create_index(op.f("ix_audit_account_id"), "audit", ["account_id"], unique=False)
    op.create_table(
        "blob",
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_blob_account_id")),
        sa.PrimaryKeyConstraint("account_id", "sha256", name=op.f("pk_blob")),
    )
    op.create_table(
        "counter",
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("year", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_counter_account_id")),
        sa.PrimaryKeyConstraint("account_id", "name", "year", name=op.f("pk_counter")),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_job_account_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
    )
    op.create_index(
        op.f("ix_job_account_id_created_at_id"), "job", ["account_id", "created_at", "id"], unique=False
    )
    op.create_table(
        "repeat",
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("scope", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("headers", sa.JSON(), nullable=True),
        sa.Column("body", sa.Text(), nullable=True),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_repeat_account_id")),
        sa.PrimaryKeyConstraint("account_id", "scope", "key", name=op.f("pk_repeat")),
    )
    op.create_index(op.f("ix_repeat_expires_at"), "repeat", ["expires_at"], unique=False)
    op.create_table(
        "setting",
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_setting_account_id")),
        sa.PrimaryKeyConstraint("account_id", "name", name=op.f("pk_setting")),
    )
    op.create_table(
        "snapshot",
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_snapshot_account_id")),
        sa.PrimaryKeyConstraint("account_id", "sha256", name=op.f("pk_snapshot")),
    )
    op.create_table(
        "document",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject_id", sa.String(), nullable=False),
        sa.Column("filename", sa.String(), nullable=False),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_document_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_document_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_document")),
        sa.UniqueConstraint(
            "account_id", "kind", "subject_id", name=op.f("uq_document_account_id_kind_subject_id")
        ),
    )
    op.create_index(
        op.f("ix_document_job_id_created_at_id"), "document", ["job_id", "created_at", "id"], unique=False
    )
    op.create_table(
        "job_revision",
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_job_revision_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_revision_job_id")),
        sa.PrimaryKeyConstraint("job_id", "revision", name=op.f("pk_job_revision")),
    )
    op.create_index(op.f("ix_job_revision_account_id"), "job_revision", ["account_id"], unique=False)
    op.create_table(
        "recorded_hours",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_recorded_hours_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_recorded_hours_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recorded_hours")),
    )
    op.create_index(op.f("ix_recorded_hours_account_id"), "recorded_hours", ["account_id"], unique=False)
    op.create_index(op.f("ix_recorded_hours_job_id"), "recorded_hours", ["job_id"], unique=False)
    op.create_table(
        "run",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("document_kind", sa.String(), nullable=True),
        sa.Column("subject_id", sa.String(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("priority", sa.Integer(), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("max_attempts", sa.Integer(), nullable=False),
        sa.Column("fence", sa.Integer(), nullable=False),
        sa.Column("not_before", sa.DateTime(timezone=True), nullable=False),
        sa.Column("dispatched_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("deadline_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("worker", sa.String(), nullable=True),
        sa.Column("progress", sa.Integer(), nullable=False),
        sa.Column("problem", sa.JSON(), nullable=True),
        sa.Column("snapshots", sa.JSON(), nullable=False),
        sa.Column("traceparent", sa.String(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_run_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_run_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run")),
    )
    op.create_index(op.f("ix_run_account_id_state"), "run", ["account_id", "state"], unique=False)
    op.create_index(
        op.f("ix_run_job_id_kind_created_at"), "run", ["job_id", "kind", "created_at"], unique=False
    )
    op.create_index(
        "ix_run_running",
        "run",
        ["lease_until"],
        unique=False,
        postgresql_where=sa.text("state = 'running'"),
        sqlite_where=sa.text("state = 'running'"),
    )
    op.create_index(
        "ix_run_waiting",
        "run",
        ["kind", "account_id", "priority", "created_at", "id"],
        unique=False,
        postgresql_where=sa.text("state = 'queued'"),
        sqlite_where=sa.text("state = 'queued'"),
    )
    op.create_table(
        "drawing",
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("surface", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("svg", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_drawing_account_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_drawing_run_id")),
        sa.PrimaryKeyConstraint("run_id", "surface", name=op.f("pk_drawing")),
    )
    op.create_index(op.f("ix_drawing_account_id"), "drawing", ["account_id"], unique=False)
    op.create_table(
        "order_to_supplier",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_order_to_supplier_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_order_to_supplier_job_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_order_to_supplier_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_order_to_supplier")),
        sa.UniqueConstraint("account_id", "number", name=op.f("uq_order_to_supplier_account_id_number")),
        sa.UniqueConstraint("run_id", "supplier", name=op.f("uq_order_to_supplier_run_id_supplier")),
    )
    op.create_index(
        op.f("ix_order_to_supplier_account_id_created_at_id"),
        "order_to_supplier",
        ["account_id", "created_at", "id"],
        unique=False,
    )
    op.create_index(op.f("ix_order_to_supplier_job_id"), "order_to_supplier", ["job_id"], unique=False)
    op.create_table(
        "plan",
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_plan_account_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_plan_run_id")),
        sa.PrimaryKeyConstraint("run_id", name=op.f("pk_plan")),
    )
    op.create_index(op.f("ix_plan_account_id"), "plan", ["account_id"], unique=False)
    op.create_table(
        "quote",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("job_id", sa.String(), nullable=False),
        sa.Column("run_id", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("issued_on", sa.Date(), nullable=True),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_quote_account_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_quote_job_id")),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_quote_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote")),
        sa.UniqueConstraint(
            "account_id", "number", "revision", name=op.f("uq_quote_account_id_number_revision")
        ),
    )
    op.create_index(
        op.f("ix_quote_account_id_created_at_id"), "quote", ["account_id", "created_at", "id"], unique=False
    )
    op.create_index(op.f("ix_quote_job_id"), "quote", ["job_id"], unique=False)


def downgrade() -> None:
    """Back to nothing."""
    for table in (
        "quote",
        "plan",
        "order_to_supplier",
        "drawing",
        "run",
        "recorded_hours",
        "job_revision",
        "document",
        "snapshot",
        "setting",
        "repeat",
        "job",
        "counter",
        "blob",
        "audit",
        "api_key",
        "presence",
        "account",
    ):
        op.drop_table(table)
