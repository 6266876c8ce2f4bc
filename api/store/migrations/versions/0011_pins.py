"""PINs that witnesses give beside their badges."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Make room for them; nobody has one yet."""
    op.add_column("accounts", sa.Column("pin_hash", sa.Text(), nullable=True))


def downgrade() -> None:
    """Take them away; witnesses give their secrets."""
    op.drop_column("accounts", "pin_hash")
