"""What stands behind each choice of a quote's alternatives, and which was chosen."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.create_table(
        "quote_combination",
        sa.Column("quote_id", sa.String(), nullable=False),
        sa.Column("chosen", sa.String(), nullable=False),
        sa.Column("account_id", sa.String(), nullable=False),
        sa.Column("labour", sa.JSON(), nullable=False),
        sa.Column("order_lines", sa.JSON(), nullable=False),
        sa.Column("breakdown", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_quote_combination_account_id")),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_quote_combination_quote_id")),
        sa.PrimaryKeyConstraint("quote_id", "chosen", name=op.f("pk_quote_combination")),
    )
    op.create_index(
        op.f("ix_quote_combination_account_id"), "quote_combination", ["account_id"], unique=False
    )
    op.add_column("quote_basis", sa.Column("chosen", sa.JSON(), nullable=True))


def downgrade() -> None:
    """Back to the schema before."""
    op.drop_column("quote_basis", "chosen")
    op.drop_index(op.f("ix_quote_combination_account_id"), table_name="quote_combination")
    op.drop_table("quote_combination")
