"""Which files of some folders are recordings, each content once; the others by name and why."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from capture.sound import sound_sha256
from shared.errors import RebuildError, SoundNotFound, SoundUnreadable
from shared.record import Job

#: What recorders, phones and cameras write.
RECORDINGS = frozenset(
    {
        ".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".m4a", ".aac", ".mp4", ".m4v", ".mov", ".webm",
        ".mkv", ".avi", ".wma", ".amr", ".3gp",
    }
)  # fmt: skip
#: What copying and downloading leave behind while they are not done.
_HALF_WRITTEN = frozenset({".part", ".partial", ".crdownload", ".download", ".tmp"})
_PACKED = frozenset({".zip", ".tar", ".gz", ".tgz", ".7z", ".rar", ".bz2", ".xz"})
#: What is known of the recordings of a folder, one a line.
LIST = "recordings.csv"
_JOB_COLUMNS = ("work_order", "pump_tag", "pump_serial", "technician")
#: Who states that everybody who is heard agreed that lessons use his voice.
AGREED = "voices_agreed"
_COLUMNS = ("file", *_JOB_COLUMNS, "crew", "running_hours", AGREED)
#: Characters at most, as the archive keeps them.
_LONGEST = {
    "work_order": 128, "pump_tag": 128, "pump_serial": 128, "technician": 200, "crew": 64, AGREED: 200,
}  # fmt: skip


@dataclass(frozen=True)
class Found:
    """A recording: of the files with its content the first that a list tells something of, else the first."""

    path: Path
    sha256: str
    job: Job
    facts: dict[str, Any]
    agreed: str | None = None
    """Who states that all who are heard agreed that lessons use their voice; empty: nobody does any more;
    None: the list beside it says nothing of that."""


@dataclass
class Findings:
    """What some folders hold."""

    recordings: list[Found] = field(default_factory=list)
    duplicates: list[tuple[Path, Path]] = field(default_factory=list)
    """A file, and the one with the same content that is taken."""
    passed_over: list[tuple[Path, str]] = field(default_factory=list)
    """A file that looks like one, and why it is none."""


def find_recordings(places: Sequence[Path]) -> Findings:
    """Look through folders, and the folders in them; a file that is named is taken whatever it is called.

    Raises:
        SoundNotFound: no such file or folder.
        SoundUnreadable: the list of a folder cannot be read, or says two things of one recording.
    """
    findings = Findings()
    first: dict[str, Path] = {}
    for place in places:
        if not place.exists():
            raise SoundNotFound("no such file or folder", where=str(place), remedy="check the name")
        for path in [place] if place.is_file() else sorted(place.rglob("*")):
            if not path.is_file() or path.name.startswith("."):
                continue
            if place.is_dir() and not _looks_like_one(path, findings):
                continue
            _take(path, findings, first)
    return findings


def _looks_like_one(path: Path, findings: Findings) -> bool:
    kind = path.suffix.lower()
    if kind in _HALF_WRITTEN:
        findings.passed_over.append((path, "half written: copy it again, whole"))
    elif kind in _PACKED:
        findings.passed_over.append((path, "packed: unpack it first"))
    return kind in RECORDINGS


def _take(path: Path, findings: Findings, first: dict[str, Path]) -> None:
    try:
        if not path.stat().st_size:
            findings.passed_over.append((path, "empty: nothing was written into it"))
            return
        digest = sound_sha256(path)
    except RebuildError as exc:
        findings.passed_over.append((path, exc.what))
        return
    if digest in first and path.resolve() == first[digest].resolve():
        return
    row = _listed(path)
    if digest in first:
        before = first[digest]
        known = _listed(before)
        if _told(row) and _told(known) and _told(row) != _told(known):
            raise SoundUnreadable(
                "the same recording twice, of which the lists beside it say different things",
                where=f"{before} and {path}", expected="one line for a recording",
                remedy="leave the wrong line out",
            )  # fmt: skip
        if not _told(row) or _told(known):
            findings.duplicates.append((path, before))
            return
        # Of copies, that is read which the list tells something of, whatever they are called.
        findings.recordings = [one for one in findings.recordings if one.sha256 != digest]
        others = [(copy, path if of == before else of) for copy, of in findings.duplicates]
        findings.duplicates = [*others, (before, path)]
    first[digest] = path
    job = Job(**{name: row[name] for name in _JOB_COLUMNS if row.get(name)})
    facts: dict[str, Any] = {"crew": row["crew"]} if row.get("crew") else {}
    if row.get("running_hours"):
        facts["running_hours"] = _hours(row["running_hours"], path.parent / LIST)
    findings.recordings.append(Found(path, digest, job, facts, row.get(AGREED)))


def _told(row: Mapping[str, str]) -> dict[str, str]:
    """Return what a line of a list says besides which file it is about."""
    return {name: text for name, text in row.items() if name != "file" and text}


def _listed(path: Path) -> dict[str, str]:
    """Return what the list beside a recording says of it."""
    listing = path.parent / LIST
    if not listing.is_file():
        return {}
    try:
        with listing.open(encoding="utf-8-sig", newline="") as file:
            rows = csv.DictReader(file)
            unknown = set(rows.fieldnames or ()) - set(_COLUMNS)
            if "file" not in (rows.fieldnames or ()) or unknown:
                raise SoundUnreadable(
                    "this list cannot be used",
                    where=str(listing),
                    expected=f"columns out of {', '.join(_COLUMNS)}",
                )
            for row in rows:
                if row["file"] == path.name:
                    told = {name: text.strip() for name, text in row.items() if name and text is not None}
                    _check_lengths(told, listing)
                    return told
    except (OSError, UnicodeDecodeError, csv.Error) as exc:
        raise SoundUnreadable(f"this list cannot be read ({exc})", where=str(listing)) from exc
    return {}


def _check_lengths(row: dict[str, str], listing: Path) -> None:
    """See that the archive can keep what a list says of a recording.

    Raises:
        SoundUnreadable: something is too long, or holds what no database takes.
    """
    for name, most in _LONGEST.items():
        text = row.get(name, "")
        if len(text) > most or "\x00" in text:
            wrong = f"is {len(text)} characters long" if len(text) > most else "holds a NUL character"
            raise SoundUnreadable(
                f"{name} of {row['file']} {wrong}", where=str(listing), expected=f"at most {most} characters"
            )


def _hours(text: str, listing: Path) -> float:
    try:
        hours = float(text)
    except ValueError:
        hours = -1.0
    if not 0 <= hours < 1e7:
        raise SoundUnreadable(
            f"running_hours is {text!r}",
            where=str(listing),
            expected="hours of the pump's meter, such as 8412",
        )
    return hours
