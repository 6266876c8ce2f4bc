"""A shop's own list of its photos: ``photos.csv`` with the columns file, of, stage, time_s."""

from __future__ import annotations

import csv
import io
import math
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from capture.photo_names import PhotoNames
from shared.sheet_entries import Stage

LIST_NAME = "photos.csv"
_COLUMNS = ("file", "of", "stage", "time_s")
_STAGES: dict[str, Stage] = {
    "as_found": "as_found", "found": "as_found", "as_left": "as_left", "left": "as_left", "either": "either",
}  # fmt: skip
_MOST_BYTES = 5_000_000


@dataclass(frozen=True, slots=True)
class PhotoProblem:
    """What could not be used, where, and why; the work goes on without it."""

    file: str
    text: str
    line: int | None = None
    """Of the list, from 1."""
    column: str | None = None
    """Of the list."""

    def __str__(self) -> str:
        place = self.file + (f", line {self.line}" if self.line is not None else "")
        return f"{place}{f', column {self.column}' if self.column else ''}: {self.text}"


@dataclass(frozen=True, slots=True)
class ListedPhoto:
    """One line of the list."""

    file: str
    line: int
    """Of the list, from 1."""
    of: str | None
    stage: Stage | None
    """None where the list leaves it open."""
    time_s: float | None


@dataclass(frozen=True, slots=True)
class PhotoList:
    """A list as far as it could be read."""

    photos: dict[str, ListedPhoto]
    """By :func:`list_key` of the file name."""
    problems: tuple[PhotoProblem, ...]


def list_key(file: str) -> str:
    """Return a file name as lists and systems agree on it: one writes capitals or accents otherwise."""
    return unicodedata.normalize("NFC", file).casefold()


def read_photo_list(path: Path, names: PhotoNames) -> PhotoList:
    """Read a list; what is wrong in it is named by line and column and left out, the rest holds.

    Args:
        path: comma- or semicolon-separated, first line with the names of the columns, UTF-8. ``of`` is a
            photo or part of the sheet, by name or as spoken; ``stage`` as_found, as_left or either;
            ``time_s`` seconds from the start of the recording, or m:ss. All but ``file`` may be empty.
        names: of the sheet.
    """
    return _ListReader(path, names).read()


class _ListReader:
    def __init__(self, path: Path, names: PhotoNames) -> None:
        self._path, self._names = path, names
        self._photos: dict[str, ListedPhoto] = {}
        self._problems: list[PhotoProblem] = []

    def read(self) -> PhotoList:
        text = self._text()
        first = text.split("\n", 1)[0]
        self._semicolons = ";" in first and "," not in first
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=";" if self._semicolons else ",")
        try:
            columns = (
                self._columns([cell.strip().lower() for cell in next(rows, [])]) if text.strip() else None
            )
            for cells in rows:
                if columns is not None and any(cell.strip() for cell in cells):
                    self._row(rows.line_num, columns, [cell.strip() for cell in cells])
        except csv.Error as exc:
            self._problem(f"cannot be read on ({exc})", rows.line_num)
        return PhotoList(self._photos, tuple(self._problems))

    def _text(self) -> str:
        try:
            with self._path.open("rb") as file:
                data = file.read(_MOST_BYTES + 1)
        except OSError as exc:
            self._problem(f"cannot be read ({exc.strerror})")
            return ""
        if len(data) > _MOST_BYTES or b"\0" in data:
            self._problem("is no list of photos; expected text with the columns " + ",".join(_COLUMNS))
            return ""
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError:
            return data.decode("cp1252", errors="replace")

    def _columns(self, header: list[str]) -> dict[str, int] | None:
        if "file" not in header:
            expected = ",".join(_COLUMNS)
            self._problem(f"no column of that name; expected a first line {expected}", 1, "file")
            return None
        for name in header:
            if name and name not in _COLUMNS:
                self._problem(f"no such column; expected {', '.join(_COLUMNS)}", 1, name)
            elif name and header.count(name) > 1:
                self._problem("stands twice; the first counts", 1, name)
        return {name: header.index(name) for name in _COLUMNS if name in header}

    def _row(self, line: int, columns: dict[str, int], cells: list[str]) -> None:
        values = {name: cells[at] if at < len(cells) else "" for name, at in columns.items()}
        file = values["file"]
        twin = self._photos.get(list_key(file))
        if not file:
            self._problem("is empty; expected the name of a picture", line, "file")
        elif twin is not None:
            self._problem(f"{file!r} stands on line {twin.line} already", line, "file")
        else:
            self._photos[list_key(file)] = ListedPhoto(
                file=file,
                line=line,
                of=self._of(values.get("of", ""), line),
                stage=self._stage(values.get("stage", ""), line),
                time_s=self._time_s(values.get("time_s", ""), line),
            )

    def _of(self, text: str, line: int) -> str | None:
        name = self._names.exactly(text) if text else None
        if text and name is None:
            known = ", ".join(self._names.known) or "a part"
            self._problem(
                f"{text!r} is on the sheet neither as a photo nor as a part; expected {known}", line, "of"
            )
        return name

    def _stage(self, text: str, line: int) -> Stage | None:
        stage = _STAGES.get("_".join(text.lower().replace("_", " ").split()))
        if text and stage is None:
            self._problem(f"{text!r} is no stage; expected as_found, as_left or either", line, "stage")
        return stage

    def _time_s(self, text: str, line: int) -> float | None:
        if not text:
            return None
        try:
            parts = [
                float(part) for part in (text.replace(",", ".") if self._semicolons else text).split(":")
            ]
            seconds = sum((part * 60.0**power for power, part in enumerate(reversed(parts))), 0.0)
            if len(parts) <= 3 and math.isfinite(seconds) and min(parts) >= 0:
                return seconds
        except ValueError:
            pass  # Said below, with line and column.
        self._problem(f"{text!r} is no time; expected seconds such as 71.5, or m:ss", line, "time_s")
        return None

    def _problem(self, text: str, line: int | None = None, column: str | None = None) -> None:
        self._problems.append(PhotoProblem(self._path.name, text, line, column))
