"""Run by Alembic: changes the database on the connection that it is given."""

from __future__ import annotations

from alembic import context

from api.store.archive_tables import ArchivedRecord
from api.store.stock_tables import StockNumber

connection = context.config.attributes["connection"]
# SQLite alters little in place: Alembic then makes the table anew and copies.
# All tables are mapped once these are: they come last.
assert ArchivedRecord.metadata is StockNumber.metadata
context.configure(connection=connection, target_metadata=StockNumber.metadata, render_as_batch=True)
context.run_migrations()
