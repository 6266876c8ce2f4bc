"""Prepares the view of a record: what stands out first, then everything in the report's order."""

from __future__ import annotations

import re
from collections.abc import Sequence

from api.report.advice_rows import advice_highlights, advice_view
from api.report.face_rows import face_highlights, face_views
from api.report.missing_rows import missing_rows, never_said
from api.report.part_rows import consumable_rows, finding_rows, part_rows, step_rows
from api.report.question_rows import question_row
from api.report.reading_groups import reading_groups, reading_name, reading_value
from api.report.signature_rows import signature_views, signed_words
from api.report.view import (
    CorrectionRow,
    DeviationView,
    Fact,
    Highlight,
    PhotoView,
    ReportView,
    TalkRow,
    UnfiledRow,
)
from api.report.wording import (
    ADVISES,
    CLOSING,
    DECONTAMINATION,
    DEVIATION_WORDS,
    DISPOSITION_WORDS,
    ISOLATION,
    NOT_SAID,
    REVIEW,
    STAGE_WORDS,
    SUPERSEDED_WORDS,
    clock,
    counted,
    heard_at,
    item_words,
    plural,
    timed,
    value_words,
)
from shared.face_words import CAUTION
from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    DeviationEntry,
    Entry,
    PartEntry,
    PhotoEntry,
    Question,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.sheet_entries import words_of
from shared.speech import Utterance

#: More of a kind would push the rest of the summary off the first page; all of them stand further down.
_HIGHLIGHTED = 8
#: A rule tells its particulars behind its name.
_RULE_ENDS = re.compile("[.:]")


def prepare_view(record: RebuildRecord, sheet: JobSheet, talk: Sequence[Utterance] = ()) -> ReportView:
    """Return everything that the report shows of a record.

    Args:
        record: the record.
        sheet: the job sheet that it was made with.
        talk: job talk only, in order; nothing of chatter or of paused speech.
    """
    ready = not (open_questions(record) or record.missing or _unsure(record))
    standing, standing_text = _standing(record, ready)
    advice = advice_view(record, sheet)
    return ReportView(
        title="Rebuild record",
        subtitle=sheet.title,
        job=_job(record, sheet),
        ready=ready,
        standing=standing,
        standing_text=standing_text,
        counts=_counts(record),
        highlights=_highlights(record, sheet) + advice_highlights(advice.rows),
        cautions=[ISOLATION, DECONTAMINATION],
        sheet_cautions=[caution.text for caution in sheet.cautions],
        findings=finding_rows(record),
        found=reading_groups(record, sheet, ("as_found",)),
        left=reading_groups(record, sheet, ("as_left", "either")),
        parts=part_rows(record, sheet),
        consumables=consumable_rows(record),
        steps=step_rows(record, sheet),
        photos=[_photo(record, sheet, photo) for photo in record.photos if photo.standing],
        faces=face_views(record),
        face_caution=CAUTION,
        deviations=[_deviation(record, entry) for entry in record.deviations],
        questions=[question_row(record, sheet, q) for q in open_questions(record)],
        missing=missing_rows(record, sheet),
        unfiled=_unfiled(record),
        corrections=_corrections(record, sheet),
        notes=_notes(record),
        gauges=_gauges(record, sheet),
        advice=advice,
        talk=[
            TalkRow(clock(u.start_s) if timed(record) else f"no. {n + 1}", u.text) for n, u in enumerate(talk)
        ],
        made_by=_made_by(record),
        signatures=signature_views(record),
        dispositions=list(DISPOSITION_WORDS.values()),
        review=list(REVIEW),
        version=record.made_by.version,
        reference=" · ".join(w for w in (record.job.work_order, record.job.pump_tag, sheet.id) if w),
        advises=ADVISES,
        closing=CLOSING,
    )


def _unfiled(record: RebuildRecord) -> list[UnfiledRow]:
    return [
        UnfiledRow(
            value_words(_plain(number.value), number.unit) if number.value is not None else "",
            number.reason,
            heard_at(record, number.evidence),
        )
        for number in record.unfiled_numbers
    ]


def _notes(record: RebuildRecord) -> list[Highlight]:
    return [
        Highlight("!", _rule_name(note.evidence.rule), note.text, _when(record, note))
        for note in record.notes
        if note.standing
    ]


def open_questions(record: RebuildRecord) -> list[Question]:
    """Return the questions that nothing said later has answered: a corrected value asks nothing more."""
    return [question for question in record.questions if question.answered_by is None]


def _unsure(record: RebuildRecord) -> bool:
    groups: list[Sequence[Entry]] = [
        record.readings,
        record.conditions,
        record.parts,
        record.consumables,
        record.steps,
        record.photos,
        record.notes,
    ]
    return any(entry.needs_review and entry.standing for group in groups for entry in group)


def _standing(record: RebuildRecord, ready: bool) -> tuple[str, str]:
    unsaid, questions = never_said(record), open_questions(record)
    todo = [
        counted(len(questions), "question") + " to answer" if questions else "",
        counted(len(unsaid), "thing") + " never said" if unsaid else "",
        "an unsure entry to check" if _unsure(record) and not questions else "",
    ]
    open_ = [d for d in record.deviations if d.disposition is None]
    dispose = counted(len(open_), "deviation") + " to dispose of" if open_ else ""
    accepted = signed_words(record) or "Not accepted: a reviewer decides, never this program."
    if ready:
        standing = "Signed" if record.signatures else "Ready for review"
        return standing, (dispose[:1].upper() + dispose[1:] + ". " if dispose else "") + accepted
    said = [t for t in [*todo, dispose] if t]
    standing = "Signed, answers still open" if record.signatures else "Needs answers"
    return standing, ", ".join(said).capitalize() + ". " + accepted


def _job(record: RebuildRecord, sheet: JobSheet) -> list[Fact]:
    job = record.job
    revision = f" revision {job.sheet_revision}" if job.sheet_revision else ""
    return [
        Fact("Work order", job.work_order or NOT_SAID),
        Fact("Pump tag", job.pump_tag or NOT_SAID),
        Fact("Serial number", job.pump_serial or NOT_SAID),
        Fact("Technician", job.technician or NOT_SAID),
        Fact("Job sheet", (job.sheet_id or sheet.id) + revision),
        Fact("Started", job.started or "not known"),
        Fact("Ended", job.ended or "not known"),
    ]


def _counts(record: RebuildRecord) -> list[Fact]:
    readings = [r for r in record.readings if r.standing]
    outside = sum(r.verdict == "outside" for r in readings)
    questions = open_questions(record)
    return [
        Fact(plural("reading", len(readings)), str(len(readings))),
        Fact("outside limits", str(outside)),
        Fact(plural("deviation", len(record.deviations)), str(len(record.deviations))),
        Fact(plural("question", len(questions)), str(len(questions))),
        Fact("never said", str(len(never_said(record)))),
    ]


def _highlights(record: RebuildRecord, sheet: JobSheet) -> list[Highlight]:
    found = [Highlight("✗", DEVIATION_WORDS[d.kind], d.text, _when(record, d)) for d in record.deviations]
    questions = open_questions(record)
    shown = [(q.text, heard_at(record, q.evidence).when) for q in questions[:_HIGHLIGHTED]]
    if more := len(questions) - len(shown):
        shown.append((f"and {counted(more, 'question')} more, all under Open", ""))
    found += [Highlight("?", "question", text, when) for text, when in shown]
    if unsaid := missing_rows(record, sheet):
        names = [line.text for line in unsaid[:_HIGHLIGHTED]]
        names += [f"and {len(unsaid) - len(names)} more"] if len(unsaid) > len(names) else []
        found.append(Highlight("○", "never said", "; ".join(names)))
    return found + _recording_and_pictures(record)


def _rule_name(rule: str) -> str:
    return item_words(_RULE_ENDS.split(rule)[0])


def _recording_and_pictures(record: RebuildRecord) -> list[Highlight]:
    """Return what was the matter with what the record was made from."""
    found: list[Highlight] = []
    pauses = [event for event in record.events if event.event in ("pause", "resume")]
    if pauses and pauses[-1].event == "pause":
        text = "paused and never resumed: nothing said after it was filed"
        found.append(Highlight("!", "pause", text, heard_at(record, pauses[-1].evidence).when))
    found += [
        Highlight("!", note.evidence.rule, note.text, _when(record, note))
        for note in record.notes
        # What is a question stands with the questions, not twice.
        if note.evidence.rule in ("recording", "picture", "paused") and not note.needs_review
    ]
    unusable = [p for p in record.photos if p.standing and p.quality is not None and not p.quality.usable]
    if unusable:
        names = [f"{item_words(p.of) or 'part not said'} ({_quality(p)})" for p in unusable[:_HIGHLIGHTED]]
        names += [f"and {len(unusable) - len(names)} more"] if len(unusable) > len(names) else []
        found.append(Highlight("!", "picture", f"not usable: {', '.join(names)}"))
    return found + face_highlights(record)


def _when(record: RebuildRecord, entry: Entry | DeviationEntry) -> str:
    return heard_at(record, entry.evidence).when


def _photo(record: RebuildRecord, sheet: JobSheet, photo: PhotoEntry) -> PhotoView:
    quality = photo.quality
    if quality is None:
        symbol, words = "?", "not judged"
    elif quality.usable:
        symbol, words = "✓", "sharp and well lit"
    else:
        symbol, words = "✗", _quality(photo)
    return PhotoView(
        title=item_words(photo.of) or "Part not said",
        stage=STAGE_WORDS[photo.stage],
        file=photo.picture,
        shown=photo.thumbnail or photo.picture,
        when=_when(record, photo) if photo.evidence.words else "",
        symbol=symbol,
        quality=words,
        advice=quality.advice if quality else "",
    )


def _quality(photo: PhotoEntry) -> str:
    reasons = photo.quality.reasons if photo.quality else []
    return ", ".join(words_of(reason) for reason in reasons) or "not usable"


def _deviation(record: RebuildRecord, entry: DeviationEntry) -> DeviationView:
    who = [w for w in (entry.disposition_by, entry.disposition_at, entry.disposition_why) if w]
    heard = heard_at(record, entry.evidence)
    return DeviationView(
        kind=DEVIATION_WORDS[entry.kind],
        text=entry.text,
        when=heard.when,
        words=heard.words,
        disposition=DISPOSITION_WORDS[entry.disposition] if entry.disposition else "",
        decided=", ".join(who),
    )


def _corrections(record: RebuildRecord, sheet: JobSheet) -> list[CorrectionRow]:
    groups: list[Sequence[Entry]] = [
        record.readings,
        record.conditions,
        record.parts,
        record.consumables,
        record.steps,
        record.photos,
    ]
    by_id = {entry.id: entry for group in groups for entry in group}
    rows: list[CorrectionRow] = []
    for group in groups:
        for entry in group:
            if entry.superseded_why is None:
                continue
            now = by_id.get(entry.superseded_by or "")
            rows.append(
                CorrectionRow(
                    what=_what(sheet, entry),
                    said=_said(sheet, entry),
                    why=SUPERSEDED_WORDS[entry.superseded_why],
                    stands_now=_said(sheet, now) if now else "nothing",
                    when=_when(record, entry),
                )
            )
    return rows


def _what(sheet: JobSheet, entry: Entry) -> str:
    match entry:
        case ReadingEntry():
            return reading_name(sheet, entry.item, entry.position)
        case ConditionEntry() | PartEntry():
            return item_words(entry.part)
        case ConsumableEntry():
            return item_words(entry.name)
        case StepEntry():
            return item_words(entry.step)
        case PhotoEntry():
            return f"Photo of {words_of(entry.of or 'something')}"
        case _:
            return "Note"


def _said(sheet: JobSheet, entry: Entry) -> str:
    match entry:
        case ReadingEntry():
            return reading_value(sheet, entry)
        case ConditionEntry():
            return words_of(entry.condition)
        case PartEntry():
            return entry.action
        case ConsumableEntry():
            return f"on {words_of(entry.applied_to)}" if entry.applied_to else "used"
        case StepEntry():
            return "done" if entry.done else "left out"
        case PhotoEntry():
            return entry.picture
        case _:
            return entry.text


def _gauges(record: RebuildRecord, sheet: JobSheet) -> list[Fact]:
    used: dict[str, list[str]] = {}
    for reading in record.readings:
        entry = sheet.measured.get(reading.item)
        kind = entry.gauge if entry else None
        gauge = reading.gauge or (f"{kind}, which one {NOT_SAID}" if kind else f"gauge {NOT_SAID}")
        name = words_of(reading.item)
        if reading.standing and name not in used.setdefault(gauge, []):
            used[gauge].append(name)
    return [Fact(gauge[:1].upper() + gauge[1:], ", ".join(items)) for gauge, items in used.items()]


def _made_by(record: RebuildRecord) -> list[Fact]:
    made = record.made_by
    groups: list[Sequence[Entry]] = [record.readings, record.conditions, record.parts, record.steps]
    said = [event.evidence for event in record.events] + [e.evidence for group in groups for e in group]
    recordings = dict.fromkeys(evidence.recording for evidence in said if evidence.recording)
    facts = [
        Fact("Recording", ", ".join(recordings) or "not known"),
        Fact("Program", f"{made.program} {made.version}"),
        Fact("Record format", record.schema_),
        Fact("Speech engine", " ".join(w for w in (made.engine, made.model) if w) or "none"),
    ]
    return facts + [Fact(f"SHA-256 of {name}", digest) for name, digest in made.hashes.items()]


def _plain(value: float | None) -> str | None:
    return None if value is None else f"{value:.12g}"
