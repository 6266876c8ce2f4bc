"""A record judged by another revision of its sheet: what was read stays, what the sheet decides is new."""

from __future__ import annotations

from fractions import Fraction

from extract.conformity import judge
from extract.made_by import made_by
from shared.errors import DecisionRefused
from shared.job_sheet import JobSheet
from shared.record import ConditionEntry, PartEntry, ReadingEntry, RebuildRecord
from shared.units import SYMBOLS


def judged_by(record: RebuildRecord, sheet: JobSheet) -> RebuildRecord:
    """Return a record with verdicts, unlisted parts and the sheet's name as another sheet has them.

    Deviations and what is missing follow from the entries (:func:`extract.reviewing.reviewed`).

    Args:
        record: as extracted by an earlier revision of the sheet; it is left as it is.
        sheet: that it is judged by.

    Raises:
        DecisionRefused: the sheet does not measure a standing reading, or measures it in another unit: what
            was understood as so many inches is no value of it.
    """
    changed = record.model_copy(deep=True)
    for reading in changed.readings:
        _judge(reading, sheet)
    named: list[PartEntry | ConditionEntry] = [*changed.parts, *changed.conditions]
    for entry in named:
        listed = entry.part in sheet.part_names
        if entry.standing and not listed and not entry.unlisted:
            entry.needs_review, entry.reason = True, f"not on revision {sheet.revision} of the sheet"
        entry.unlisted = not listed
    changed.job.sheet_id, changed.job.sheet_revision = sheet.id, sheet.revision
    changed.made_by.hashes["sheet"] = made_by(sheet, "").hashes["sheet"]
    return changed


def _judge(reading: ReadingEntry, sheet: JobSheet) -> None:
    measured = sheet.measured.get(reading.item)
    if not reading.standing:
        return
    if measured is None or (reading.position is not None and reading.position not in measured.positions):
        place = reading.item if reading.position is None else f"{reading.item}, position {reading.position}"
        raise DecisionRefused(
            f"revision {sheet.revision} of the sheet does not measure {place}",
            where=reading.id, expected="every reading of the record on the newer sheet, too",
            remedy="strike the reading first, or sign by the sheet that the job began with",
        )  # fmt: skip
    if measured.unit != reading.unit:
        raise DecisionRefused(
            f"revision {sheet.revision} of the sheet measures {reading.item} in {SYMBOLS[measured.unit]}",
            where=reading.id, expected=f"the unit that it was read in, {SYMBOLS[reading.unit]}",
            remedy="sign by the sheet that the job began with",
        )  # fmt: skip
    if reading.value_exact is None or reading.needs_review:
        return
    value = Fraction(reading.value_exact)
    if measured.plausible is not None and not measured.plausible[0] <= value <= measured.plausible[1]:
        reading.needs_review, reading.verdict = True, "undecided"
        reading.reason = f"not plausible by revision {sheet.revision} of the sheet"
    else:
        reading.verdict = judge(value, measured)
