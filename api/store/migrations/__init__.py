"""Changes of the database's shape, one file each, run by Alembic."""
