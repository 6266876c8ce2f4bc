"""``witnessmark move``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click


@click.command("move")
@click.option("--to-database", metavar="URL", help="PostgreSQL database to move the rows to.")
@click.option("--to-media", metavar="URL", help="Media store to keep journals, pictures and results in.")
@click.option("--from-media", metavar="URL", help="Media store to bring them back from, on another machine.")
@click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    to_database: str | None, to_media: str | None, from_media: str | None, data: str | None, as_json: bool
) -> None:
    """Move a shop from SQLite to PostgreSQL, and its files to a media store, while the server is stopped.

    Everything is compared by hash; nothing is taken away from the old place. Broken off, it is given again:
    rows are moved whole or not at all, files go on where they stopped. Afterwards set
    WITNESSMARK_DATABASE_URL and WITNESSMARK_MEDIA_URL. The shop's keys stay in the data folder: carry them
    yourself.

    \b
    Example:
      witnessmark move --to-database postgresql://shop@db/witnessmark --to-media s3://shop/media
      witnessmark move --from-media s3://shop/media --data /srv/witnessmark      (on the new machine)
    """
    import json

    from api.moving.moving import Move, move
    from shared.settings import load_settings

    if not (to_database or to_media or from_media):
        raise click.UsageError("name --to-database, --to-media or --from-media")
    if from_media and (to_database or to_media):
        raise click.UsageError("--from-media is for another machine, by itself")
    settings = load_settings()
    wanted = Move(Path(data) if data else settings.data_dir, to_database, to_media, from_media)
    moved = move(wanted, tell=lambda line: click.echo(line, err=True))
    if as_json:
        click.echo(json.dumps(moved, indent=2))
    else:
        _print(moved)


def _print(moved: dict[str, Any]) -> None:
    if "tables" in moved:
        rows = sum(one["rows"] for one in moved["tables"].values())
        click.echo(f"{rows} rows in {len(moved['tables'])} tables, the same on both sides")
    if "files" in moved:
        click.echo(f"{moved['files']} files, {moved['bytes']} bytes, each read back and the same")
    if "fetched" in moved:
        click.echo(f"{moved['fetched']} of {moved['of']} files brought back; the others were there")
