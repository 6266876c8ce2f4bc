"""Sessions say whether a badge began them; tags printed for jobs are known."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add what is new; sessions that there are were begun by secret."""
    op.add_column(
        "web_sessions", sa.Column("means", sa.String(length=16), nullable=False, server_default="secret")
    )
    op.add_column("web_sessions", sa.Column("seen_at", sa.String(length=32), nullable=True))
    op.create_table(
        "job_tags",
        sa.Column("work_order", sa.String(length=128), nullable=False),
        sa.Column("pump_tag", sa.String(length=128), nullable=True),
        sa.Column("sheet_id", sa.String(length=128), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["made_by"], ["accounts.id"], name="fk_job_tags_made_by"),
        sa.PrimaryKeyConstraint("work_order", name="pk_job_tags"),
    )
    op.create_index("ix_job_tags_pump_tag", "job_tags", ["pump_tag"], unique=False)


def downgrade() -> None:
    """Take it away again; sessions by badge end, for the shape before knew no such thing."""
    op.execute("DELETE FROM web_sessions WHERE means = 'badge'")
    op.drop_index("ix_job_tags_pump_tag", "job_tags")
    op.drop_table("job_tags")
    op.drop_column("web_sessions", "seen_at")
    op.drop_column("web_sessions", "means")
