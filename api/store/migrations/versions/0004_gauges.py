"""The shop's register of gauges."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make its table."""
    op.create_table(
        "gauges",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=64), nullable=False),
        sa.Column("reach", sa.Text(), nullable=True),
        sa.Column("resolution", sa.Text(), nullable=True),
        sa.Column("uncertainty", sa.Text(), nullable=True),
        sa.Column("calibrated_until", sa.String(length=10), nullable=True),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("closed_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_gauges"),
    )
    op.create_index("ix_gauges_kind", "gauges", ["kind"], unique=False)


def downgrade() -> None:
    """Take it away; what jobs say of gauges stands in their events."""
    op.drop_index("ix_gauges_kind", "gauges")
    op.drop_table("gauges")
