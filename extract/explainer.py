"""Looks on while utterances are read, and writes down the path from words to entries.

What it is given it only copies; nothing of the reading waits for it. Where an utterance is read in pieces
(around a pause) they stand one behind the other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import TypeVar

from extract.commands import Command
from extract.corrections import Run
from extract.explained_amounts import amount_of, way_of, worth_of
from extract.explained_entries import (
    context_lines,
    outcome_of_entry,
    outcome_of_event,
    place_words,
    with_record,
)
from extract.explanation import BarredNumber, ClauseSaid, DoubtRaised, Explanation, LeftOut, Naming, Outcome
from extract.heard import Heard
from extract.job_talk import Judged
from extract.naming import found_by, kind_words, names_of
from extract.observer import Observer
from extract.part_talk import PartTalk
from extract.reading_drafts import ReadingDraft, ReadingTalk
from extract.search_board import Board
from extract.search_states import Filed, Found
from extract.talk_context import TalkContext
from extract.unread_findings import unread_findings
from extract.utterance_findings import Findings
from shared.job_sheet import JobSheet
from shared.record import Entry, EventEntry, RebuildRecord, UnfiledNumber
from shared.sheet_entries import words_of
from shared.speech import Utterance

_T = TypeVar("_T")
#: Ways to read a run of words that are worth telling of.
_WAYS = 6


class Explainer(Observer):
    """Explains utterances as a builder hears them.

    Args:
        sheet: the job sheet.
        only: numbers of the utterances to explain, from 0; None for all.
    """

    def __init__(self, sheet: JobSheet, only: Collection[int] | None = None) -> None:
        self._sheet = sheet
        self._only = only
        self._number = 0
        self._begin()
        self.explained: list[Explanation] = []
        """What was explained so far, in order."""

    def _begin(self) -> None:
        self._now = Explanation(self._number, 0.0, "")
        self._on = self._only is None or self._number in self._only
        self._reasons: dict[int, tuple[ReadingDraft, str, int]] = {}
        self._loose: list[tuple[int, int, LeftOut]] = []
        self._judged = self._of_job = False

    def heard(self, heard: Heard, paused: bool) -> None:
        """Write down tokens, names, clauses and barred numbers."""
        if not self._on:
            return
        now = self._now
        now.tokens += [token.norm for token in heard.tokens]
        if paused:
            now.why = "said in a pause: nothing of it is filed"
            return
        now.named += [
            Naming(
                heard.words(m.start, m.end),
                m.start,
                kind_words(m),
                names_of(m),
                found_by(heard, m),
                _cost(m.cost),
            )
            for m in heard.mentions.all
        ]
        now.clauses += [ClauseSaid(heard.words(c.start, c.end), c.mood, c.hedged) for c in heard.clauses]
        now.barred += [
            BarredNumber(heard.words(b.quantity.start, b.quantity.end), b.reason) for b in heard.barred
        ]

    def before(self, context: TalkContext, commands: Sequence[Command]) -> None:
        """Write down what the talk was about."""
        if self._on:
            self._now.before = context_lines(self._sheet, context)

    def ways(
        self, heard: Heard, run: Run, board: Board, ways: Sequence[Found], accepted: Sequence[Filed]
    ) -> None:
        """Write down the amounts, what each may be worth, and the cheapest ways to put all together."""
        if not self._on:
            return
        now = self._now
        now.amounts += _distinct(amount_of(heard, quantity) for quantity in board.amounts())
        for quantity, item, placings in board.placed():
            entry = self._sheet.measured[item]
            now.worth += [worth_of(heard, quantity, entry, placing) for placing in placings]
        now.worth = _distinct(now.worth)
        now.ways += [
            way_of(self._sheet, heard, run, way, accepted if n == 0 else None)
            for n, way in enumerate(ways[:_WAYS])
        ]

    def doubted(self, rule: str, drafts: Sequence[ReadingDraft]) -> None:
        """Write down what a rule asked about."""
        if not self._on:
            return
        for draft in drafts:
            if id(draft) not in self._reasons:
                self._reasons[id(draft)] = (draft, place_words(self._sheet, draft.item, draft.position), 0)
            _, about, known = self._reasons[id(draft)]
            self._now.doubts += [DoubtRaised(about, reason, rule) for reason in draft.reasons[known:]]
            self._reasons[id(draft)] = (draft, about, len(draft.reasons))

    def read(self, heard: Heard, parts: PartTalk, findings: Findings, readings: ReadingTalk) -> None:
        """Write down what makes no entry; keep the numbers until it is known what becomes of them."""
        if not self._on:
            return
        self._now.left_out += [LeftOut(words, why) for words, why in unread_findings(heard, parts, findings)]
        self._loose = [(n.start, n.end, LeftOut(n.words, n.reason)) for n in readings.loose]
        # One that only another hearing gives stands on tokens that these words may not have.
        known = [d for d in readings.drafts if d.end <= len(heard.tokens)]
        self._loose += [(d.start, d.end, LeftOut(heard.words(d.start, d.end), "")) for d in known]

    def judged(self, judged: Judged) -> None:
        """Write down whether it is talk of the job; of chatter all numbers are left out."""
        if not self._on:
            return
        if judged.standing == "job" or not self._judged:
            self._now.why = judged.why
        self._judged = True
        self._of_job = self._of_job or judged.standing == "job"
        if judged.standing != "job":
            why = "the line is taken for chatter" if judged.standing == "chatter" else "doubtful talk"
            self._loose = [(i, k, LeftOut(left.what, left.why or why)) for i, k, left in self._loose]
            self._now.left_out += [left for _, _, left in self._loose]

    def asked(self, drafts: Sequence[ReadingDraft]) -> None:
        """Take numbers that are asked about out of what is left out."""
        if not self._on:
            return
        for start, end, left in self._loose:
            if any(start < d.end and d.start < end for d in drafts) and left in self._now.left_out:
                self._now.left_out.remove(left)

    def job_told(self, fields: Sequence[tuple[str, str]]) -> None:
        """Write down what was said of the job itself."""
        self._now.outcomes += [
            Outcome("job", "", "filed", f"{words_of(name)} {value}", "job header: the words before it")
            for name, value in fields
        ]

    def event(self, event: EventEntry) -> None:
        """Write down a command."""
        self._now.outcomes.append(outcome_of_event(event))

    def left(self, numbers: Sequence[UnfiledNumber]) -> None:
        """Write down the numbers of job talk that made no reading."""
        self._now.left_out += [LeftOut(number.words, number.reason) for number in numbers]

    def done(self, utterance: Utterance, talk: str, entries: Sequence[Entry]) -> None:
        """Close the explanation of an utterance."""
        if self._on:
            now = self._now
            now.words, now.start_s, now.talk = utterance.text, utterance.start_s, talk
            if talk == "command" and not self._judged:
                now.why = "it is a command to the recorder"
            elif talk == "job" and not any(e.evidence.utterance == now.utterance for e in entries):
                now.why = now.why or "it goes on with the job"
            elif talk == "job" and self._judged and not self._of_job:
                now.why += "; but a number of it may be meant, so that is asked"
            now.outcomes += [outcome_of_entry(self._sheet, entry, now.utterance) for entry in entries]
            self.explained.append(now)
        self._number += 1
        self._begin()

    def finish(self, record: RebuildRecord) -> list[Explanation]:
        """Return all explanations, with questions, deviations and replacements from the whole record."""
        with_record(self.explained, record)
        return self.explained


def _cost(cost: float) -> float:
    return round(cost, 3)


def _distinct(things: Iterable[_T]) -> list[_T]:
    return list(dict.fromkeys(things))
