"""``witnessmark restore``."""

from __future__ import annotations

import click


@click.command("restore", short_help="Bring a shop back from a backup.")
@click.option("--from", "source", metavar="DIR", required=True, help="Folder of backups.")
@click.option("--data", metavar="DIR", help="Data folder, absent or empty (WITNESSMARK_DATA_DIR).")
@click.option("--at", metavar="NAME", help="Which backup; the newest where none is named.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(source: str, data: str | None, at: str | None, as_json: bool) -> None:
    """Write database, journals, pictures and keys of a backup into a new data folder, all of it or nothing.

    Every content is compared with its SHA-256 on the way. A database of PostgreSQL goes into the empty one
    that WITNESSMARK_DATABASE_URL names. Sound that somebody had erased after the backup is back: have it
    erased again (witnessmark recordings erase).

    \b
    Example:
      witnessmark restore --from /mnt/backup/pumps --data /srv/pumps
    """
    import json
    from pathlib import Path

    from api.backup.restoring import restore
    from shared.settings import load_settings

    settings = load_settings()
    folder = Path(data) if data else settings.data_dir
    manifest = restore(settings, Path(source), folder, at)
    if as_json:
        told = {
            "restored": manifest.name,
            "to": str(folder),
            "files": len(manifest.files),
            "jobs": manifest.jobs,
        }
        click.echo(json.dumps(told))
    else:
        click.echo(f"{folder}: as of {manifest.name}, {manifest.jobs} jobs, {len(manifest.files)} files")
