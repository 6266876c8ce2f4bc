"""Scores of what was heard: words, numbers, readings in the record, trust in what was filed unasked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import comb
from typing import Any

import numpy as np

from bench.speech_jobs import SaidReading, SpokenJob
from capture.engines.numbers_heard import carries_number, number_words_of
from capture.vocabulary.spoken_words import dictionary_words, plain_text
from extract.record_builder import RecordBuilder
from fixtures.narration_files import Spoken
from shared.record import ReadingEntry, RebuildRecord
from shared.speech import Utterance


@dataclass(frozen=True)
class WordErrors:
    """Differences of an alignment of least edits."""

    words: int
    """In the reference."""
    substituted: int = 0
    deleted: int = 0
    inserted: int = 0

    @property
    def errors(self) -> int:
        """All of them."""
        return self.substituted + self.deleted + self.inserted


def word_errors(reference: Sequence[str], heard: Sequence[str]) -> WordErrors:
    """Count the word errors of one utterance by the alignment of least edits, all edits costing one."""
    rows, columns = len(reference) + 1, len(heard) + 1
    cost = np.zeros((rows, columns), np.int64)
    cost[:, 0], cost[0, :] = range(rows), range(columns)
    for r in range(1, rows):
        for c in range(1, columns):
            differs = reference[r - 1] != heard[c - 1]
            cost[r, c] = min(cost[r - 1, c - 1] + differs, cost[r - 1, c] + 1, cost[r, c - 1] + 1)
    r, c, counts = rows - 1, columns - 1, [0, 0, 0]
    while r or c:
        if r and c and cost[r, c] == cost[r - 1, c - 1] + (reference[r - 1] != heard[c - 1]):
            counts[0] += reference[r - 1] != heard[c - 1]
            r, c = r - 1, c - 1
        elif r and cost[r, c] == cost[r - 1, c] + 1:
            counts[1] += 1
            r -= 1
        else:
            counts[2] += 1
            c -= 1
    return WordErrors(len(reference), *counts)


def plain_words(text: str) -> list[str]:
    """Return the words of a text in one spelling, letters of abbreviations apart."""
    return plain_text(" ".join(dictionary_words(text))).split()


def upper_bound(wrong: int, of: int, confidence: float = 0.95) -> float:
    """Return the exact one-sided upper bound of a share (Clopper and Pearson, Biometrika 26, 1934)."""
    if wrong >= of:
        return 1.0

    def at_most(share: float) -> float:
        return sum(comb(of, k) * share**k * (1 - share) ** (of - k) for k in range(wrong + 1))

    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if at_most(middle) > 1 - confidence else (low, middle)
    return high


@dataclass
class Score:
    """Counts of one or several recordings; they add up."""

    words: int = 0
    word_errors: int = 0
    number_lines: int = 0
    number_lines_right: int = 0
    readings: int = 0
    readings_right: int = 0
    readings_asked: int = 0
    asked_right: int = 0
    """Of those asked: the record has the value that was said, to be confirmed."""
    readings_missed: int = 0
    filed_sure: int = 0
    silently_wrong: int = 0
    stale: int = 0
    """An earlier value, put right by the speaker, that still stands unasked."""
    questions: int = 0
    chatter_lines: int = 0
    chatter_filed: int = 0
    chatter_asked: int = 0
    dropped: int = 0
    """Lines that say a reading and were taken for chatter."""
    audio_s: float = 0.0
    cpu_s: float = 0.0
    reliability: list[tuple[float, bool]] = field(default_factory=list)
    """(confidence, right) of every reading filed with a value, asked about or not."""
    faults: list[str] = field(default_factory=list)

    def add(self, other: Score) -> None:
        """Add another score's counts."""
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    def figures(self) -> dict[str, Any]:
        """Return what is shown."""

        def share(part: float, whole: float) -> float | None:
            return round(part / whole, 4) if whole else None

        return {
            "words": self.words,
            "word_error_rate": share(self.word_errors, self.words),
            "number_lines": self.number_lines,
            "number_lines_right": share(self.number_lines_right, self.number_lines),
            "readings": self.readings,
            "readings_right": share(self.readings_right, self.readings),
            "readings_asked": share(self.readings_asked, self.readings),
            "readings_right_or_to_confirm": share(self.readings_right + self.asked_right, self.readings),
            "readings_missed": share(self.readings_missed, self.readings),
            "filed_sure": self.filed_sure,
            "silently_wrong": self.silently_wrong,
            "silently_wrong_at_most": round(upper_bound(self.silently_wrong, self.filed_sure), 4),
            "stale": self.stale,
            "questions_a_reading": share(self.questions, self.readings),
            "chatter_lines": self.chatter_lines,
            "chatter_filed": self.chatter_filed,
            "chatter_asked": self.chatter_asked,
            "taken_for_chatter": self.dropped,
            "real_time_share": share(self.cpu_s, self.audio_s),
        }


def lines_of_words(spoken: Sequence[Spoken], utterances: Iterable[Utterance]) -> list[list[str]]:
    """Part what was heard among the lines by time: a word belongs to the line nearest to its middle."""
    heard: list[list[str]] = [[] for _ in spoken]
    for utterance in utterances:
        for word in utterance.words:
            heard[_nearest(spoken, (word.start_s + word.end_s) / 2)] += plain_words(word.text)
    return heard


def _nearest(spoken: Sequence[Spoken], at_s: float) -> int:
    return min(range(len(spoken)), key=lambda n: max(spoken[n].start_s - at_s, at_s - spoken[n].end_s))


def spoken_numbers(words: Sequence[str]) -> tuple[str, ...]:
    """Return the number words of a line in order; an "oh" that no other number word stands beside is none."""
    counts = [number_words_of(word) for word in words]
    beside = [any(counts[max(0, at - 1) : at]) or any(counts[at + 1 : at + 2]) for at in range(len(words))]
    return tuple(
        number
        for word, numbers, near in zip(words, counts, beside, strict=True)
        for number in numbers
        if word != "oh" or near
    )


def score_words(spoken: Sequence[Spoken], utterances: Sequence[Utterance]) -> Score:
    """Score words, and lines whose number words all came out right."""
    score = Score()
    for line, heard in zip(spoken, lines_of_words(spoken, utterances), strict=True):
        reference = plain_words(line.text)
        errors = word_errors(reference, heard)
        score.words += errors.words
        score.word_errors += errors.errors
        if carries_number(line.text):
            score.number_lines += 1
            score.number_lines_right += spoken_numbers(reference) == spoken_numbers(heard)
    return score


def score_record(job: SpokenJob, spoken: Sequence[Spoken], utterances: Sequence[Utterance]) -> Score:
    """Make a record of what was heard and compare its readings with what was said."""
    builder = RecordBuilder(job.sheet)
    for utterance in utterances:
        builder.hear(utterance)
    record = builder.record()
    lines = [_nearest(spoken, (u.start_s + u.end_s) / 2) for u in utterances]
    score = _score_readings(job, record, lines)
    score.chatter_lines = len(job.chatter)
    groups = (record.readings, record.conditions, record.parts, record.consumables, record.steps)
    filed = [entry for group in groups for entry in group if lines[entry.evidence.utterance] in job.chatter]
    score.chatter_filed = sum(not entry.needs_review for entry in filed)
    score.chatter_asked = len(filed) - score.chatter_filed
    taken = {line for n, line in enumerate(lines) if builder.talk_of(n) != "chatter"}
    score.dropped = len({reading.line for reading in job.readings} - taken)
    return score


def _same(said: SaidReading, filed: ReadingEntry) -> bool:
    return (
        (said.item, said.position) == (filed.item, filed.position)
        and said.value is not None
        and filed.value_exact is not None
        and abs(Fraction(filed.value_exact) - said.value) <= abs(said.value) * Fraction(1, 10**9)
    )


def _score_readings(job: SpokenJob, record: RebuildRecord, lines: Sequence[int]) -> Score:
    unasked = [reading for reading in record.readings if not reading.needs_review]
    # What the speaker put right or struck harms no more; a slip within a breath is in no label.
    sure = [reading for reading in unasked if reading.superseded_why not in ("corrected", "struck")]
    asked = [reading for reading in record.readings if reading.needs_review]
    score = Score(questions=len(record.questions), filed_sure=len(sure))
    left, left_asked = list(unasked), list(asked)
    for said in job.readings:
        hit = next((filed for filed in left if _same(said, filed)), None)
        if hit is not None:
            left.remove(hit)
        if not said.counts:
            continue
        score.readings += 1
        if hit is not None:
            score.readings_right += 1
            continue
        near = [q for q in left_asked if abs(lines[q.evidence.utterance] - said.line) <= 1]
        question = next((q for q in near if _same(said, q)), None)
        score.asked_right += question is not None
        question = question or next((q for q in near if q.item == said.item), None)
        if question is not None:
            left_asked.remove(question)
            score.readings_asked += 1
        else:
            score.readings_missed += 1
    for filed in sure:
        right = any(_same(said, filed) for said in job.readings)
        score.reliability.append((filed.evidence.confidence, right))
        if not right:
            score.silently_wrong += 1
            score.faults.append(
                f"{job.name}: {filed.item}@{filed.position}={filed.value_exact} from"
                f" {filed.evidence.words!r} ({filed.evidence.confidence:.2f}, {filed.evidence.rule})"
            )
        elif filed.superseded_why is None and not any(_same(s, filed) and s.stands for s in job.readings):
            score.stale += 1
    for filed in asked:
        if filed.value_exact is not None:
            score.reliability.append(
                (filed.evidence.confidence, any(_same(said, filed) for said in job.readings))
            )
    return score
