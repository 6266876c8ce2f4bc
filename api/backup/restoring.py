"""A shop brought back from a backup, into a new data folder: all of it, or nothing."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from sqlalchemy import inspect
from sqlalchemy.engine import make_url
from sqlalchemy.exc import SQLAlchemyError

from api.backup.chest import Chest
from api.backup.database_copy import check_sqlite, run_client
from api.backup.manifest import MARK, Manifest, read_manifest
from api.store.database import FILE, Database
from api.store.postgresql_rules import with_psycopg
from shared.errors import OutputForeign, OutputUnwritable, SettingError, StoreUnusable
from shared.settings import Settings


def check_backup(source: Path, name: str | None = None) -> Manifest:
    """Read a backup through, all of its contents.

    Raises:
        OutputForeign, NotKept: there is none.
        BackupDamaged: something in it is gone or reads otherwise.
    """
    _check_folder(source)
    manifest = read_manifest(source, name)
    chest = Chest(source)
    for digest in sorted(manifest.hashes):
        chest.check(digest)
    if manifest.database.kind == "sqlite":
        with tempfile.TemporaryDirectory(prefix="witnessmark-") as work:
            chest.copy(manifest.database.sha256, Path(work) / "database", 0o600)
            check_sqlite(Path(work) / "database")
    return manifest


def restore(settings: Settings, source: Path, folder: Path, name: str | None = None) -> Manifest:
    """Bring a shop back.

    Args:
        settings: of the shop; a database of PostgreSQL goes where they say.
        source: folder of backups.
        folder: data folder; absent or empty.
        name: of the backup; None for the newest.

    Raises:
        OutputForeign: the data folder holds something, or the source is no folder of backups.
        OutputUnwritable: the disk took no more.
        NotKept: no backup of that name.
        BackupDamaged: it is not whole; nothing was brought back.
        SettingError, StoreUnusable: the database that is set cannot take it.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputForeign(
            "there is something already", where=str(folder), expected="a data folder that is absent or empty",
            remedy="move the old one away first",
        )  # fmt: skip
    _check_folder(source)
    manifest = read_manifest(source, name)
    _check_setting(manifest, settings)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        # Beside it, so that the last step is one rename: a half-restored shop is never served.
        work = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        try:
            _fill(Chest(source), manifest, work, settings)
            if folder.exists():
                folder.rmdir()
            work.rename(folder)
        except BaseException:
            shutil.rmtree(work, ignore_errors=True)
            raise
    except OSError as exc:
        raise OutputUnwritable(
            f"the shop cannot be written ({exc.strerror})",
            where=str(folder),
            remedy="make room and try again",
        ) from exc
    return manifest


def _fill(chest: Chest, manifest: Manifest, work: Path, settings: Settings) -> None:
    for one in manifest.files:
        chest.copy(one.sha256, work / one.path, one.mode)
    copy = work / FILE
    chest.copy(manifest.database.sha256, copy, 0o600)
    if manifest.database.kind == "sqlite":
        check_sqlite(copy)
        return
    assert settings.database_url is not None
    run_client(
        "pg_restore", settings.database_url, "--single-transaction", "--exit-on-error", "--no-owner",
        f"--dbname={make_url(with_psycopg(settings.database_url)).database}", str(copy),
    )  # fmt: skip
    copy.unlink()


def _check_setting(manifest: Manifest, settings: Settings) -> None:
    url = settings.database_url
    if manifest.database.kind == "sqlite":
        if url is not None:
            raise SettingError(
                "the backup is of a shop on SQLite, but WITNESSMARK_DATABASE_URL is set",
                remedy="leave it out; its database goes into the data folder",
            )
        return
    if url is None or not with_psycopg(url).startswith("postgresql"):
        raise SettingError(
            "the backup is of a shop on PostgreSQL, and WITNESSMARK_DATABASE_URL names none",
            remedy="make an empty database and set it",
        )
    if _tables(url):
        raise StoreUnusable(
            "the database that is set is not empty", expected="an empty one", remedy="make one and set it"
        )


def _tables(url: str) -> list[str]:
    database = Database(url)
    try:
        return inspect(database.engine).get_table_names()
    except SQLAlchemyError as exc:
        raise StoreUnusable(f"the database cannot be opened: {str(exc).splitlines()[0]}") from exc
    finally:
        database.close()


def _check_folder(source: Path) -> None:
    if not (source / MARK).is_file():
        raise OutputForeign("this is no folder of backups", where=str(source), expected=f"one with {MARK}")
