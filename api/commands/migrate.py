"""``witnessmark migrate``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("migrate")
@click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(data: str | None, as_json: bool) -> None:
    """Bring the database, empty or of an earlier version, to the shape of this version.

    serve and worker do the same when they start; with several machines it is done once, before they do.
    A database that a later version wrote is left alone.
    """
    import json

    from api.data_folder import make_data_folder
    from api.store.database import Database, database_url
    from api.store.migrating import migrate, newest_shape
    from shared.settings import load_settings

    settings = load_settings()
    folder = Path(data) if data else settings.data_dir
    if not settings.database_url:
        make_data_folder(folder)
    database = Database(database_url(folder, settings.database_url))
    try:
        migrate(database)
        kind = database.engine.dialect.name
    finally:
        database.close()
    if as_json:
        click.echo(json.dumps({"database": kind, "shape": newest_shape()}))
    else:
        click.echo(f"the database ({kind}) has shape {newest_shape()}")
