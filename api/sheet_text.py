"""Job sheets for people: one shown as text, and the skeleton of a new one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from api.report.wording import item_words, limits_words, nominal_words, uncertainty_words
from shared.errors import OutputUnwritable, SheetInvalid
from shared.job_sheet import JobSheet
from shared.sheet_entries import Consumable, Fastener, Reading, Step, words_of

_SKELETON = Path(__file__).parent / "new_sheet.yaml"
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


def sheet_text(sheet: JobSheet) -> str:
    """Return a job sheet as plain text: what is measured, decided, photographed and done."""
    lines = [sheet.title, f"id {sheet.id}" + (f", revision {sheet.revision}" if sheet.revision else "")]
    for title, block in (
        ("Cautions", [caution.text for caution in sheet.cautions]),
        ("Readings", [line for entry in sheet.readings for line in _measured_lines(entry)]),
        ("Fasteners", [line for entry in sheet.fasteners for line in _measured_lines(entry)]),
        ("Parts", list(_part_lines(sheet))),
        ("Consumables", [_consumable_line(entry) for entry in sheet.consumables]),
        (
            "Photos",
            [f"{item_words(p.of)}, {words_of(p.stage)}" + _required(p.required) for p in sheet.photos],
        ),
        ("Steps", [_step_line(step) for step in sheet.steps]),
    ):
        if block:
            lines += ["", title, *(f"  {line}" for line in block)]
    return "\n".join(lines)


def write_new_sheet(sheet_id: str, path: Path) -> Path:
    """Write the commented skeleton of a sheet; an existing file is never overwritten.

    Raises:
        SheetInvalid: an id that no sheet may have.
        OutputUnwritable: the file exists or cannot be written.
    """
    if not _ID.fullmatch(sheet_id):
        raise SheetInvalid(
            f"{sheet_id!r} cannot be a sheet's id", expected="letters, digits, dots, dashes, underscores"
        )
    text = _SKELETON.read_text(encoding="utf-8").replace("SHEET_ID", sheet_id)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as exc:
        raise OutputUnwritable(
            "the file is there already", where=str(path), remedy="choose another with --out"
        ) from exc
    except OSError as exc:
        raise OutputUnwritable(f"cannot be written: {exc.strerror or exc}", where=str(path)) from exc
    return path


def _measured_lines(entry: Reading | Fastener) -> Iterator[str]:
    where = f", at {', '.join(entry.positions)}" if entry.positions else ""
    stage = "" if entry.stage == "either" else f", {words_of(entry.stage)}"
    nominal = f", {nominal_words(entry)}" if entry.nominal is not None else ""
    yield f"{item_words(entry.item)}: {limits_words(entry)}{nominal}{where}{stage}{_required(entry.required)}"
    details = [f"say: {', '.join(entry.spoken)}"]
    if entry.uncertainty is not None:
        details.append(uncertainty_words(entry))
    if entry.gauge:
        details.append(entry.gauge)
    if isinstance(entry, Fastener):
        details += [text for text in (entry.thread, entry.grade, words_of(entry.lubricant or "")) if text]
    yield "    " + "; ".join(details)


def _part_lines(sheet: JobSheet) -> Iterator[str]:
    for part in sheet.parts:
        stock = f", stock number {part.stock_number}" if part.stock_number else ""
        covers = f", covers {', '.join(map(words_of, part.components))}" if part.components else ""
        decide = "" if part.decide else ", no decision asked"
        yield f"{item_words(part.part)}: {part.policy}, {part.quantity} off{stock}{covers}{decide}"


def _consumable_line(entry: Consumable) -> str:
    return item_words(entry.name) + (f" for {', '.join(map(words_of, entry.for_))}" if entry.for_ else "")


def _step_line(step: Step) -> str:
    return item_words(step.step) + _required(step.required) + (", a witness confirms" if step.hold else "")


def _required(required: bool) -> str:
    return ", required" if required else ""
