"""Inspecting pictures of seal faces as a command: one after another, plain text or JSON, files if wanted."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from api.face_text import face_lines
from api.failure import DONE, FOUND
from api.inspection_folder import InspectionFolder, open_inspection_folder
from api.screen import printable, wrapped
from capture.face.inspection import check_diameter, inspect_picture
from capture.photos import pictures_in
from capture.pictures import read_picture_file
from shared.errors import PictureError, PictureUnreadable
from shared.face_words import CAUTION, is_damage
from shared.photo import FaceReport

_WIDTH = 100


@dataclass(frozen=True)
class Inspected:
    """What came of one picture: a report, or why there is none."""

    path: Path
    what: str = ""
    """The thing in the picture, in words."""
    report: FaceReport | None = None
    failure: PictureError | None = None
    files: Path | None = None
    """The folder that its files were written to."""

    @property
    def found(self) -> bool:
        """Whether there is damage, or nothing that could be judged."""
        report = self.report
        return report is not None and (not report.usable or any(map(is_damage, report.defects)))


def run_inspect(
    arguments: Sequence[Path],
    outer_diameter_mm: float | None,
    out: Path | None,
    *,
    strict: bool = False,
    as_json: bool = False,
) -> int:
    """Inspect pictures, print what they show and return the exit status.

    Args:
        arguments: pictures, and folders of pictures.
        outer_diameter_mm: of the faces in them, where it is known.
        out: folder for annotated pictures, strips, crops and reports.
        strict: whether damage, and pictures that cannot be judged, make another status.
        as_json: print JSON instead of text.

    Raises:
        DiameterInvalid: the diameter is none.
        PictureError: no picture could be read; of several: those that could not, after the others are done.
        OutputError: the folder cannot be written to.
    """
    check_diameter(outer_diameter_mm)
    paths = [path for argument in arguments for path in _pictures_of(argument)]
    with ExitStack() as stack:
        folder = stack.enter_context(open_inspection_folder(out)) if out is not None else None
        done = _inspected(paths, outer_diameter_mm, folder, tell=_progress(len(paths)))
        results = list(done) if as_json else list(_printed(done))
    alone = len(arguments) == len(paths) == 1
    if as_json and not (alone and results[0].failure):
        click.echo(json.dumps(_json_of(results, alone=alone), indent=2))
    _refuse_failed(results)
    return FOUND if strict and any(result.found for result in results) else DONE


def _pictures_of(argument: Path) -> list[Path]:
    return pictures_in(argument) if argument.is_dir() else [argument]


def _progress(count: int) -> Callable[[int, Path], None]:
    """Return what says on standard error which of many pictures is looked at, on a terminal only."""

    def tell(number: int, path: Path) -> None:
        click.echo(f"{number} of {count}: {path.name}", err=True)

    return tell if count > 1 and sys.stderr.isatty() and not sys.stdout.isatty() else lambda *_: None


def _inspected(
    paths: Sequence[Path],
    outer_diameter_mm: float | None,
    folder: InspectionFolder | None,
    *,
    tell: Callable[[int, Path], None],
) -> Iterator[Inspected]:
    for number, path in enumerate(paths, 1):
        tell(number, path)
        try:
            read = read_picture_file(path)
        except PictureError as exc:
            yield Inspected(path, failure=exc)
            continue
        inspection = inspect_picture(read.picture, outer_diameter_mm)
        files = folder.write(path, read.sha256, inspection) if folder is not None else None
        yield Inspected(path, inspection.found.what, inspection.report, files=files)


def _printed(done: Iterator[Inspected]) -> Iterator[Inspected]:
    width = max(72, min(shutil.get_terminal_size().columns, 120)) if sys.stdout.isatty() else _WIDTH
    shown = False
    for result in done:
        if result.report is not None:
            lines = list(face_lines(str(result.path), result.report, result.what, width))
            lines += [f"  files   {result.files}"] if result.files else []
            _print([*lines, ""])
            shown = True
        yield result
    if shown:
        _print(wrapped(CAUTION, width))


def _print(lines: Sequence[str]) -> None:
    for line in lines:
        click.echo(printable(line, sys.stdout.encoding))


def _json_of(results: Sequence[Inspected], *, alone: bool) -> Any:
    """Return the report of one picture, or a list with name and report, or failure, of each of several."""
    if alone:
        report = results[0].report
        return report.model_dump(mode="json") if report is not None else None
    return [
        {"picture": str(result.path), "report": result.report.model_dump(mode="json")}
        if result.report is not None
        else {"picture": str(result.path), "failure": str(result.failure)}
        for result in results
    ]


def _refuse_failed(results: Sequence[Inspected]) -> None:
    failures = [result.failure for result in results if result.failure is not None]
    if len(results) == 1 and failures:
        raise failures[0]
    if failures:
        named = " · ".join(map(str, failures))
        raise PictureUnreadable(f"{len(failures)} of {len(results)} pictures could not be read: {named}")
