"""A record as a reviewer leaves it: what he decided about its entries, applied to it; nothing said is lost.

A correction makes an entry of its own and leaves the one that it corrects, superseded, with its words. What
follows from the entries (verdicts, deviations, what is missing) is judged again by the same rules.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from pydantic import ValidationError

from extract.completeness import missing_of
from extract.conformity import judge
from extract.deviations import deviations_of
from shared.errors import DecisionRefused
from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    DeviationEntry,
    Entry,
    Missing,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    Question,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.units import decimal_text

Kind = Literal["accepted", "corrected", "struck", "added", "disposed"]
#: What a correction may change of each kind of entry; its words, place and time stay as they were heard.
CORRECTABLE: dict[type[Entry], tuple[str, ...]] = {
    ReadingEntry: ("item", "position", "stage", "value_exact", "gauge"),
    ConditionEntry: ("part", "condition", "location"),
    PartEntry: ("part", "action", "quantity", "serial"),
    ConsumableEntry: ("name", "applied_to"),
    StepEntry: ("step", "done", "witness"),
    PhotoEntry: ("of", "stage"),
    NoteEntry: ("text",),
}
_KINDS: dict[str, type[Entry]] = {
    "reading": ReadingEntry, "condition": ConditionEntry, "part": PartEntry, "consumable": ConsumableEntry,
    "step": StepEntry, "photo": PhotoEntry, "note": NoteEntry,
}  # fmt: skip
#: The rule that a corrected entry is read by.
RULE = "review"


@dataclass(frozen=True)
class Decision:
    """What a reviewer decided about one entry or deviation."""

    number: int
    """In the order in which they were made, from 1."""
    kind: Kind
    entry: str
    """Id of the entry as extracted, a new one for one that is added, or :func:`deviation_key`."""
    fields: Mapping[str, Any]
    """What a correction changes; of an added entry its kind and itself; of a disposition what and why."""
    by: str
    at: str
    """ISO 8601 with offset."""


def nothing_besides(record: RebuildRecord) -> Sequence[DeviationEntry]:
    """Return no deviations: none but those that follow from what was said."""
    return ()


def reviewed(
    record: RebuildRecord,
    sheet: JobSheet,
    decisions: Sequence[Decision],
    besides: Callable[[RebuildRecord], Sequence[DeviationEntry]] = nothing_besides,
) -> RebuildRecord:
    """Return a record with all decisions applied, in their order; the last about an entry stands.

    Args:
        record: as extracted; it is left as it is.
        sheet: that it is checked against.
        decisions: of the reviewer.
        besides: finds deviations that follow from more than talk, in the record as corrected.

    Raises:
        DecisionRefused: about an entry that is not there, or a value that the entry cannot have.
    """
    changed = record.model_copy(deep=True)
    for decision in decisions:
        if decision.kind == "added":
            _add(changed, decision)
    last = {decision.entry: decision for decision in decisions}
    for decision in last.values():
        if decision.kind not in ("added", "disposed"):
            _apply(changed, sheet, decision)
    _judge_again(changed, record, sheet, besides)
    for decision in last.values():
        if decision.kind == "disposed":
            _dispose(changed, decision)
    return changed


def asks_about(question: Question, entry: Entry) -> bool:
    """Tell whether a decision about an entry answers a question.

    What was said not to be there made no entry; the picture that shows it did.
    """
    if question.about is not None:
        return question.about == entry.id
    return isinstance(entry, PhotoEntry) and question.evidence.rule.endswith(f": {entry.picture}")


def deviation_key(deviation: DeviationEntry) -> str:
    """Return what a deviation is known by: its number changes with what else is found."""
    if deviation.kind == "declared":
        return f"declared/{deviation.evidence.utterance}/{deviation.text}"
    about = (deviation.item, deviation.part, deviation.position, deviation.step)
    return "/".join([deviation.kind, *(name or "" for name in about)])


def kind_of(entry: Entry) -> str:
    """Return by what name an entry's kind is kept in a decision that adds it."""
    return next(name for name, kind in _KINDS.items() if isinstance(entry, kind))


def _add(record: RebuildRecord, decision: Decision) -> None:
    """Take an entry that was read later into the record; the reviewer who adds it has confirmed it."""
    kind = _KINDS.get(str(decision.fields.get("kind")))
    if kind is None or any(entry.id == decision.entry for entry in record.entries()):
        raise DecisionRefused(
            "this cannot be added", where=decision.entry, expected="an entry that is not there"
        )
    given = {**decision.fields["entry"], "id": decision.entry, "needs_review": False, "reason": None}
    entry = kind.model_validate({**given, "candidates": []})
    if isinstance(entry, ReadingEntry) and entry.value_exact is None:
        raise DecisionRefused(
            "a reading without a value was added", where=entry.id, expected="one that was understood"
        )
    entries = _entries_of(record, kind)
    entries.append(entry)


def _entries_of(record: RebuildRecord, kind: type[Entry]) -> list[Any]:
    lists: dict[type[Entry], list[Any]] = {
        ReadingEntry: record.readings, ConditionEntry: record.conditions, PartEntry: record.parts,
        ConsumableEntry: record.consumables, StepEntry: record.steps, PhotoEntry: record.photos,
        NoteEntry: record.notes,
    }  # fmt: skip
    return lists[kind]


def _apply(record: RebuildRecord, sheet: JobSheet, decision: Decision) -> None:
    entries = _list_with(record, decision.entry)
    at = next(n for n, entry in enumerate(entries) if entry.id == decision.entry)
    entry = entries[at]
    if decision.kind == "struck":
        entry.superseded_by, entry.superseded_why = f"review{decision.number}", "struck"
        answer = f"review{decision.number}"
    elif decision.kind == "accepted":
        if isinstance(entry, ReadingEntry) and entry.value_exact is None:
            raise DecisionRefused(
                "a reading without a value was accepted",
                where=entry.id,
                expected="a correction with its value",
            )
        entry.needs_review, entry.reason, entry.candidates = False, None, []
        _judge(entry, sheet)
        answer = f"review{decision.number}"
    else:
        corrected = _corrected(entry, sheet, decision)
        entries.insert(at + 1, corrected)
        entry.superseded_by, entry.superseded_why = corrected.id, "corrected"
        answer = corrected.id
    for question in record.questions:
        if asks_about(question, entry):
            question.answered_by = answer


def _corrected(entry: Entry, sheet: JobSheet, decision: Decision) -> Entry:
    allowed = CORRECTABLE[type(entry)]
    unknown = sorted(set(decision.fields) - set(allowed))
    if unknown:
        raise DecisionRefused(
            f"{unknown[0]} cannot be corrected", where=entry.id, expected=", ".join(allowed)
        )
    fields = {
        **entry.model_dump(),
        **decision.fields,
        "id": f"{entry.id}.review{decision.number}",
        "needs_review": False,
        "reason": None,
        "candidates": [],
        "superseded_by": None,
        "superseded_why": None,
    }
    fields["evidence"] = {**fields["evidence"], "rule": RULE}
    if isinstance(entry, ReadingEntry):
        fields |= _value_fields(fields, sheet, entry.id)
    try:
        corrected = type(entry).model_validate(fields)
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        name = ".".join(str(part) for part in first["loc"])
        raise DecisionRefused(
            f"{name} has value {first.get('input')!r}", where=entry.id, expected=first["msg"]
        ) from exc
    if isinstance(corrected, ConditionEntry | PartEntry):
        corrected.unlisted = corrected.part not in sheet.part_names
    _judge(corrected, sheet)
    return corrected


def _value_fields(fields: Mapping[str, Any], sheet: JobSheet, where: str) -> dict[str, Any]:
    """Return value and unit of a corrected reading: exact, in the sheet's unit."""
    measured = sheet.measured.get(fields["item"])
    if measured is None:
        raise DecisionRefused(
            f"the sheet measures no {fields['item']!r}", where=where, expected=", ".join(sheet.measured)
        )
    if fields["position"] is not None and fields["position"] not in measured.positions:
        raise DecisionRefused(
            f"{fields['item']} has no position {fields['position']!r}", where=where,
            expected=", ".join(measured.positions) or "no position",
        )  # fmt: skip
    try:
        exact = Fraction(str(fields["value_exact"]).strip())
    except (ValueError, ZeroDivisionError) as exc:
        raise DecisionRefused(
            f"{fields['value_exact']!r} is no number", where=where, expected=f"a value in {measured.unit}"
        ) from exc
    return {
        "value": float(exact), "value_exact": decimal_text(exact), "unit": measured.unit, "said_unit": None,
    }  # fmt: skip


def _judge(entry: Entry, sheet: JobSheet) -> None:
    if isinstance(entry, ReadingEntry) and entry.value_exact is not None and entry.item in sheet.measured:
        entry.verdict = judge(Fraction(entry.value_exact), sheet.measured[entry.item])


def _judge_again(
    record: RebuildRecord,
    before: RebuildRecord,
    sheet: JobSheet,
    besides: Callable[[RebuildRecord], Sequence[DeviationEntry]],
) -> None:
    declared = [one for one in record.deviations if one.kind == "declared"]
    found = deviations_of(sheet, record.readings, record.parts, record.steps, [])
    record.deviations = sorted([*found, *declared, *besides(record)], key=lambda one: one.evidence.utterance)
    for number, deviation in enumerate(record.deviations, 1):
        deviation.id = f"d{number}"
    known = {_missing_key(one): one for one in before.missing}
    missing = missing_of(sheet, record.readings, record.parts, record.steps, record.photos, {})
    # When the talk was last about it is known of what was missing before, too.
    record.missing = [
        one.model_copy(update={"moment_s": known[_missing_key(one)].moment_s})
        if _missing_key(one) in known
        else one
        for one in missing
    ]


def _missing_key(missing: Missing) -> tuple[str | None, ...]:
    return (missing.kind, missing.item, missing.of, missing.part, missing.step, missing.position)


def _dispose(record: RebuildRecord, decision: Decision) -> None:
    # A deviation that a later correction took away needs no disposition any more.
    for deviation in record.deviations:
        if deviation_key(deviation) == decision.entry:
            try:
                deviation.disposition = decision.fields.get("disposition")
            except ValidationError as exc:
                raise DecisionRefused(
                    f"there is no disposition {decision.fields.get('disposition')!r}", where=deviation.id,
                    expected="use_as_is, rework, repair or reject",
                ) from exc  # fmt: skip
            deviation.disposition_by, deviation.disposition_at = decision.by, decision.at
            deviation.disposition_why = decision.fields.get("why")


def _list_with(record: RebuildRecord, entry_id: str) -> list[Any]:
    lists: tuple[list[Any], ...] = (
        record.readings, record.conditions, record.parts, record.consumables, record.steps, record.photos,
        record.notes,
    )  # fmt: skip
    for entries in lists:
        if any(entry.id == entry_id for entry in entries):
            return entries
    raise DecisionRefused(f"the record has no entry {entry_id!r}", expected="an entry of this draft")
