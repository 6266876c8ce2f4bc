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

from api.face_comparison import pair_json, pair_lines
from api.face_text import face_lines
from api.failure import DONE, FOUND
from api.inspection_folder import InspectionFolder, open_inspection_folder
from api.light_bands import band_json, band_rows, bands_of
from api.screen import columns, printable, wrapped
from capture.face.band_reading import BandReading
from capture.face.inspection import Inspection, check_diameter, inspect_picture
from capture.face.pairs import FacePair, compare_faces
from capture.photos import pictures_in
from capture.pictures import read_picture_file
from shared.errors import PictureError, PictureUnreadable, SettingError
from shared.face_words import CAUTION, is_damage
from shared.photo import FaceReport

_WIDTH = 100


@dataclass(frozen=True)
class InspectRequest:
    """What to look at, and how."""

    arguments: Sequence[Path]
    """Pictures, and folders of pictures."""
    outer_diameter_mm: float | None = None
    """Of the faces in them, where it is known."""
    out: Path | None = None
    """Folder for annotated pictures, strips, crops and reports."""
    pair: bool = False
    """Whether two pictures show one face, as found and as left."""
    bands_nm: float | None = None
    """Wavelength of the light under an optical flat; None for pictures in common light."""


@dataclass(frozen=True)
class Inspected:
    """What came of one picture: a report, or why there is none."""

    path: Path
    what: str = ""
    """The thing in the picture, in words."""
    report: FaceReport | None = None
    failure: PictureError | None = None
    bands: BandReading | None = None
    """None where no face was found, or none were asked for."""
    inspection: Inspection | None = None
    """Kept of pairs only."""
    files: Path | None = None
    """The folder that its files were written to."""

    @property
    def found(self) -> bool:
        """Whether there is damage, or nothing that could be judged."""
        report = self.report
        return report is not None and (not report.usable or any(map(is_damage, report.defects)))


def run_inspect(request: InspectRequest, *, strict: bool = False, as_json: bool = False) -> int:
    """Inspect pictures, print what they show and return the exit status.

    Args:
        request: what to look at.
        strict: whether damage, and pictures that cannot be judged, make another status.
        as_json: print JSON instead of text.

    Raises:
        DiameterInvalid: the diameter is none.
        PictureError: no picture could be read; of several: those that could not, after the others are done.
        OutputError: the folder cannot be written to.
        SettingError: a pair of more or fewer than two pictures.
    """
    check_diameter(request.outer_diameter_mm)
    paths = [path for argument in request.arguments for path in _pictures_of(argument)]
    if request.pair and len(paths) != 2:
        raise SettingError(f"a pair of {len(paths)} pictures", expected="two: as found, then as left")
    with ExitStack() as stack:
        out = request.out
        folder = stack.enter_context(open_inspection_folder(out)) if out is not None else None
        done = _inspected(paths, request, folder, tell=_progress(len(paths)))
        results = list(done) if as_json else list(_printed(done, bands=request.bands_nm is not None))
    pair = _pair_of(results) if request.pair else None
    bands = request.bands_nm is not None
    alone = len(request.arguments) == len(paths) == 1 and not bands
    if as_json and not (alone and results[0].failure):
        click.echo(json.dumps(_json_of(results, pair, alone=alone, bands=bands), indent=2))
    elif pair is not None:
        said = [line for text in pair_lines(pair) for line in wrapped(text, _width(), indent="  ")]
        _print(["", f"{paths[0].name} against {paths[1].name}", *said])
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
    request: InspectRequest,
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
        inspection = inspect_picture(read.picture, request.outer_diameter_mm)
        files = folder.write(path, read.sha256, inspection) if folder is not None else None
        bands = bands_of(inspection, request.bands_nm) if request.bands_nm is not None else None
        kept = inspection if request.pair else None
        yield Inspected(path, inspection.found.what, inspection.report, None, bands, kept, files)


def _pair_of(results: Sequence[Inspected]) -> FacePair | None:
    before, after = (result.inspection for result in results)
    return compare_faces(before, after) if before is not None and after is not None else None


def _printed(done: Iterator[Inspected], *, bands: bool) -> Iterator[Inspected]:
    width, shown = _width(), False
    for result in done:
        if result.report is not None:
            lines = list(face_lines(str(result.path), result.report, result.what, width))
            if bands:
                lines += columns(list(band_rows(result.bands)), width)
            lines += [f"  files   {result.files}"] if result.files else []
            _print([*lines, ""])
            shown = True
        yield result
    if shown:
        _print(wrapped(CAUTION, width))


def _width() -> int:
    return max(72, min(shutil.get_terminal_size().columns, 120)) if sys.stdout.isatty() else _WIDTH


def _print(lines: Sequence[str]) -> None:
    for line in lines:
        click.echo(printable(line, sys.stdout.encoding))


def _json_of(results: Sequence[Inspected], pair: FacePair | None, *, alone: bool, bands: bool) -> Any:
    """Return the report of one picture, or a list with name and report, or failure, of each of several."""
    if alone:
        report = results[0].report
        return report.model_dump(mode="json") if report is not None else None
    listed = [_json_row(result, bands=bands) for result in results]
    return listed if pair is None else {"pictures": listed, "pair": pair_json(pair)}


def _json_row(result: Inspected, *, bands: bool) -> dict[str, Any]:
    row: dict[str, Any] = {"picture": str(result.path)}
    if result.report is None:
        return row | {"failure": str(result.failure)}
    row["report"] = result.report.model_dump(mode="json")
    return row | ({"light_bands": band_json(result.bands)} if bands else {})


def _refuse_failed(results: Sequence[Inspected]) -> None:
    failures = [result.failure for result in results if result.failure is not None]
    if len(results) == 1 and failures:
        raise failures[0]
    if failures:
        named = " · ".join(map(str, failures))
        raise PictureUnreadable(f"{len(failures)} of {len(results)} pictures could not be read: {named}")
