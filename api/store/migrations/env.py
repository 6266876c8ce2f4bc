"""Run by Alembic: changes the database on the connection that it is given."""

from __future__ import annotations

from alembic import context

from api.store.archive_tables import ArchivedRecord

connection = context.config.attributes["connection"]
# SQLite alters little in place: Alembic then makes the table anew and copies.
# All tables are mapped once the archive's are: they come last.
context.configure(connection=connection, target_metadata=ArchivedRecord.metadata, render_as_batch=True)
context.run_migrations()
