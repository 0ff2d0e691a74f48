"""What stands behind a quote, and words in the audit trail."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.create_table(
        "quote_basis",
        sa.Column("quote_id", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("wish", sa.JSON(), nullable=False),
        sa.Column("pricing_run_id", sa.String(), nullable=True),
        sa.Column("labour", sa.JSON(), nullable=True),
        sa.Column("order_lines", sa.JSON(), nullable=True),
        sa.Column("breakdown", sa.JSON(), nullable=True),
        sa.Column("answered_by", sa.String(), nullable=True),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_quote_basis_account_id")),
        sa.ForeignKeyConstraint(["pricing_run_id"], ["run.id"], name=op.f("fk_quote_basis_pricing_run_id")),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_quote_basis_quote_id")),
        sa.PrimaryKeyConstraint("quote_id", name=op.f("pk_quote_basis")),
    )
    op.create_index(op.f("ix_quote_basis_account_id"), "quote_basis", ["account_id"], unique=False)
    op.add_column("audit", sa.Column("detail", sa.String(), nullable=True))


def downgrade() -> None:
    """Back to the schema before."""
    op.drop_column("audit", "detail")
    op.drop_index(op.f("ix_quote_basis_account_id"), table_name="quote_basis")
    op.drop_table("quote_basis")
