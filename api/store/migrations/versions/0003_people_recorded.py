"""People recorded: notices, what was answered to them, what became of recordings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make tables and columns."""
    op.create_table(
        "notices",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_notices"),
    )
    op.create_table(
        "consents",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("notice_sha256", sa.String(length=64), nullable=False),
        sa.Column("agreed", sa.Boolean(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name="fk_consents_account_id"),
        sa.ForeignKeyConstraint(["notice_sha256"], ["notices.sha256"], name="fk_consents_notice_sha256"),
        sa.PrimaryKeyConstraint("id", name="pk_consents"),
    )
    op.create_index("ix_consents_account_id", "consents", ["account_id"], unique=False)
    # It did not say to which notice; nothing ever wrote it.
    op.drop_column("accounts", "consent_at")
    op.add_column("recordings", sa.Column("chatter_gone_at", sa.String(length=32), nullable=True))
    op.add_column("recordings", sa.Column("erase_asked_at", sa.String(length=32), nullable=True))


def downgrade() -> None:
    """Take it away again; who agreed to what is not known then, and asked anew."""
    op.drop_column("recordings", "erase_asked_at")
    op.drop_column("recordings", "chatter_gone_at")
    op.add_column("accounts", sa.Column("consent_at", sa.String(length=32), nullable=True))
    op.drop_index("ix_consents_account_id", "consents")
    op.drop_table("consents")
    op.drop_table("notices")
