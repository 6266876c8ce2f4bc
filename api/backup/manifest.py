"""What a backup holds, by name and hash (``witnessmark-backup/1``)."""

from __future__ import annotations

from pathlib import Path, PurePosixPath
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from shared.errors import BackupDamaged, NotKept

FORMAT: Literal["witnessmark-backup/1"] = "witnessmark-backup/1"
#: By which a folder of backups is known.
MARK = "backups.txt"
MANIFESTS = "manifests"


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class KeptFile(_Model):
    """One file of the data folder."""

    path: str
    """In the data folder, with slashes."""
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    bytes: int
    mode: int
    """Rights, as the system has them: a private key stays its owner's."""
    mtime_ns: int
    """Of the file when it was taken, whole nanoseconds; unchanged files are not read again."""

    @field_validator("path")
    @classmethod
    def _stays_inside(cls, path: str) -> str:
        pure = PurePosixPath(path)
        if pure.is_absolute() or ".." in pure.parts or not pure.parts:
            raise ValueError("a path that leaves the data folder")
        return path


class KeptDatabase(_Model):
    """The database, copied in one moment."""

    kind: Literal["sqlite", "postgresql"]
    """A file of SQLite, or what pg_dump wrote in its own format."""
    shape: str
    """Number of the newest migration."""
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    bytes: int


class Manifest(_Model):
    """One backup."""

    format: Literal["witnessmark-backup/1"] = FORMAT
    name: str = Field(pattern=r"^[0-9]{8}T[0-9]{6}Z(-[0-9]+)?$")
    """The moment of its database, UTC, by the clock of the shop's machine."""
    version: str
    """Of the program."""
    database: KeptDatabase
    files: list[KeptFile]
    jobs: int
    revisions: int

    @property
    def hashes(self) -> frozenset[str]:
        """Hashes of everything that it holds."""
        return frozenset({self.database.sha256, *(one.sha256 for one in self.files)})

    @property
    def total_bytes(self) -> int:
        """Size of everything that it holds."""
        return self.database.bytes + sum(one.bytes for one in self.files)


def names_in(to: Path) -> list[str]:
    """Return the names of the backups in a folder, oldest first."""
    return sorted(path.stem for path in (to / MANIFESTS).glob("*.json"))


def read_manifest(to: Path, name: str | None = None) -> Manifest:
    """Return one backup's manifest; the newest where none is named.

    Raises:
        NotKept: there is none.
        BackupDamaged: it cannot be read.
    """
    names = names_in(to)
    if not names or (name is not None and name not in names):
        raise NotKept(
            f"there is no backup {name or ''}".rstrip(), where=str(to),
            expected=f"one of {', '.join(names)}" if names else "a folder that witnessmark backup wrote to",
        )  # fmt: skip
    path = to / MANIFESTS / f"{name or names[-1]}.json"
    try:
        return Manifest.model_validate_json(path.read_bytes())
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        at = ".".join(str(part) for part in first["loc"]) or "the file"
        raise BackupDamaged(
            f"{at}: {first['msg']}", where=str(path), expected=f"a manifest of {FORMAT}",
            remedy="take another backup with --at",
        ) from exc  # fmt: skip
