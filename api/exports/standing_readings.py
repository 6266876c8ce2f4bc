"""The readings of a record that stand, each beside what its sheet says of it: what exports are made of."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from shared.errors import SettingError
from shared.job_sheet import JobSheet, load_job_sheet
from shared.record import ReadingEntry, RebuildRecord
from shared.sheet_entries import Fastener, Reading


@dataclass(frozen=True)
class StandingReading:
    """A reading and its limits, in its own unit; None is no limit."""

    reading: ReadingEntry
    place: str
    """What its position is called; empty for none."""
    nominal: Decimal | None = None
    lower: Decimal | None = None
    upper: Decimal | None = None
    uncertainty: Decimal | None = None
    """Expanded, k = 2."""

    @property
    def limited(self) -> bool:
        """Whether it has a limit."""
        return self.lower is not None or self.upper is not None

    @property
    def confirmed(self) -> str | None:
        """Its value as a plain decimal; None where it is still a question."""
        entry = self.reading
        return None if entry.needs_review or entry.value_exact is None else plain(Decimal(entry.value_exact))


def standing_readings(record: RebuildRecord, sheet: JobSheet) -> list[StandingReading]:
    """Return all standing readings of a record in its order."""
    return [_beside(reading, sheet) for reading in record.readings if reading.standing]


def sheet_of(record: RebuildRecord, named: str | None = None) -> JobSheet:
    """Return the job sheet that a record was made with.

    Args:
        record: the record.
        named: a shipped id or a path; None for the shipped one that the record names.

    Raises:
        SettingError: the record names no sheet and none was given, or it was made with another revision:
            its limits would be told wrongly.
        SheetError: no such sheet, or it is wrong in itself.
    """
    job = record.job
    if named is None and job.sheet_id is None:
        raise SettingError("the record names no job sheet", expected="--sheet with the one it was made with")
    sheet = load_job_sheet(named or str(job.sheet_id))
    wanted, given = (job.sheet_id or sheet.id, job.sheet_revision), (sheet.id, sheet.revision)
    if wanted != given:
        raise SettingError(
            f"the record was made with job sheet {_called(*wanted)}, not {_called(*given)}",
            expected="the sheet that it was made with: its limits go with the readings",
            remedy="give that one with --sheet",
        )
    return sheet


def plain(number: Decimal) -> str:
    """Return a number without an exponent, every digit kept."""
    return format(number, "f")


def _called(name: str, revision: str | None) -> str:
    return f"{name} revision {revision}" if revision else name


def _beside(reading: ReadingEntry, sheet: JobSheet) -> StandingReading:
    place = "" if reading.position is None else sheet.place_of(reading.position, reading.item)
    limits: Reading | Fastener | None = sheet.measured.get(reading.item)
    if limits is None or limits.unit != reading.unit:
        return StandingReading(reading, place)
    return StandingReading(reading, place, limits.nominal, limits.lower, limits.upper, limits.uncertainty)
