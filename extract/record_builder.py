"""Utterances and photos in, a rebuild record out.

One builder works one rebuild. What it files depends on the utterances alone, in their order; the
record can be asked for at any time and as often as wanted.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from extract.answering import Answering, Asked
from extract.breaths import breaths
from extract.commands import Command, read_commands
from extract.completeness import missing_of
from extract.decisions import lone_lots
from extract.denied_marks import Denial, denials_of
from extract.deviations import Declared, deviations_of
from extract.face_contradictions import face_questions
from extract.filing import Filing
from extract.gauges import read_gauge
from extract.heard import Heard, prepare
from extract.job_header import Header, heard_otherwise, read_header
from extract.job_talk import Gathered, Standing, has_shop_unit, judge_talk, may_be_meant
from extract.kept_words import open_part
from extract.learnt_talk import LearntTalk, read_learnt
from extract.ledger import Ledger
from extract.lost_numbers import LostNumbers
from extract.made_by import made_by
from extract.moments import Moments
from extract.observer import NOBODY, Observer
from extract.other_hearings import ask_where_hearings_differ
from extract.part_talk import PartTalk, read_part_talk
from extract.paused_talk import MARK
from extract.pauses import Pauses
from extract.photo_talk import photo_entries
from extract.pipeline import pipeline_of
from extract.questions import questions_of
from extract.reading_drafts import ReadingTalk
from extract.readings import ReadingRoom
from extract.recogniser import recogniser
from extract.remarks import header_questions, read_declared, read_notes
from extract.restored import asks_to_restore, restore_struck
from extract.stages import end_runs, remember_stages
from extract.talk_context import SaidOfPart, TalkContext
from extract.utterance_findings import Findings, gather
from shared.job_sheet import JobSheet, load_job_sheet
from shared.photo import Photo
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    Job,
    NoteEntry,
    PartEntry,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
    UnfiledNumber,
)
from shared.speech import Utterance


class RecordBuilder:
    """Builds the record of one rebuild.

    Args:
        sheet: the job sheet, its path, or the id of a shipped one.
        job: what is known of the job before anybody speaks; what is said fills the rest.
        confidence_least: below it a reading is a question.
        job_score_least: below it an utterance counts as chatter.
        observer: looks on while utterances are read; changes nothing.
        learnt: whether the trained recogniser is asked where the rules leave words unexplained.
        asks: whether questions are put aloud as they arise, so that the next words may answer them.

    Raises:
        SheetNotFound: no such sheet.
        SheetInvalid: a sheet that cannot be worked by.
    """

    def __init__(
        self,
        sheet: JobSheet | str | Path,
        job: Job | Mapping[str, Any] | None = None,
        *,
        confidence_least: float = 0.5,
        job_score_least: float = 0.0,
        observer: Observer = NOBODY,
        learnt: bool = True,
        asks: bool = False,
    ) -> None:
        self.sheet = sheet if isinstance(sheet, JobSheet) else load_job_sheet(sheet)
        given = job if isinstance(job, Job) else Job.model_validate(job or {})
        self._given = given
        self._header: dict[str, str] = {}
        self._observer = observer
        self._recogniser = recogniser() if learnt else None  # loaded now: no first strange word shall wait
        self._job_score_least = job_score_least
        self._pipeline = pipeline_of(self.sheet)
        self._readings = ReadingRoom(self.sheet, self._pipeline, confidence_least)
        self._context = TalkContext()
        self._ledger = Ledger()
        self._filing = Filing(self.sheet, self._ledger)
        self._asks = asks
        self._answering = Answering(self.sheet, self._ledger, self._filing, confidence_least)
        self._talk: list[str] = []
        self._open_words: list[list[str]] = []
        self._kept: list[Utterance] = []
        self._pauses = Pauses(self.sheet, self._pipeline, self._readings, job_score_least)
        self._kept_otherwise = ""
        self._lost = LostNumbers(self.sheet, job_score_least)
        self._photos: dict[tuple[object, ...], Photo] = {}
        self._denials: list[Denial] = []
        self._moments = Moments()
        self._declared: list[Declared] = []
        self._unfiled: list[UnfiledNumber] = []
        self._engine = ""

    # -- hearing -------------------------------------------------------------------------------

    def hear(self, utterance: Utterance) -> list[Entry]:
        """Take in what was said next; return the entries that are new or changed by it."""
        number = len(self._talk)
        self._ledger.now = number
        self._talk.append("paused" if self._pauses.on else "chatter")
        self._open_words.append([])
        self._engine = self._engine or utterance.engine
        self._ledger.changed.clear()
        self._kept_otherwise = ""
        for piece in [] if self._answered(number, utterance) else breaths(utterance.text):
            rest: Heard | None = prepare(self._pipeline, number, utterance, piece)
            while rest is not None and rest.tokens:
                rest = self._resume(rest) if self._pauses.on else self._take_in(rest)
        self._kept.append(open_part(utterance, self._open_words[-1], self._kept_otherwise))
        entries = self._ledger.take_changed()
        if self._asks and self._talk[-1] == "job":
            self._answering.put([entry.id for entry in entries], utterance)
        self._observer.done(utterance, self._talk[-1], entries)
        return entries

    def _answered(self, number: int, utterance: Utterance) -> bool:
        """Settle the question that was put, or undo a strike, where the utterance says so; tell whether."""
        restores = asks_to_restore(utterance.text)
        if self._pauses.on or not (restores or self._answering.asked):
            return False
        heard = prepare(self._pipeline, number, utterance)
        done = restores
        if restores:
            restore_struck(self._ledger, number)
        elif heard.tokens:
            done = self._answering.take(heard, number > 0 and self._talk[-2] == "chatter") is not None
        if done:
            self._observer.heard(heard, False)
            self._count_as("command", utterance.text)
        return done

    def _resume(self, heard: Heard) -> Heard | None:
        """End a pause where the words say so; return what is said after them."""
        self._observer.heard(heard, True)
        ended = self._pauses.end_by(heard)
        if ended is None:
            if not self._open_words[-1] and self._pauses.hear(heard):
                self._kept_otherwise = MARK
            return None
        self._file_event(ended.heard, ended.command)
        if not ended.otherwise:
            return self._after(heard, ended.command)
        self._count_as("command", "")
        self._kept_otherwise = ended.heard.words(ended.command.start, ended.command.end)
        return None

    def _take_in(self, heard: Heard) -> Heard | None:
        """File what is said before the next pause; return what is said in it."""
        commands = read_commands(heard, self._context)
        pause = next((c for c in commands if c.event == "pause"), None)
        if pause is None:
            self._read(heard, commands)
            return None
        text = heard.words(0, pause.start)
        if text.strip():
            earlier = prepare(self._pipeline, heard.number, heard.utterance, text)
            self._read(earlier, [c for c in commands if c.start < pause.start])
        self._file_event(heard, pause)
        self._pauses.begin()
        self._answering.drop()
        return self._after(heard, pause)

    def _after(self, heard: Heard, command: Command) -> Heard:
        """Return what is said behind a pause or its end, of which only the command's words stay."""
        self._count_as("command", heard.words(command.start, command.end))
        rest = heard.words(command.end, len(heard.tokens))
        return prepare(self._pipeline, heard.number, heard.utterance, rest)

    def _count_as(self, talk: str, words: str) -> None:
        """Count the utterance as job talk or a command; these of its words may be kept."""
        self._talk[-1] = "job" if "job" in (talk, self._talk[-1]) else talk
        self._open_words[-1].append(words)

    def _read(self, heard: Heard, commands: list[Command]) -> None:
        """Read one utterance and file what it gives, if it is talk of the job."""
        self._observer.heard(heard, False)
        self._observer.before(self._context, commands)
        end_runs(self._context, heard)
        context = self._context.copy()
        parts = read_part_talk(self.sheet, heard, context)
        readings = self._readings.read(heard, context, self._ledger, self._observer)
        ask_where_hearings_differ(
            self._pipeline, self._readings, heard, self._context, self._ledger, readings
        )
        self._observer.doubted("what else the ear heard, or words that sound alike", readings.drafts)
        findings = gather(self.sheet, heard, parts, readings, context)
        if heard.mentions.cues("declared"):
            findings.conditions = [
                d for d in findings.conditions if not self._ledger.has_condition(d.part, d.condition)
            ]
        header = self._read_header(heard, findings.serial_taken)
        notes = [*read_notes(heard), *lone_lots(heard, parts, findings.parts), *header_questions(header)]
        declared = read_declared(self.sheet, heard, parts, context, self._ledger.last_reading())
        gauges = read_gauge(self.sheet, heard)
        learnt = read_learnt(heard, parts, readings) if self._recogniser else LearntTalk()
        count = (
            len(findings)
            + (learnt.telling if "job" in self._talk[-3:-1] else 0)
            + len(commands)
            + len(notes)
            + len(declared)
            + len(gauges)
            + (0 if header.empty else 1)
        )
        said = sum(1 for draft in readings.drafts if may_be_meant(draft))
        self._observer.read(heard, parts, findings, readings)
        judged = judge_talk(
            heard,
            Gathered(count, said, readings.about_item, has_shop_unit(n.quantity for n in readings.loose)),
            self._job_score_least,
        )
        self._observer.judged(judged)
        if judged.standing != "job":
            self._ask_whether_meant(heard, readings, judged.standing)
            if parts.focus is not None and parts.focus.unlisted:
                # "Sleeve mic'd thirty four point nine" gives nothing; "it" is the sleeve from here on.
                self._context.name_parts(parts.focus.parts, unlisted=True)
            return
        learnt.add_to(parts, findings, notes)
        asked = self._lost.in_job_talk(heard, readings, self._context, self._ledger)
        findings.readings = [*findings.readings, *asked]
        only_commands = commands and not len(findings) and header.empty
        self._count_as("command" if only_commands else "job", heard.utterance.text)
        context.asked_last = heard.asks_figure
        context.pictured_last = any(c.event == "snapshot" for c in commands)
        self._remember(context, heard, parts, gauges, header, readings)
        replacing = {
            c for c in commands if c.event == "strike_last" and self._filing.replaces_last(findings, c)
        }
        orders = [c for c in commands if c not in replacing]
        striking = any(c.event == "strike_last" for c in orders)
        filed = self._filing.file(heard, findings, notes, context, striking)
        self._file_commands(heard, orders, filed)
        self._declared += [
            (d.item, d.part, d.position, self._filing.evidence(heard, d.rule)) for d in declared
        ]
        self._denials += denials_of(parts, self._filing.evidence(heard, "denied"))
        left = [n for n in readings.loose if n.start not in {d.start for d in asked}]
        unfiled = self._filing.unfiled(heard, left)
        self._unfiled += unfiled
        self._observer.left(unfiled)

    def _read_header(self, heard: Heard, serial_taken: bool) -> Header:
        header = read_header(heard, serial_taken)
        if header.empty or not heard.utterance.alternatives:
            return header
        others = [
            prepare(self._pipeline, heard.number, heard.utterance, t) for t in heard.utterance.alternatives
        ]
        return heard_otherwise(header, [read_header(other, serial_taken) for other in others if other.tokens])

    def _ask_whether_meant(self, heard: Heard, readings: ReadingTalk, standing: Standing) -> None:
        """Ask about readings in what is taken for chatter; file nothing else of it."""
        meant = self._lost.meant(heard, readings, standing, self._context, self._ledger)
        if meant:
            self._observer.asked(meant)
            self._count_as("job", heard.utterance.text)
            self._filing.file(heard, Findings(readings=meant), [], self._context)

    def _remember(
        self,
        context: TalkContext,
        heard: Heard,
        parts: PartTalk,
        gauges: dict[str, str],
        header: Header,
        readings: ReadingTalk,
    ) -> None:
        """Move on with what the talk is about, when and where."""
        remember_stages(context, heard, parts, readings.drafts, self.sheet.measured)
        context.gauge.update(gauges)
        if parts.focus is not None:
            context.name_parts(parts.focus.parts, parts.focus.unlisted)
        if readings.drafts or parts.said:
            context.measured_last = bool(readings.drafts) and not parts.said
        if parts.said or parts.parts:
            context.said = tuple(
                SaidOfPart(p.kind, p.key, p.form)
                for p, _ in parts.said
                if p.mood == "stated" and not p.denied
            )
        context.grow_older()
        if context.item != self._context.item or readings.about_item:
            context.item_age = min(context.item_age, 1)
        self._context = context
        told = [(k, v) for k, v in vars(header).items() if v is not None and k != "doubts"]
        self._header.update(told)
        self._observer.job_told(told)
        self._moments.note(heard, parts, context, readings, self._filing.evidence(heard, "part talked about"))

    def _file_commands(self, heard: Heard, commands: list[Command], filed: list[tuple[int, Entry]]) -> None:
        for command in commands:
            event = self._file_event(heard, command)
            if command.event == "strike_last":
                self._filing.strike(filed, command, event)

    def _file_event(self, heard: Heard, command: Command) -> str:
        said = heard.words(command.start, command.end)
        evidence = self._filing.evidence(heard, f"command: {command.event} {said!r}")
        if command.event in ("pause", "resume"):
            evidence.words = said
        event = self._ledger.file_event(command.event, command.part, evidence)
        self._observer.event(event)
        if command.event == "snapshot" and command.part is not None:
            self._moments.pictured(command.part, heard.utterance.end_s, evidence)
        return event.id

    def asked(self) -> Asked | None:
        """Return the question that is put to the bench now, which the next words may answer."""
        return self._answering.now()

    def ask(self, entry_id: str) -> None:
        """Put the question about an entry to the bench now; nothing where it is not open."""
        self._answering.put([entry_id], self._kept[-1])

    def see(self, photo: Photo) -> None:
        """Take in a photo, or again once inspected; without a part it is of the one talked of then."""
        self._photos[photo.picture, photo.of, photo.stage, photo.time_s] = photo

    def talk_of(self, number: int) -> str:
        """Return how utterance ``number`` was taken: job, chatter, paused or command.

        Raises:
            IndexError: no utterance of that number has been heard.
        """
        return self._talk[number]

    def kept(self, number: int) -> Utterance:
        """Return what may be kept of utterance ``number``: itself, or without the words nobody may keep.

        Chatter and what is said in a pause have no words left. A builder that hears what was kept makes
        the same record as one that hears what was said.

        Raises:
            IndexError: no utterance of that number has been heard.
        """
        return self._kept[number]

    # -- the record ----------------------------------------------------------------------------

    def record(self) -> RebuildRecord:
        """Return the record of all that was heard and seen so far."""
        entries = [entry.model_copy(deep=True) for entry in self._ledger.entries]
        readings = [e for e in entries if isinstance(e, ReadingEntry)]
        parts = [e for e in entries if isinstance(e, PartEntry)]
        steps = [e for e in entries if isinstance(e, StepEntry)]
        photos = photo_entries(self.sheet, list(self._photos.values()), self._moments.of_parts)
        paused = self._pauses.notes()
        questions = questions_of(self.sheet, [*entries, *photos, *paused])
        questions += face_questions(self.sheet, entries, self._denials, photos, len(questions) + 1)
        return RebuildRecord(
            made_by=made_by(self.sheet, self._engine),
            job=self._job(),
            readings=readings,
            conditions=[e for e in entries if isinstance(e, ConditionEntry)],
            parts=parts,
            consumables=[e for e in entries if isinstance(e, ConsumableEntry)],
            steps=steps,
            photos=photos,
            notes=[e for e in entries if isinstance(e, NoteEntry)] + paused,
            deviations=deviations_of(self.sheet, readings, parts, steps, self._declared),
            missing=missing_of(self.sheet, readings, parts, steps, photos, self._moments.last),
            questions=questions,
            unfiled_numbers=[number.model_copy(deep=True) for number in self._unfiled],
            events=[event.model_copy(deep=True) for event in self._ledger.events],
        )

    def _job(self) -> Job:
        """Return the job: what was given wins over what was heard."""
        heard = {name: value for name, value in self._header.items() if getattr(self._given, name) is None}
        update = {**heard, "sheet_id": self.sheet.id, "sheet_revision": self.sheet.revision}
        return self._given.model_copy(update=update)
