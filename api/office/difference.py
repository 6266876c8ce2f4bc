"""What a newer draft reads otherwise than the one under review, entry by entry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from api.live.board import Line, line_of
from extract.reviewing import CORRECTABLE
from shared.job_sheet import JobSheet
from shared.record import Entry, RebuildRecord

Kind = Literal["new", "gone", "changed"]


@dataclass(frozen=True)
class Difference:
    """One entry that is not the same in both drafts."""

    kind: Kind
    before: Entry | None
    """As the draft under review has it."""
    after: Entry | None
    """As the newer one has it."""

    @property
    def key(self) -> str:
        """What it is known by: ids are those of each draft."""
        return f"{self.before.id if self.before else ''}>{self.after.id if self.after else ''}"


@dataclass(frozen=True)
class DifferenceRow:
    """One as it is shown."""

    key: str
    kind: Kind
    before: Line | None
    after: Line | None
    decided: str
    """What was decided about the entry under review, which stays until something else is decided."""
    taken: bool
    """It was taken over already."""
    can_be_taken: bool


def differences(before: RebuildRecord, after: RebuildRecord) -> list[Difference]:
    """Return where two records of the same talk differ in what stands.

    Args:
        before: as extracted, of the draft under review.
        after: as extracted, of a newer draft.
    """
    left = [entry for entry in after.entries() if entry.standing]
    gone: list[Entry] = []
    for old in (entry for entry in before.entries() if entry.standing):
        same = next((new for new in left if _said(new) == _said(old) and _says(new) == _says(old)), None)
        if same is not None:
            left.remove(same)
        else:
            gone.append(old)
    found: list[Difference] = []
    for old in gone:
        # Of what was said in the same breath the one about the same thing, else the first of that kind.
        likely = [new for new in left if _said(new) == _said(old)]
        new = next((one for one in likely if _about(one) == _about(old)), likely[0] if likely else None)
        if new is not None:
            left.remove(new)
        found.append(Difference("changed" if new else "gone", old, new))
    found += [Difference("new", None, new) for new in left]
    return sorted(found, key=_moment)


def rows_of(
    found: list[Difference],
    sheet: JobSheet,
    decided: Mapping[str, str],
    newer: int,
    read_by: JobSheet | None = None,
) -> list[DifferenceRow]:
    """Return differences as they are shown.

    Args:
        found: the differences.
        sheet: of the job.
        decided: by id of an entry under review, what was decided last, in words.
        newer: number of the newer draft.
        read_by: the sheet that the newer draft was read by; None for the job's.
    """
    return [_row(one, sheet, read_by or sheet, decided, newer) for one in found]


def added_id(newer: int, entry: Entry) -> str:
    """Return the id under which an entry of a newer draft comes into the record."""
    return f"draft{newer}.{entry.id}"


def fields_of(entry: Entry) -> dict[str, Any]:
    """Return what a correction to an entry takes from it."""
    return {name: getattr(entry, name) for name in CORRECTABLE[type(entry)]}


def _row(
    one: Difference, sheet: JobSheet, read_by: JobSheet, decided: Mapping[str, str], newer: int
) -> DifferenceRow:
    known = one.before.id if one.before else added_id(newer, one.after) if one.after else ""
    words = decided.get(known, "")
    valueless = one.after is not None and getattr(one.after, "value_exact", "") is None
    return DifferenceRow(
        key=one.key, kind=one.kind,
        before=line_of(one.before, sheet) if one.before else None,
        after=line_of(one.after, read_by) if one.after else None,
        decided=words, taken=one.before is None and bool(words), can_be_taken=not valueless,
    )  # fmt: skip


def same_words(before: Entry, after: Entry) -> bool:
    """Tell whether two entries of the same talk say the same of the same thing; their verdicts may differ."""
    same = (_said(before), _about(before)) == (_said(after), _about(after))
    return same and fields_of(before) == fields_of(after)


def _said(entry: Entry) -> tuple[str, str, int, float]:
    evidence = entry.evidence
    picture = str(getattr(entry, "picture", ""))
    return type(entry).__name__ + picture, evidence.recording, evidence.utterance, evidence.start_s


def _about(entry: Entry) -> tuple[Any, ...]:
    return tuple(getattr(entry, name, None) for name in ("item", "position", "part", "step", "name", "of"))


def _says(entry: Entry) -> tuple[Any, ...]:
    return (*fields_of(entry).values(), entry.needs_review)


def _moment(one: Difference) -> tuple[str, float]:
    entry = one.before or one.after
    assert entry is not None, "one of them is there"
    return entry.evidence.recording, entry.evidence.start_s
