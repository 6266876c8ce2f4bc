"""A move as a command does it: the data folder held, rows and files moved, what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from api.data_folder import MARK, mark_folder
from api.moving.files import fetch_files, move_files
from api.moving.rows import move_rows
from api.store.database import FILE, Database, database_url
from api.store.media import MediaStore
from api.store.migrating import migrate
from api.work_folder import held_folder
from shared.errors import OutputForeign, StoreUnusable

#: One line after so many files.
_LINE_EVERY = 200


@dataclass(frozen=True)
class Move:
    """What is to be moved where."""

    folder: Path
    """Data folder."""
    to_database: str | None = None
    to_media: str | None = None
    from_media: str | None = None


def move(wanted: Move, *, tell: Callable[[str], None]) -> dict[str, Any]:
    """Move a shop, or bring its files back on another machine; return what was moved.

    Args:
        wanted: what and where to.
        tell: is told in one line how far it is.

    Raises:
        OutputForeign: there is no shop in the data folder.
        OutputBusy: the server runs.
        StoreUnusable, MediaUnusable, MediaDamaged: see :mod:`api.moving.rows` and :mod:`api.moving.files`.
    """

    def told(done: int, count: int) -> None:
        if done % _LINE_EVERY == 0 or done == count:
            tell(f"{done} of {count} files")

    if wanted.from_media:
        with held_folder(wanted.folder, MARK):
            mark_folder(wanted.folder)  # broken off, it goes on; and the server there takes the folder
            came, count = fetch_files(wanted.folder, MediaStore(wanted.from_media), told)
        return {"fetched": came, "of": count}
    if not (wanted.folder / FILE).is_file():
        raise OutputForeign(
            "there is no shop to be moved", where=str(wanted.folder), expected=f"a data folder with {FILE}"
        )
    moved: dict[str, Any] = {}
    with held_folder(wanted.folder, MARK if (wanted.folder / MARK).exists() else FILE):
        if wanted.to_database:
            moved |= _rows_moved(wanted.folder, wanted.to_database, tell)
        if wanted.to_media:
            files = move_files(wanted.folder, MediaStore(wanted.to_media), told)
            moved |= {"files": len(files), "bytes": sum(one.size for one in files)}
    return moved


def _rows_moved(folder: Path, url: str, tell: Callable[[str], None]) -> dict[str, Any]:
    old, new = Database(database_url(folder, None)), Database(url)
    try:
        if not new.on_postgresql:
            raise StoreUnusable("a shop is moved to PostgreSQL", expected="--to-database postgresql://…")
        migrate(old)
        migrate(new)
        sums = move_rows(old, new, lambda table, rows: tell(f"{table}: {rows} rows"))
    finally:
        old.close()
        new.close()
    return {"tables": {name: asdict(one) for name, one in sums.items()}}
