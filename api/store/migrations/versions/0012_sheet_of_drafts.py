"""By which job sheet each draft was read: a job may be read again by a newer one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Make room for it; drafts from before were read by the sheet that their job began with."""
    op.add_column("drafts", sa.Column("sheet_sha256", sa.String(64), nullable=True))


def downgrade() -> None:
    """Take it away; a record still bears the hash of its sheet in what it was made by."""
    op.drop_column("drafts", "sheet_sha256")
