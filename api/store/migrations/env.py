"""Run by Alembic: changes the database on the connection that it is given."""

from __future__ import annotations

from alembic import context

from api.store.tables import Table

connection = context.config.attributes["connection"]
# SQLite alters little in place: Alembic then makes the table anew and copies.
context.configure(connection=connection, target_metadata=Table.metadata, render_as_batch=True)
context.run_migrations()
