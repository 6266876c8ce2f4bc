"""A built record against one written by hand: totals of what was right, asked, missed, silently wrong.

The rules of comparison are those of ``fixtures/README.md``. Nothing here keeps or prints a word of what
was said, so that jobs nobody tunes to can be scored without being read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry, RebuildRecord

Expected = Mapping[str, Any]
Key = tuple[Any, ...]
#: What is compared of an entry besides readings, by the record's list.
_KEYS = {
    "conditions": ("part", "condition", "superseded_why"),
    "parts": ("part", "action", "superseded_why"),
    "consumables": ("name", "applied_to"),
    "steps": ("step", "done"),
}
#: Fields of a reading, each with those that must be right before it.
_READING_FIELDS = {
    "item": ("item",),
    "position": ("item", "position"),
    "stage": ("item", "position", "stage"),
    "value": ("item", "position", "value"),
}


@dataclass
class Counts:
    """Things expected, things given, and those that are both."""

    wanted: int = 0
    given: int = 0
    right: int = 0

    def add(self, other: Counts) -> None:
        """Add another's counts."""
        self.wanted, self.given, self.right = (
            self.wanted + other.wanted, self.given + other.given, self.right + other.right,
        )  # fmt: skip

    def figures(self) -> dict[str, float | None]:
        """Return precision, recall and F1; None where there was nothing."""
        precision = self.right / self.given if self.given else None
        recall = self.right / self.wanted if self.wanted else None
        both = (precision or 0.0) + (recall or 0.0)
        f1 = 2 * (precision or 0.0) * (recall or 0.0) / both if both else None
        return {"precision": precision, "recall": recall, "f1": f1}


@dataclass
class Totals:
    """Counts over whole jobs."""

    utterances: int = 0
    exact: int = 0
    readings: int = 0
    right: int = 0
    asked: int = 0
    """Sure readings of the label that became questions."""
    missed: int = 0
    silently_wrong: int = 0
    sure_given: int = 0
    questions: int = 0
    needless: int = 0
    """Questions about readings that the label does not ask about."""
    chatter: int = 0
    chatter_entries: int = 0
    fields: dict[str, Counts] = field(default_factory=dict)
    findings: Counts = field(default_factory=Counts)
    """Conditions and part decisions together."""

    def add(self, other: Totals) -> None:
        """Add another job's totals."""
        for name, value in vars(other).items():
            mine = getattr(self, name)
            if isinstance(value, int):
                setattr(self, name, mine + value)
            elif isinstance(value, Counts):
                mine.add(value)
            else:
                for key, counts in value.items():
                    mine.setdefault(key, Counts()).add(counts)


def score_record(
    builder: RecordBuilder, expected: Expected, utterance_of: Callable[[str], int], utterances: int
) -> Totals:
    """Score a record that was built of ``utterances`` utterances.

    Args:
        builder: after the last utterance.
        expected: the record written by hand.
        utterance_of: number of the utterance that a snippet stands in.
    """
    record = builder.record()
    totals = Totals(utterances=utterances)
    off: set[int] = set()
    _score_readings(totals, record, expected, utterance_of, off)
    for kind, keys in _KEYS.items():
        wanted = [
            (_wanted_key(kind, keys, entry, utterance_of(entry["words"])), bool(entry.get("may")))
            for entry in expected.get(kind, ())
        ]
        given = [_given_key(keys, entry) for entry in getattr(record, kind)]
        counts = _match(wanted, given, off)
        totals.fields.setdefault(kind, Counts()).add(counts)
        if kind in ("conditions", "parts"):
            totals.findings.add(counts)
    events = [
        ((utterance_of(e["words"]), e["event"]), bool(e.get("may"))) for e in expected.get("events", ())
    ]
    totals.fields.setdefault("events", Counts()).add(
        _match(events, [(e.evidence.utterance, e.event) for e in record.events], off)
    )
    _score_silence(totals, builder, record, expected, utterance_of, off)
    totals.exact = utterances - len(off)
    return totals


def _wanted_key(kind: str, keys: Sequence[str], entry: Expected, at: int) -> Key:
    values = {**entry, "superseded_why": entry.get("superseded")}
    if kind == "steps":
        values.setdefault("done", True)
    return (at, *(values.get(key) for key in keys), _asked(entry))


def _given_key(keys: Sequence[str], entry: Any) -> Key:
    asked = entry.needs_review and not getattr(entry, "unlisted", False)
    return (entry.evidence.utterance, *(getattr(entry, key) for key in keys), asked)


def _asked(entry: Expected) -> bool:
    return bool(entry.get("needs_review")) and not entry.get("unlisted")


def _match(wanted: Iterable[tuple[Key, bool]], given: Iterable[Key], off: set[int]) -> Counts:
    """Match keys, each once; those that may be there count for nothing. ``off`` gathers their utterances."""
    left = Counter(given)
    counts = Counts()
    for key, may in sorted(wanted, key=lambda pair: pair[1]):
        hit = left[key] > 0
        left[key] -= hit
        if may:
            continue
        counts.wanted += 1
        counts.right += hit
        counts.given += hit
        if not hit:
            off.add(key[0])
    for key, number in left.items():
        counts.given += number
        if number:
            off.add(key[0])
    return counts


# -- readings ----------------------------------------------------------------------------------


def _same(wanted: Expected, got: ReadingEntry) -> bool:
    value = wanted.get("value")
    if value == "any":
        return True
    if value is None or got.value_exact is None:
        return value is None and got.value_exact is None
    exact, given = Fraction(str(value)), Fraction(got.value_exact)
    return abs(given - exact) <= Fraction(1, 10**9) * abs(exact)


def _has(wanted: Expected, got: ReadingEntry, names: Iterable[str]) -> bool:
    return all(
        _same(wanted, got) if name == "value" else getattr(got, name) == wanted.get(name) for name in names
    )


def _score_readings(
    totals: Totals,
    record: RebuildRecord,
    expected: Expected,
    utterance_of: Callable[[str], int],
    off: set[int],
) -> None:
    left = list(record.readings)
    for wanted in sorted(expected.get("readings", ()), key=lambda e: bool(e.get("may"))):
        at = utterance_of(wanted["words"])
        here = [got for got in left if got.evidence.utterance == at]
        _count_fields(totals, wanted, here)
        hit = next(
            (g for g in here if _has(wanted, g, ("item", "position", "stage", "value"))
             and g.needs_review == bool(wanted.get("needs_review"))), None,
        )  # fmt: skip
        asked = next((g for g in here if g.needs_review and g.item == wanted["item"]), None)
        _count_reading(totals, wanted, hit, asked, at, off)
        taken = hit or asked
        if taken is not None:
            left.remove(taken)
    totals.sure_given = sum(not got.needs_review for got in record.readings)
    totals.questions = sum(got.needs_review for got in record.readings)
    for got in left:
        off.add(got.evidence.utterance)
        totals.needless += got.needs_review
        totals.silently_wrong += not got.needs_review
    given = Counts(given=len(record.readings))
    for name in _READING_FIELDS:
        totals.fields.setdefault(f"reading {name}", Counts()).add(given)


def _count_fields(totals: Totals, wanted: Expected, here: Sequence[ReadingEntry]) -> None:
    for name, names in _READING_FIELDS.items():
        counts = totals.fields.setdefault(f"reading {name}", Counts())
        counts.wanted += not wanted.get("may")
        counts.right += any(_has(wanted, got, names) for got in here)


def _count_reading(
    totals: Totals,
    wanted: Expected,
    hit: ReadingEntry | None,
    asked: ReadingEntry | None,
    at: int,
    off: set[int],
) -> None:
    if wanted.get("may"):
        return
    ordered = wanted.get("superseded") == (hit.superseded_why if hit is not None else None)
    if (hit is None and not (wanted.get("needs_review") and asked is not None)) or not ordered:
        off.add(at)
    if wanted.get("needs_review"):
        return
    totals.readings += 1
    totals.right += hit is not None
    totals.asked += hit is None and asked is not None
    totals.needless += hit is None and asked is not None
    totals.missed += hit is None and asked is None


def _score_silence(
    totals: Totals,
    builder: RecordBuilder,
    record: RebuildRecord,
    expected: Expected,
    utterance_of: Callable[[str], int],
    off: set[int],
) -> None:
    groups = (
        record.readings, record.conditions, record.parts, record.consumables, record.steps, record.notes,
        record.unfiled_numbers,
    )  # fmt: skip
    spoken_of = {entry.evidence.utterance for group in groups for entry in group}
    for kind in ("chatter", "paused"):
        for words in expected.get(kind, ()):
            at = utterance_of(words)
            totals.chatter += 1
            totals.chatter_entries += at in spoken_of
            if builder.talk_of(at) != kind or at in spoken_of:
                off.add(at)
