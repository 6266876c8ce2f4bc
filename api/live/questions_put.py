"""The question that is put to the bench now: short, and answered with a word or a press."""

from __future__ import annotations

from pydantic import BaseModel

from api.live.presses import CHOICE_WORDS, NO, YES
from api.live.spoken_values import said_value
from api.report.wording import decimals_of, item_words, position_words, value_words
from extract.answering import Asked
from extract.asked_choices import Choice
from shared.job_sheet import JobSheet
from shared.record import ConditionEntry, Entry, PartEntry, ReadingEntry, StepEntry
from shared.sheet_entries import words_of


class Reply(BaseModel):
    """One way to answer."""

    label: str
    words: str
    """As it may be said; a press of its button is heard as these words."""


class QuestionPut(BaseModel):
    """A question with its answers."""

    entry: str
    """Id of the entry that it is about."""
    text: str
    say: str
    replies: list[Reply]
    now: bool = True
    """Whether the next words may answer it; a press of a button always may."""


def question_put(asked: Asked, sheet: JobSheet) -> QuestionPut:
    """Return a question as it is put to the bench."""
    entry, offered = asked.entry, asked.choices.offered
    place = _place(sheet, entry)
    if not offered:
        return QuestionPut(entry=entry.id, text=f"{place}: how much?", say=f"{place}, how much?", replies=[])
    labels = [_words(sheet, entry, choice, aloud=False) for choice in offered]
    said = [_words(sheet, entry, choice, aloud=True) for choice in offered]
    if len(offered) == 1:
        replies = [Reply(label="Yes", words=YES), Reply(label="No", words=NO)]
        return QuestionPut(
            entry=entry.id, text=f"{place}: {labels[0]}?", say=f"{place}, {said[0]}?", replies=replies
        )
    replies = [Reply(label=label, words=words) for label, words in zip(labels, CHOICE_WORDS, strict=False)]
    return QuestionPut(
        entry=entry.id, text=f"{place}: {' or '.join(labels)}?", say=f"{' or '.join(said)}?", replies=replies
    )


def _place(sheet: JobSheet, entry: Entry) -> str:
    """Return what is asked about, the shortest that tells it."""
    if isinstance(entry, ReadingEntry):
        return position_words(sheet, entry.position, entry.item) or item_words(entry.item)
    if isinstance(entry, ConditionEntry | PartEntry):
        return item_words(entry.part)
    return item_words(entry.step) if isinstance(entry, StepEntry) else ""


def _words(sheet: JobSheet, entry: Entry, choice: Choice, *, aloud: bool) -> str:
    """Return a choice for the eye, or as it is said."""
    if not isinstance(entry, ReadingEntry):
        return _of_part(entry, choice)
    measured = sheet.measured[choice.item or entry.item]
    words = [words_of(choice.item)] if choice.item is not None else []
    if choice.position is not None:
        words.append(position_words(sheet, choice.position, measured.item))
    if choice.value_exact is not None and not _same_value(entry, choice, words):
        words.append(
            said_value(sheet, choice.value_exact, measured.unit)
            if aloud
            else value_words(choice.value_exact, measured.unit, decimals_of(measured))
        )
    return " ".join(words)


def _same_value(entry: ReadingEntry, choice: Choice, named: list[str]) -> bool:
    """Whether the value is in no doubt, so that the names alone tell the choices apart."""
    return bool(named) and all(c.value_exact in (None, choice.value_exact) for c in entry.candidates)


def _of_part(entry: Entry, choice: Choice) -> str:
    named = [words_of(word) for word in (choice.part, choice.condition, choice.action) if word is not None]
    if named:
        return " ".join(named)
    if isinstance(entry, ConditionEntry):
        return words_of(entry.condition)
    if isinstance(entry, PartEntry):
        return entry.action
    return "done" if isinstance(entry, StepEntry) and entry.done else "left out"
