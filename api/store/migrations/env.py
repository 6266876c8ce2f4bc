"""Run by Alembic: changes the database on the connection that it is given."""

from __future__ import annotations

from alembic import context

from api.store import archive_state, lesson_tables, past_voices, switches  # noqa: F401  mapped with the others
from api.store.archive_tables import ArchivedRecord
from api.store.stock_tables import StockNumber
from api.store.task_tables import Task

connection = context.config.attributes["connection"]
metadata = ArchivedRecord.metadata
# All tables are mapped once these are: they come last.
assert metadata is StockNumber.metadata is Task.metadata
# SQLite alters little in place: Alembic then makes the table anew and copies.
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
context.run_migrations()
