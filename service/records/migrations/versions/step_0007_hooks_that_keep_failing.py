"""How many events in a row a hook did not take."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """To this schema."""
    op.add_column("hook", sa.Column("given_up_in_a_row", sa.Integer(), server_default="0", nullable=False))


def downgrade() -> None:
    """Back from it."""
    with op.batch_alter_table("hook") as hook:
        hook.drop_column("given_up_in_a_row")
