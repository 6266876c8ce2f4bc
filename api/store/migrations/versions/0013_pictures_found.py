"""Pictures of the archive found newest first: narrow indexes over them alone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"

_PICTURE = sa.text("kind = 'photo' and picture is not null and fate is null")
_PICTURES = {
    "ix_archived_entries_picture": ["id", "part", "stage", "record_id"],
    "ix_archived_entries_picture_of": ["part", "id", "stage", "record_id"],
}


def upgrade() -> None:
    """Make them."""
    for name, columns in _PICTURES.items():
        op.create_index(
            name, "archived_entries", columns, unique=False, sqlite_where=_PICTURE, postgresql_where=_PICTURE
        )


def downgrade() -> None:
    """Take them away."""
    for name in _PICTURES:
        op.drop_index(name, "archived_entries")
