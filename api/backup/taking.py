"""A backup taken while the server runs: the database of one moment, then every file that it speaks of.

Files are written before the rows that name them, and journals only grow: what the database of that moment
names is there when the files are copied after it. What came later (another job, another recording) is left
out, so that a shop brought back never mixes old sound with new. A job in the midst of a recording is as after
a power cut: its bench goes on with it.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from api.backup.chest import Chest
from api.backup.database_copy import Copied, copy_database
from api.backup.manifest import MANIFESTS, MARK, KeptDatabase, KeptFile, Manifest, names_in, read_manifest
from api.data_folder import MARK as SHOP_MARK
from api.listening import SOUND_JOURNAL
from api.private_file import write_private
from api.store.database import FILE, database_url
from api.version import program_version
from api.work_folder import held_folder
from shared.errors import BackupDamaged, OutputForeign, OutputUnwritable
from shared.settings import Settings

_SAID = (
    "Backups of witnessmark. Contents lie in objects/ by their SHA-256; it holds the shop's private keys.\n"
)


@dataclass(frozen=True)
class Taken:
    """What a backup came to."""

    manifest: Manifest
    new_bytes: int
    """That were not kept by an earlier one."""
    dropped: tuple[str, ...]
    """Names of older backups that were given up."""


def take_backup(settings: Settings, folder: Path, to: Path, *, keep: int | None = None) -> Taken:
    """Back a shop up, its server running or not.

    Args:
        settings: of the shop.
        folder: its data folder.
        to: folder of backups; made where it is not there.
        keep: so many of the newest stay; None keeps all.

    Raises:
        OutputForeign, OutputBusy, OutputUnwritable: one of the folders cannot be used.
        StoreUnusable, StoreBusy: the database cannot be copied.
        BackupDamaged: what was written reads otherwise, or the shop itself is not whole.
    """
    if not (folder / SHOP_MARK).is_file():
        raise OutputForeign(
            "this is no data folder of serve", where=str(folder), expected=f"one with {SHOP_MARK}"
        )
    if to.resolve().is_relative_to(folder.resolve()):
        raise OutputForeign(
            "backups cannot lie in the data folder itself", where=str(to), expected="another disk"
        )
    with held_folder(to, MARK):
        to.chmod(0o700)
        (to / MARK).write_text(_SAID, encoding="utf-8")
        try:
            return _taken(settings, folder, to, keep)
        except OSError as exc:
            raise OutputUnwritable(
                f"the backup cannot be written ({exc.strerror})", where=str(to),
                remedy="earlier backups are whole; make room and try again",
            ) from exc  # fmt: skip


def _taken(settings: Settings, folder: Path, to: Path, keep: int | None) -> Taken:
    chest, name = Chest(to), _new_name(to)
    before = _files_before(to)
    with tempfile.TemporaryDirectory(prefix=".database-", dir=to) as work:
        copy = Path(work) / "database"
        copied = copy_database(database_url(folder, settings.database_url), copy)
        digest, size = chest.put(copy)
    new_bytes, files = size, []
    for path in _files_of(folder, copied):
        kept, new = _kept(chest, folder, path, before)
        if kept is not None:
            files.append(kept)
            new_bytes += new
    manifest = Manifest(
        name=name, version=program_version(), files=files, jobs=len(copied.jobs), revisions=copied.revisions,
        database=KeptDatabase(kind=copied.kind, shape=copied.shape, sha256=digest, bytes=size),
    )  # fmt: skip
    (to / MANIFESTS).mkdir(mode=0o700, exist_ok=True)
    write_private(to / MANIFESTS / f"{name}.json", manifest.model_dump_json(indent=1).encode())
    return Taken(manifest, new_bytes, _given_up(to, chest, keep))


def _new_name(to: Path) -> str:
    base = name = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    number = 1
    while name in names_in(to):
        number += 1
        name = f"{base}-{number}"
    return name


def _files_before(to: Path) -> dict[tuple[str, int, int], KeptFile]:
    """Return what the newest backup has, by what tells that a file did not change since."""
    names = names_in(to)
    if not names:
        return {}
    try:
        files = read_manifest(to, names[-1]).files
    except BackupDamaged:
        return {}  # Then everything is read anew.
    return {(one.path, one.bytes, one.mtime_ns): one for one in files}


def _files_of(folder: Path, copied: Copied) -> Iterator[Path]:
    """Yield the files that belong to a copy of the database; of a recording the sound last.

    What was heard is then never of sound that the backup lacks.
    """
    for path in sorted(folder.iterdir()):
        if path.name.startswith((".", FILE)) or path.name == "jobs":
            continue
        yield from [path] if path.is_file() else _below(path)
    for job in sorted(copied.jobs):
        place = folder / "jobs" / job
        for path in sorted(place.iterdir()) if place.is_dir() else []:
            known = not path.name.isdigit() or path.relative_to(folder).as_posix() in copied.recordings
            if known:
                yield from [path] if path.is_file() else _below(path)


def _below(folder: Path) -> list[Path]:
    found = [path for path in folder.rglob("*") if path.is_file() and not path.name.startswith(".")]
    return sorted(found, key=lambda path: (path.name == SOUND_JOURNAL, path))


def _kept(
    chest: Chest, folder: Path, path: Path, before: dict[tuple[str, int, int], KeptFile]
) -> tuple[KeptFile | None, int]:
    """Keep a file; return it and how many bytes were new. Sound whose period ended meanwhile is gone."""
    name = path.relative_to(folder).as_posix()
    try:
        status = path.stat()
        same = before.get((name, status.st_size, status.st_mtime_ns))
        if same is not None and chest.has(same.sha256):
            return same, 0
        digest, size = chest.put(path)
    except FileNotFoundError:
        return None, 0
    kept = KeptFile(
        path=name, sha256=digest, bytes=size, mode=status.st_mode & 0o777, mtime_ns=status.st_mtime_ns
    )
    return kept, size


def _given_up(to: Path, chest: Chest, keep: int | None) -> tuple[str, ...]:
    names = names_in(to)
    old = names[:-keep] if keep else []
    for name in old:
        (to / MANIFESTS / f"{name}.json").unlink()
    wanted: frozenset[str] = frozenset()
    for name in names_in(to):
        wanted |= read_manifest(to, name).hashes
    chest.drop_all_but(wanted)
    return tuple(old)
