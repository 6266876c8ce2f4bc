"""Where backups keep what they hold: each content once, under its SHA-256, whichever backups have it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Set
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from shared.errors import BackupDamaged

_PIECE = 2**20


class Chest:
    """Contents in a folder.

    Args:
        folder: of the backups.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "objects"

    def put(self, path: Path) -> tuple[str, int]:
        """Keep what a file holds; return its SHA-256 and size.

        A file that grows meanwhile is kept as long as it was at the beginning.

        Raises:
            FileNotFoundError: it is gone.
            OSError: it cannot be read, or the disk took no more.
            BackupDamaged: what was written reads otherwise.
        """
        with path.open("rb") as file:
            return self._put(file, os.fstat(file.fileno()).st_size)

    def has(self, digest: str) -> bool:
        """Tell whether a content is there."""
        return self._place(digest).is_file()

    def copy(self, digest: str, to: Path, mode: int) -> None:
        """Write a content to a file that is not there yet.

        Raises:
            BackupDamaged: it is gone or reads otherwise.
            OSError: it cannot be written.
        """
        to.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            self._read(digest, out)
            out.flush()
            os.fsync(out.fileno())
        to.chmod(mode & 0o777)

    def check(self, digest: str) -> None:
        """Read a content through.

        Raises:
            BackupDamaged: it is gone or reads otherwise.
        """
        self._read(digest, None)

    def drop_all_but(self, wanted: Set[str]) -> int:
        """Erase what no backup has any more, and what a killed one left; return of how many."""
        gone = 0
        for path in [*self._folder.glob("*/*"), *self._folder.glob(".taking-*")]:
            if path.is_file() and path.name not in wanted:
                path.unlink()
                gone += 1
        return gone

    def _put(self, file: BinaryIO, left: int) -> tuple[str, int]:
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        digest, size = sha256(), 0
        handle, name = tempfile.mkstemp(prefix=".taking-", dir=self._folder)
        try:
            with os.fdopen(handle, "wb") as out:
                while left and (piece := file.read(min(_PIECE, left))):
                    digest.update(piece)
                    out.write(piece)
                    size, left = size + len(piece), left - len(piece)
                out.flush()
                os.fsync(out.fileno())
            place = self._place(digest.hexdigest())
            if not place.is_file():
                place.parent.mkdir(mode=0o700, exist_ok=True)
                Path(name).rename(place)
                self.check(digest.hexdigest())
        finally:
            Path(name).unlink(missing_ok=True)
        return digest.hexdigest(), size

    def _read(self, digest: str, out: BinaryIO | None) -> None:
        place, found = self._place(digest), sha256()
        try:
            with place.open("rb") as file:
                while piece := file.read(_PIECE):
                    found.update(piece)
                    if out is not None:
                        out.write(piece)
        except FileNotFoundError as exc:
            raise BackupDamaged("a content of the backup is gone", where=str(place), remedy=_REMEDY) from exc
        if found.hexdigest() != digest:
            raise BackupDamaged("it is not what was backed up", where=str(place), remedy=_REMEDY)

    def _place(self, digest: str) -> Path:
        return self._folder / digest[:2] / digest


_REMEDY = (
    "remove that file and take a new backup, which keeps it anew; restore from another copy of the folder"
)
