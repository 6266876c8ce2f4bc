"""``witnessmark backup``."""

from __future__ import annotations

import click


@click.command("backup", short_help="Back the shop up while its server runs, or check a backup.")
@click.option("--to", metavar="DIR", required=True, help="Folder of backups, on another disk.")
@click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option("--keep", metavar="N", type=click.IntRange(1, 10_000), help="Give up all but the N newest.")
@click.option("--check", is_flag=True, help="Take none; read the newest (or --at) through.")
@click.option("--at", metavar="NAME", help="With --check: which backup.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(to: str, data: str | None, keep: int | None, check: bool, at: str | None, as_json: bool) -> None:
    """Copy database, journals, pictures and keys of a shop into DIR, each content once, by its SHA-256.

    The server need not stop: the database is copied as it is in one moment, and the files that it speaks of
    after it. What is written is read back. The folder holds the shop's private keys and everybody's sound:
    keep it where nobody else reads it, and --keep no more than retention allows.

    \b
    Example:
      witnessmark backup --to /mnt/backup/pumps --keep 14
      witnessmark backup --to /mnt/backup/pumps --check
    """
    import json
    from pathlib import Path

    from api.backup.restoring import check_backup
    from api.backup.taking import take_backup
    from shared.settings import load_settings

    if at and not check:
        raise click.UsageError("--at goes with --check")
    settings = load_settings()
    if check:
        manifest = check_backup(Path(to), at)
        told: dict[str, object] = {"checked": manifest.name}
    else:
        folder = Path(data) if data else settings.data_dir
        taken = take_backup(settings, folder, Path(to), keep=keep)
        manifest = taken.manifest
        told = {"taken": manifest.name, "new_bytes": taken.new_bytes, "given_up": list(taken.dropped)}
    told |= {
        "files": len(manifest.files), "bytes": manifest.total_bytes, "jobs": manifest.jobs,
        "signed": manifest.revisions,
    }  # fmt: skip
    if as_json:
        click.echo(json.dumps(told))
        return
    first = "whole" if check else f"{told['new_bytes']:,} bytes of them new"
    click.echo(
        f"{manifest.name}: {manifest.jobs} jobs, {manifest.revisions} signed records, "
        f"{len(manifest.files)} files, {manifest.total_bytes:,} bytes, {first}"
    )
