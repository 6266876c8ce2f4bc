"""An invented rebuild: drawn by chance against a real job sheet, judged by the rules of real ones."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from decimal import Decimal
from random import Random

from api.invented import patterns as p
from api.invented.pumps import Visit
from api.invented.talk import ENGINE, Talk
from api.invented.values import drawn_value, drifting_value, place_words
from api.live.spoken_values import said_value
from extract.completeness import missing_of
from extract.conformity import judge
from extract.deviations import deviations_of
from shared.job_sheet import JobSheet
from shared.record import (
    Action,
    Condition,
    ConditionEntry,
    ConsumableEntry,
    Job,
    MadeBy,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.sheet_entries import Fastener, Limits, Part, Reading, Step, WantedPhoto, words_of

_FOUND: tuple[tuple[Condition, float], ...] = (
    ("good", 5), ("even_wear", 4), ("worn", 3), ("scored", 1), ("corroded", 1), ("deposits", 2),
    ("pitted", 0.5),
)  # fmt: skip
_SPOILT: tuple[Condition, ...] = ("scratched", "chipped", "scored", "cracked", "heat_checked", "deposits")
_SEAL_PARTS = frozenset({"rotating_face", "stationary_seat"})
_NOTES = ("silt packed behind the wheel", "coupling guard needs a new clip", "name plate hard to read")


class Rebuild:
    """One rebuild being drawn.

    Args:
        sheet: of the pump.
        visit: the pump on the bench.
        crew: whose shift it is.
        technician: who narrates.
        rng: its chance.
        moment: how far through the past it is, 0 to 1.
    """

    def __init__(
        self, sheet: JobSheet, visit: Visit, crew: str, technician: str, rng: Random, moment: float
    ) -> None:
        self._sheet, self._visit, self._crew, self._rng, self._moment = sheet, visit, crew, rng, moment
        self._technician = technician
        self.talk = Talk(rng, rng.uniform(14, 26))
        self._record = RebuildRecord(made_by=_MADE_BY, job=Job())

    def draw(self) -> RebuildRecord:
        """Return the record of it."""
        sheet, half = self._sheet, (len(self._sheet.steps) + 1) // 2
        self._steps(sheet.steps[:half])
        self._photos([one for one in sheet.photos if one.stage != "as_left"])
        self._conditions()
        self._readings([one for one in sheet.measured.values() if one.stage == "as_found"])
        self._decisions()
        self._consumables()
        self._readings([one for one in sheet.measured.values() if one.stage != "as_found"])
        self._steps(sheet.steps[half:])
        self._photos([one for one in sheet.photos if one.stage == "as_left"])
        if self._rng.random() < 0.2:
            text = self._rng.choice(_NOTES)
            evidence = self.talk.say(f"note {text}")
            self._record.notes.append(NoteEntry(id="n1", evidence=evidence, text=text))
        return self._judged()

    def _does(self, forgotten: float) -> bool:
        return self._rng.random() >= forgotten

    def _steps(self, steps: Iterable[Step]) -> None:
        for step in steps:
            by_crew = (self._sheet.id, step.step, self._crew) == (
                p.BY_CREW.sheet,
                p.BY_CREW.step,
                p.BY_CREW.crew,
            )
            if self._does(p.BY_CREW.share if by_crew else p.FORGOTTEN):
                entries = self._record.steps
                evidence = self.talk.say(step.spoken[0])
                witness = p.REVIEWER if step.hold else None
                entries.append(
                    StepEntry(id=f"s{len(entries) + 1}", evidence=evidence, step=step.step, witness=witness)
                )

    def _photos(self, photos: Iterable[WantedPhoto]) -> None:
        for wanted in photos:
            forgotten = p.FORGOTTEN if wanted.required else 0.6
            if (self._sheet.id, wanted.of) == (p.MORE_AND_MORE.sheet, p.MORE_AND_MORE.of):
                rise = p.MORE_AND_MORE.at_last - p.MORE_AND_MORE.at_first
                forgotten = p.MORE_AND_MORE.at_first + rise * self._moment
            if self._does(forgotten):
                entries = self._record.photos
                evidence = self.talk.say(f"snapshot of the {wanted.spoken[0]}")
                entries.append(
                    PhotoEntry(
                        id=f"p{len(entries) + 1}", evidence=evidence, of=wanted.of, stage=wanted.stage,
                        picture=f"pictures/{wanted.of}-{len(entries) + 1}.jpg",
                    )
                )  # fmt: skip

    def _conditions(self) -> None:
        for part in self._sheet.parts:
            found = self._found(part)
            if found is not None:
                entries = self._record.conditions
                evidence = self.talk.say(f"the {part.spoken[0]} is {words_of(found)}")
                entries.append(
                    ConditionEntry(
                        id=f"c{len(entries) + 1}", evidence=evidence, part=part.part, condition=found
                    )
                )

    def _found(self, part: Part) -> Condition | None:
        """Return what a part was found like; None where nobody spoke of it."""
        rng, tag = self._rng, self._visit.pump_tag
        if (tag, part.part) == (p.REPEAT.pump_tag, p.REPEAT.part) and rng.random() < p.REPEAT.share:
            return "heat_checked"
        if (tag, part.part) == (p.TWICE.pump_tag, p.TWICE.part):
            # Its second and its fifth visit.
            return {2: p.TWICE.conditions[0], 5: p.TWICE.conditions[1]}.get(self._visit.number, "good")  # type: ignore[return-value]
        if part.part in _SEAL_PARTS:
            return rng.choice(_SPOILT) if rng.random() < p.SPOILT else "even_wear"
        if rng.random() < 0.25:
            return rng.choices([one for one, _ in _FOUND], [weight for _, weight in _FOUND])[0]
        return None

    def _decisions(self) -> None:
        for part in self._sheet.parts:
            if not part.decide or not self._does(p.FORGOTTEN):
                continue
            new = {"renew": 0.985, "inspect": 0.25, "reuse": 0.02}[part.policy]
            action: Action = "renewed" if self._rng.random() < new else "reused"
            quantity = part.quantity if action == "renewed" else None
            bearing = action == "renewed" and "bearing" in part.part
            entries = self._record.parts
            entries.append(
                PartEntry(
                    id=f"a{len(entries) + 1}", part=part.part, action=action, quantity=quantity,
                    serial=f"L{self._rng.randrange(10_000, 99_999)}" if bearing else None,
                    evidence=self.talk.say(f"{part.spoken[0]} {'renewed' if quantity else 'back in'}"),
                )
            )  # fmt: skip

    def _consumables(self) -> None:
        for consumable in self._sheet.consumables:
            if self._rng.random() < 0.7:
                applied = self._rng.choice(consumable.for_) if consumable.for_ else None
                words = (
                    f"{consumable.spoken[0]} on the {words_of(applied)}" if applied else consumable.spoken[0]
                )
                entries = self._record.consumables
                entries.append(
                    ConsumableEntry.model_validate(
                        {
                            "id": f"k{len(entries) + 1}", "name": consumable.name, "applied_to": applied,
                            "evidence": self.talk.say(words),
                        }
                    )
                )  # fmt: skip

    def _readings(self, items: Iterable[Reading | Fastener]) -> None:
        for item in items:
            for position in item.positions or (None,):
                if self._does(p.FORGOTTEN if item.required else 0.5):
                    self._measure(item, position)

    def _measure(self, item: Reading | Fastener, position: str | None) -> None:
        wrong = (self._sheet.id, item.item) == (p.SAID_WRONG.sheet, p.SAID_WRONG.item)
        value = self._value(item, item.item, position)
        said = f"{item.spoken[0]}{place_words(self._sheet, item.item, position)}"
        if self._rng.random() < (p.SAID_WRONG.share if wrong else p.PUT_RIGHT):
            first = self._reading(item, position, drawn_value(item, self._rng, missed=p.MISSED), said)
            put_right = self._reading(item, position, value, f"correction {said}")
            first.superseded_by, first.superseded_why = put_right.id, "corrected"
        else:
            self._reading(item, position, value, said)

    def _reading(
        self, item: Reading | Fastener, position: str | None, value: Decimal, said: str
    ) -> ReadingEntry:
        exact = f"{value:f}"
        said = f"{said} {said_value(self._sheet, exact, item.unit)}"
        entries = self._record.readings
        entries.append(
            ReadingEntry(
                id=f"r{len(entries) + 1}", item=item.item, position=position, stage=item.stage,
                value=float(value), value_exact=exact, unit=item.unit, verdict=judge(value, item),
                gauge=item.gauge, evidence=self.talk.say(said),
            )
        )  # fmt: skip
        return entries[-1]

    def _value(self, limits: Limits, item: str, position: str | None) -> Decimal:
        here = (self._visit.pump_tag, item, position)
        if here == (p.DRIFT.pump_tag, p.DRIFT.item, p.DRIFT.position):
            moved = p.DRIFT.new + p.DRIFT.per_1000_hours * self._visit.running_hours / 1000
            return drifting_value(limits, self._rng, moved=moved, scatter=p.DRIFT.scatter)
        if here == (p.SCATTER.pump_tag, p.SCATTER.item, p.SCATTER.position):
            return drifting_value(limits, self._rng, moved=0.0, scatter=p.SCATTER.scatter)
        missed = (self._sheet.id, item) == (p.LIMIT.sheet, p.LIMIT.item)
        return drawn_value(limits, self._rng, missed=p.LIMIT.share if missed else p.MISSED)

    def _judged(self) -> RebuildRecord:
        """Return the record with what follows from its entries, by the rules that real ones are judged by."""
        record, visit = self._record, self._visit
        record.job = Job(
            work_order=f"WO {visit.at:%y%m}{visit.pump_tag[2:]}", pump_tag=visit.pump_tag,
            pump_type=visit.sheet_id, pump_serial=visit.pump_serial, technician=self._technician,
            sheet_id=self._sheet.id, sheet_revision=self._sheet.revision,
            started=visit.at.isoformat(timespec="seconds"),
            ended=(visit.at + timedelta(seconds=round(self.talk.at_s))).isoformat(timespec="seconds"),
        )  # fmt: skip
        record.deviations = deviations_of(self._sheet, record.readings, record.parts, record.steps, [])
        for deviation in record.deviations:
            if self._rng.random() < 0.9:
                deviation.disposition = self._rng.choice(("use_as_is", "rework"))
                deviation.disposition_by, deviation.disposition_why = p.REVIEWER, "looked at on the bench"
                deviation.disposition_at = record.job.ended
        record.missing = missing_of(
            self._sheet, record.readings, record.parts, record.steps, record.photos, {}
        )
        return record


_MADE_BY = MadeBy(version="0", engine=ENGINE, model="drawn by chance")
