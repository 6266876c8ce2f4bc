"""What was found of a part, done with it or deviated there: the records that say so, by an index alone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"

_NAME = "ix_archived_entries_finding"
_FINDING = sa.text("(kind = 'condition' or kind = 'part' or kind = 'deviation') and fate is null")


def upgrade() -> None:
    """Make it."""
    op.create_index(
        _NAME, "archived_entries", ["what", "part", "kind", "record_id"], unique=False,
        sqlite_where=_FINDING, postgresql_where=_FINDING,
    )  # fmt: skip


def downgrade() -> None:
    """Take it away."""
    op.drop_index(_NAME, "archived_entries")
