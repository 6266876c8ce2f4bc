"""Records of one technician found by an index: what he said, and what he photographed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"

_NAME = "ix_archived_records_of_technician"


def upgrade() -> None:
    """Make it."""
    op.create_index(
        _NAME, "archived_records", ["technician", "id"], unique=False,
        sqlite_where=sa.text("stands = 1"), postgresql_where=sa.text("stands"),
    )  # fmt: skip


def downgrade() -> None:
    """Take it away."""
    op.drop_index(_NAME, "archived_records")
