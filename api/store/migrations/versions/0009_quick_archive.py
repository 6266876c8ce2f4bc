"""What pages over the whole archive need to be quick: narrow indexes, and a name for the archive's state."""

from __future__ import annotations

from secrets import token_hex

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"

_INDEXES = {
    "ix_archived_records_of_sheet": [
        "sheet_id", "started_at", "id", "pump_tag", "pump_serial", "running_hours", "work_order",
    ],
    "ix_archived_records_of_pump": ["pump_tag", "pump_serial", "sheet_id", "started_at"],
    "ix_archived_records_of_time": ["started_at", "sheet_id", "work_order", "job_id"],
}  # fmt: skip


def upgrade() -> None:
    """Make them; on SQLite what is long goes to the end of its row."""
    op.create_table(
        "archive_state",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_archive_state"),
    )
    if op.get_bind().dialect.name == "sqlite":
        _to_the_end()
    for name, columns in _INDEXES.items():
        op.create_index(
            name, "archived_records", columns, unique=False,
            sqlite_where=sa.text("stands = 1"), postgresql_where=sa.text("stands"),
        )  # fmt: skip
    op.create_index("ix_archived_entries_kind", "archived_entries", ["record_id", "kind"], unique=False)
    filed = sa.select(sa.literal(1), sa.literal(token_hex(16))).where(
        sa.exists(sa.select(sa.column("id")).select_from(sa.table("archived_records")))
    )
    state = sa.table("archive_state", sa.column("id"), sa.column("name"))
    op.execute(sa.insert(state).from_select(["id", "name"], filed))


def downgrade() -> None:
    """Take them away; where in its row a column stands means nothing."""
    op.drop_index("ix_archived_entries_kind", "archived_entries")
    for name in _INDEXES:
        op.drop_index(name, "archived_records")
    op.drop_table("archive_state")


def _to_the_end() -> None:
    """Put the two long columns last: SQLite reads through all that stands before a column to find it."""
    op.execute("alter table archived_records rename column record to record_before")
    op.execute("alter table archived_records rename column counted to counted_before")
    op.execute("alter table archived_records add column counted text not null default '[]'")
    op.execute("alter table archived_records add column record text")
    op.execute("update archived_records set counted = counted_before, record = record_before")
    op.execute("alter table archived_records drop column record_before")
    op.execute("alter table archived_records drop column counted_before")
