"""The questions that are put to the bench aloud, one at a time, and what the next words make of them.

An answer settles the entry that was asked about: a new entry, on the words of the answer, takes its place.
Whatever is no answer is ordinary talk, and the question stays open for the review.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from extract.asked_choices import Choice, Choices, choices_of
from extract.conformity import judge
from extract.filing import Filing
from extract.heard import Heard
from extract.ledger import Ledger
from extract.spoken_answers import Answer, Put, answer_in
from extract.unsure_hearing import SURE_IN_NOISE
from extract.word_confidence import WordConfidence
from shared.job_sheet import JobSheet
from shared.record import ConditionEntry, Entry, PartEntry, ReadingEntry, StepEntry
from shared.speech import Utterance

#: A question holds for so many utterances; behind chatter "yes" may be said to somebody else.
_HOLDS = 2
#: So many seconds after the question's words end an answer may begin.
_HOLDS_S = 30.0
#: So many questions of one utterance are put one after the other.
_MOST_PUT = 3
#: The engine that presses of the screen's buttons come by.
PRESSED = "pressed"


@dataclass(frozen=True)
class Asked:
    """The question that is put now."""

    entry: Entry
    choices: Choices


class Answering:
    """Which question is put now, and what else waits to be put."""

    def __init__(self, sheet: JobSheet, ledger: Ledger, filing: Filing, confidence_least: float) -> None:
        self._sheet, self._ledger, self._filing = sheet, ledger, filing
        self._confidence_least = confidence_least
        self._waiting: deque[str] = deque()
        self._asked_at = -1
        self._asked_end_s = 0.0
        self._recording = ""

    @property
    def asked(self) -> str | None:
        """Id of the entry that the question put now is about."""
        return self._waiting[0] if self._waiting else None

    def copy(self, ledger: Ledger, filing: Filing) -> Answering:
        """Return answering that can go on by itself, with a copy of the ledger and its filing."""
        made = copy(self)
        made._ledger, made._filing, made._waiting = ledger, filing, self._waiting.copy()
        return made

    def now(self) -> Asked | None:
        """Return the question put now, None where none is open."""
        entry = self._open_entry()
        choices = None if entry is None else choices_of(self._sheet, entry)
        return None if entry is None or choices is None else Asked(entry.model_copy(deep=True), choices)

    def put(self, ids: Sequence[str], utterance: Utterance) -> None:
        """Put the questions that an utterance raised, one after the other; what was put before is over."""
        entries = [self._ledger.entry(entry_id) for entry_id in ids]
        raised = [
            entry.id
            for entry in entries
            if entry is not None
            and entry.standing
            and entry.needs_review
            and choices_of(self._sheet, entry) is not None
        ]
        self._waiting = deque(raised[:_MOST_PUT])
        self._note(utterance)

    def drop(self) -> None:
        """Put no question any more."""
        self._waiting.clear()

    def take(self, heard: Heard, chatter_between: bool) -> Answer | None:
        """Settle the question put now where the words answer it; return the answer.

        Args:
            heard: all that was said in the utterance.
            chatter_between: talk to somebody else came between.
        """
        entry = self._open_entry()
        if entry is None or not self._in_time(heard):
            return None
        answer = self._answer(heard, entry)
        if answer is None or (chatter_between and not _tells_by_itself(answer, entry)):
            return None
        self._waiting.popleft()
        self._note(heard.utterance)
        self._ledger.now = heard.number
        said = f"answered: {answer.way}"
        if answer.way == "struck":
            event = self._ledger.file_event("strike_last", None, self._filing.evidence(heard, said))
            self._ledger.supersede(entry, event.id, "struck")
        elif answer.way != "denied" and answer.choice is not None:
            self._settle(heard, entry, answer.choice, said)
        return answer

    # -- whether it is one ---------------------------------------------------------------------

    def _open_entry(self) -> Entry | None:
        while self._waiting:
            entry = self._ledger.entry(self._waiting[0])
            if entry is not None and entry.standing and entry.needs_review:
                return entry
            self._waiting.popleft()
        return None

    def _in_time(self, heard: Heard) -> bool:
        spoken = heard.utterance
        if spoken.engine == PRESSED:
            return True  # A press names its question.
        late = spoken.start_s - self._asked_end_s > _HOLDS_S
        return heard.number - self._asked_at <= _HOLDS and not late and spoken.recording == self._recording

    def _answer(self, heard: Heard, entry: Entry) -> Answer | None:
        choices = choices_of(self._sheet, entry)
        if choices is None:
            return None
        quantity = self._ledger.reading_quantity(entry.id)
        put = Put(self._sheet, entry, choices, quantity.unit if quantity is not None else None)
        answer = answer_in(heard.utterance.text, put)
        if answer is None or heard.utterance.engine == PRESSED:
            return answer
        alike = all(answer_in(other, put) == answer for other in heard.utterance.alternatives)
        sure = WordConfidence(heard.utterance, heard.tokens).least(0, len(heard.tokens))
        wanted = SURE_IN_NOISE if heard.utterance.noisy else self._confidence_least
        return answer if alike and sure >= wanted else None

    def _note(self, utterance: Utterance) -> None:
        self._asked_at, self._asked_end_s = self._ledger.now, utterance.end_s
        self._recording = utterance.recording

    # -- what it comes to ----------------------------------------------------------------------

    def _settle(self, heard: Heard, entry: Entry, choice: Choice, rule: str) -> None:
        changes: dict[str, Any] = {"needs_review": False, "reason": None, "candidates": []}
        evidence = self._filing.evidence(heard, rule)
        if isinstance(entry, ReadingEntry):
            settled: Entry = entry.model_copy(
                update={
                    **changes,
                    **self._reading(entry, choice),
                    "id": self._ledger.new_id("r"),
                    "evidence": evidence,
                }
            )
            self._replace_standing(entry, settled)
        else:
            assert isinstance(entry, ConditionEntry | PartEntry | StepEntry)
            prefix = {ConditionEntry: "c", PartEntry: "p", StepEntry: "s"}[type(entry)]
            named = {"part": choice.part, "condition": choice.condition, "action": choice.action}
            update = {name: value for name, value in named.items() if value is not None}
            settled = entry.model_copy(
                update={**changes, **update, "id": self._ledger.new_id(prefix), "evidence": evidence}
            )
        self._ledger.supersede(entry, settled.id, "corrected")
        self._ledger.file(settled, self._ledger.reading_quantity(entry.id))

    def _reading(self, entry: ReadingEntry, choice: Choice) -> dict[str, Any]:
        """Return the fields of a reading that an answer decides."""
        item = self._sheet.measured[choice.item or entry.item]
        exact = choice.value_exact or entry.value_exact
        assert exact is not None
        stage = entry.stage if choice.item is None or item.stage == "either" else item.stage
        return {
            "item": item.item,
            "position": choice.position or entry.position,
            "stage": stage,
            "value": float(Fraction(exact)),
            "value_exact": exact,
            "unit": item.unit,
            "verdict": judge(Fraction(exact), item),
        }

    def _replace_standing(self, entry: ReadingEntry, settled: Entry) -> None:
        assert isinstance(settled, ReadingEntry)
        standing = self._ledger.standing_reading(settled.item, settled.position, settled.stage)
        if standing is not None and standing.id != entry.id:
            self._ledger.supersede(standing, settled.id, "measured_again")


def _tells_by_itself(answer: Answer, entry: Entry) -> bool:
    """Whether an answer can be of nothing but this question: a value, not a bare yes or no."""
    return answer.way == "chosen" and answer.choice is not None and isinstance(entry, ReadingEntry)
