"""The files of a data folder kept in a media store and brought back from there, each compared by its hash.

Journals, pictures and what was made of recordings go; the database and the shop's keys do not: a key never
leaves its machine by itself. What is done is noted in the data folder as it is done, so that a move that
was broken off goes on where it stopped.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from api.store.media import MediaStore
from shared.errors import MediaDamaged, MediaUnusable

#: Folders of a data folder that hold what was recorded, what was made of it, and the shop's own sheets.
FOLDERS = ("jobs", "past", "sheets")
#: In the store: every file with its size and SHA-256.
MANIFEST = "manifest.json"
#: In the data folder: what is in the store already.
_DONE = "moved.jsonl"


@dataclass(frozen=True)
class MovedFile:
    """A file that lies in the store."""

    name: str
    """Relative to the data folder; the same in the store."""
    size: int
    """Bytes."""
    changed_ns: int
    """When it was last changed, nanoseconds; another time is another file."""
    sha256: str


def move_files(folder: Path, media: MediaStore, told: Callable[[int, int], None]) -> list[MovedFile]:
    """Keep every file in the store, read it back and compare; return all that lie there.

    Args:
        folder: data folder; nobody works in it meanwhile.
        media: the store.
        told: is told how many files are done, and of how many.

    Raises:
        MediaDamaged: the store gave back something else than was put there.
        MediaUnusable: the store cannot be used.
    """
    before = {one.name: one for one in _done(folder)}
    files = list(_files(folder))
    moved = []
    with (folder / _DONE).open("a", encoding="utf-8") as notes:
        for number, file in enumerate(files, 1):
            name, state = file.relative_to(folder).as_posix(), file.stat()
            known = before.get(name)
            same = known is not None and (known.size, known.changed_ns) == (state.st_size, state.st_mtime_ns)
            # The notes tell of one store; the one that is asked now may be another.
            if known is None or not same or not media.holds(name, known.size):
                known = MovedFile(name, state.st_size, state.st_mtime_ns, media.put(name, file))
                if media.sha256_of(name) != known.sha256:
                    raise MediaDamaged(
                        "what is kept there is not what was put there", where=f"{media.url} {name}",
                        remedy="check the store, then give the same command again",
                    )  # fmt: skip
                print(json.dumps(asdict(known)), file=notes, flush=True)
            moved.append(known)
            told(number, len(files))
    _keep_manifest(media, moved)
    return moved


def fetch_files(folder: Path, media: MediaStore, told: Callable[[int, int], None]) -> tuple[int, int]:
    """Bring back from the store what a data folder lacks; return how many files came, and of how many.

    Args:
        folder: data folder of another machine.
        media: the store.
        told: is told how many files are done, and of how many.

    Raises:
        MediaDamaged: what the store gives is not what was put there.
        MediaUnusable: the store cannot be used, or nothing was moved there.
    """
    with tempfile.TemporaryDirectory() as place:
        listing = Path(place) / MANIFEST
        media.fetch(MANIFEST, listing, sha256=media.sha256_of(MANIFEST))
        try:
            files = [MovedFile(**one) for one in json.loads(listing.read_text("utf-8"))]
        except (ValueError, TypeError) as exc:
            where = f"{media.url} {MANIFEST}"
            raise MediaUnusable("the list of its files cannot be read", where=where) from exc
    came = 0
    for number, one in enumerate(files, 1):
        file = folder / one.name
        # Neither the database nor a key is ever taken from there.
        if not any(file.resolve().is_relative_to((folder / name).resolve()) for name in FOLDERS):
            where = f"{media.url} {one.name}"
            raise MediaUnusable("its list names a file that is no recording's", where=where)
        if not file.is_file() or _sha256(file) != one.sha256:
            media.fetch(one.name, file, sha256=one.sha256)
            os.utime(file, ns=(one.changed_ns, one.changed_ns))
            came += 1
        told(number, len(files))
    return came, len(files)


def _files(folder: Path) -> Iterator[Path]:
    for name in FOLDERS:
        for file in sorted((folder / name).rglob("*")):
            if file.is_file() and not file.name.startswith("."):
                yield file


def _done(folder: Path) -> Iterator[MovedFile]:
    notes = folder / _DONE
    if not notes.exists():
        return
    for line in notes.read_text("utf-8").splitlines():
        try:
            yield MovedFile(**json.loads(line))
        except (ValueError, TypeError):
            continue  # torn by a crash: that file is moved again


def _keep_manifest(media: MediaStore, moved: list[MovedFile]) -> None:
    with tempfile.TemporaryDirectory() as place:
        listing = Path(place) / MANIFEST
        listing.write_text(json.dumps([asdict(one) for one in moved], indent=0), "utf-8")
        media.put(MANIFEST, listing)


def _sha256(file: Path) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()
