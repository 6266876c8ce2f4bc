"""Comparing a built record with one written by hand (rules: ``fixtures/README.md``).

Each rule of the README is one method; each gives lines that say what differs, none where all is well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from extract.record_builder import RecordBuilder
from fixtures.narration_files import Line
from shared.record import RebuildRecord
from shared.speech import Utterance

Expected = dict[str, Any]


def told(sheet: Any, lines: Sequence[Line]) -> RecordBuilder:
    """Tell a narration to a new builder, three seconds an utterance and its pause after it."""
    builder = RecordBuilder(sheet)
    now_s = 0.0
    for line in lines:
        builder.hear(Utterance(line.text, now_s, now_s + 3.0))
        now_s += 3.0 + line.pause_s
    return builder


def same_value(wanted: str, got: str | None) -> bool:
    """Whether two decimal texts are one number, to a part in 10⁹."""
    if got is None:
        return False
    return abs(Fraction(got) - Fraction(wanted)) <= Fraction(1, 10**9) * abs(Fraction(wanted))


@dataclass
class Comparison:
    """One record against its expected record."""

    builder: RecordBuilder
    expected: Expected
    utterance_of: Callable[[str], int]
    texts: Sequence[str]
    record: RebuildRecord = field(init=False)
    differences: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.record = self.builder.record()
        self._job()
        self._entries("readings", ("item", "position", "stage"), self._reading)
        self._entries("conditions", ("part", "condition"), self._condition)
        self._entries("parts", ("part", "action"), self._part)
        self._entries("consumables", ("name", "applied_to"), lambda wanted, got: True)
        self._entries("steps", ("step",), self._step)
        self._events()
        self._deviations()
        self._missing()
        self._questions()
        self._unfiled()
        self._silence("chatter")
        self._silence("paused")

    def _say(self, kind: str, what: object) -> None:
        self.differences.append(f"{kind}: {what}")

    def _job(self) -> None:
        def plain(text: object) -> str:
            return str(text).replace(" ", "").replace("-", "").lower()

        for name, value in self.expected.get("job", {}).items():
            if plain(getattr(self.record.job, name)) != plain(value):
                self._say("job", (name, value, getattr(self.record.job, name)))

    def _entries(self, kind: str, keys: tuple[str, ...], right: Callable[[Expected, Any], bool]) -> None:
        left = list(getattr(self.record, kind))
        for wanted in sorted(self.expected.get(kind, []), key=lambda e: bool(e.get("may"))):
            at = self.utterance_of(wanted["words"])
            hits = [
                got
                for got in left
                if got.evidence.utterance == at
                and all(getattr(got, key) == wanted.get(key) for key in keys)
                and _standing_as(wanted, got)
                and right(wanted, got)
            ]
            if hits:
                left.remove(hits[0])
            elif not wanted.get("may"):
                self._say(f"{kind} missing", wanted)
        for got in left:
            self._say(f"{kind} extra", got.model_dump(exclude_defaults=True))

    def _reading(self, wanted: Expected, got: Any) -> bool:
        if got.unit != wanted["unit"] or got.verdict != wanted["verdict"]:
            return False
        offered = [candidate.value_exact for candidate in got.candidates]
        if not all(any(same_value(str(c), o) for o in offered) for c in wanted.get("candidates", [])):
            return False
        if wanted["value"] is None:
            return got.value is None
        return wanted["value"] == "any" or same_value(str(wanted["value"]), got.value_exact)

    def _condition(self, wanted: Expected, got: Any) -> bool:
        if bool(wanted.get("unlisted")) != got.unlisted:
            return False
        place = wanted.get("location")
        if place is None:
            return True
        filed = (got.location or "").lower()
        return bool(filed) and (place.lower() in filed or filed in place.lower())

    def _part(self, wanted: Expected, got: Any) -> bool:
        if bool(wanted.get("unlisted")) != got.unlisted:
            return False
        return "quantity" not in wanted or got.quantity == wanted["quantity"]

    def _step(self, wanted: Expected, got: Any) -> bool:
        return got.done == wanted.get("done", True) and got.witness == wanted.get("witness")

    def _events(self) -> None:
        self._multiset(
            "events",
            [
                (e["event"], e.get("part"), self.utterance_of(e["words"]))
                for e in self.expected.get("events", [])
            ],
            [(e.event, e.part, e.evidence.utterance) for e in self.record.events],
        )

    def _deviations(self) -> None:
        self._multiset(
            "deviations",
            [_deviation(d) for d in self.expected.get("deviations", []) if not d.get("may")],
            [(d.kind, d.item, d.part, d.position) for d in self.record.deviations],
            {_deviation(d) for d in self.expected.get("deviations", []) if d.get("may")},
        )

    def _missing(self) -> None:
        if "missing" not in self.expected:
            return
        wanted = self.expected["missing"]
        self._multiset(
            "missing",
            [_lack(m) for m in wanted if not m.get("may")],
            [(m.kind, m.item, m.part, m.step, m.position) for m in self.record.missing if m.kind != "photo"],
            {_lack(m) for m in wanted if m.get("may")},
        )
        self._multiset(
            "missing photos",
            self.expected["missing_photos"]["without_pictures"],
            [m.of for m in self.record.missing if m.kind == "photo"],
        )

    def _multiset(self, kind: str, wanted: list[Any], got: list[Any], may: Iterable[Any] = ()) -> None:
        left = list(got)
        for each in wanted:
            if each in left:
                left.remove(each)
            else:
                self._say(f"{kind} missing", each)
        for each in left:
            if each not in may:
                self._say(f"{kind} extra", each)

    def _questions(self) -> None:
        record = self.record
        entries = [*record.readings, *record.conditions, *record.parts, *record.steps, *record.consumables]
        named = {e.id: getattr(e, "item", None) or getattr(e, "part", None) for e in entries}
        about = [named.get(question.about) for question in record.questions]
        for wanted in self.expected.get("questions", []):
            if wanted["about"] not in about and not wanted.get("may"):
                self._say("question missing", wanted)

    def _unfiled(self) -> None:
        left = [(n.value, n.evidence.utterance) for n in self.record.unfiled_numbers]
        for wanted in self.expected.get("unfiled_numbers", []):
            at = self.utterance_of(wanted["words"])
            hits = [
                n for n in left if n[1] == at and n[0] is not None and same_value(wanted["value"], str(n[0]))
            ]
            if hits:
                left.remove(hits[0])
            elif not wanted.get("may"):
                self._say("unfiled number missing", wanted)

    def _silence(self, kind: str) -> None:
        printed = self.record.to_json()
        for words in self.expected.get(kind, []):
            at = self.utterance_of(words)
            if self.builder.talk_of(at) != kind:
                self._say(f"taken for {self.builder.talk_of(at)}", words)
            if self.texts[at] in printed or _stands_on(self.record, at):
                self._say(f"{kind} in the record", words)


def _stands_on(record: RebuildRecord, utterance: int) -> bool:
    groups = (
        record.readings, record.conditions, record.parts, record.consumables, record.steps, record.notes,
        record.unfiled_numbers,
    )  # fmt: skip
    return any(entry.evidence.utterance == utterance for group in groups for entry in group)


def _standing_as(wanted: Expected, got: Any) -> bool:
    return (
        got.superseded_why == wanted.get("superseded")
        and ("needs_review" not in wanted or bool(wanted["needs_review"]) == got.needs_review)
        and (not got.needs_review or "needs_review" in wanted or bool(wanted.get("unlisted")))
    )


def _deviation(wanted: Expected) -> tuple[Any, ...]:
    return wanted["kind"], wanted.get("item"), wanted.get("part"), wanted.get("position")


def _lack(wanted: Expected) -> tuple[Any, ...]:
    return wanted["kind"], wanted.get("item"), wanted.get("part"), wanted.get("step"), wanted.get("position")
