"""Who stated that voices of recordings from before may be heard; when a lease was given."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Add both; no lease that is held now says when it was given."""
    op.create_table(
        "past_voices",
        sa.Column("source", sa.String(length=80), nullable=False),
        sa.Column("stated_by", sa.String(length=200), nullable=False),
        sa.Column("stated_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("source", name="pk_past_voices"),
    )
    op.add_column("tasks", sa.Column("leased_at", sa.String(length=32), nullable=True))


def downgrade() -> None:
    """Take them away; without statements nothing of the past is heard."""
    op.drop_column("tasks", "leased_at")
    op.drop_table("past_voices")
