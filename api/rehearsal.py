"""A rehearsal: sample phrases of a sheet are heard and read, and what went wrong is counted by its cause."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

from api.rehearsal_phrases import RehearsalPhrase
from capture.engines.engine import Engine
from capture.engines.numbers_heard import number_words_of
from capture.segments import cut_segments
from capture.sound_blocks import RATE_HZ, Samples
from capture.vocabulary.pronunciations import is_guessed, pronunciations_of
from capture.vocabulary.sound_alikes import sound_alikes
from capture.vocabulary.spoken_words import dictionary_words, plain_text
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from shared.speech import Utterance

Outcome = Literal["right", "asked", "wrong", "lost", "not_read"]


@dataclass(frozen=True)
class Take:
    """One phrase as it was spoken once."""

    phrase: RehearsalPhrase
    voice: str
    """Of a free voice, or the recording's name."""
    samples: Samples


@dataclass(frozen=True)
class HeardTake:
    """What came of a take."""

    phrase: RehearsalPhrase
    voice: str
    heard: str
    outcome: Outcome
    """Right: filed as said, unasked. Asked: a question. Wrong: something else filed unasked. Lost: nothing.
    Not read: even the very words come to nothing; that is no fault of hearing."""
    name_as_heard: str | None
    """What was heard in place of the name, None where the name came out right."""
    numbers_right: bool
    filed_for: str | None = None
    """Another item of the sheet that the reading went to."""


@dataclass(frozen=True)
class GuessedWord:
    """A word of the sheet that no dictionary holds."""

    word: str
    sounds: str
    """What the engine expects, phones of the CMU dictionary."""
    where: tuple[str, ...]
    """Spoken forms of the sheet that hold it."""


@dataclass(frozen=True)
class Rehearsal:
    """What a rehearsal found."""

    sheet: str
    takes: tuple[HeardTake, ...]
    guessed: tuple[GuessedWord, ...]
    alike: tuple[tuple[str, str], ...]

    def counts(self) -> dict[Outcome, int]:
        """Return how many takes came out how."""
        found = Counter(take.outcome for take in self.takes)
        outcomes: tuple[Outcome, ...] = ("right", "asked", "wrong", "lost", "not_read")
        return {outcome: found[outcome] for outcome in outcomes}

    def misheard_names(self) -> Iterator[tuple[str, int, int, str]]:
        """Yield (form, times misheard, times said, commonest hearing) of names that are often misheard."""
        said: defaultdict[str, list[str | None]] = defaultdict(list)
        for take in self.takes:
            said[take.phrase.form].append(take.name_as_heard)
        for form, hearings in said.items():
            wrong = [heard for heard in hearings if heard is not None]
            if wrong and 2 * len(wrong) >= len(hearings):
                yield form, len(wrong), len(hearings), Counter(wrong).most_common(1)[0][0]

    def weak_numbers(self) -> Iterator[tuple[str, int, int, HeardTake]]:
        """Yield (item, takes with a wrong number, takes, an example) of items whose numbers go wrong."""
        by_item: defaultdict[str, list[HeardTake]] = defaultdict(list)
        for take in self.takes:
            if take.phrase.kind == "item":
                by_item[take.phrase.name].append(take)
        for item, takes in by_item.items():
            wrong = [take for take in takes if not take.numbers_right]
            if wrong:
                yield item, len(wrong), len(takes), wrong[0]

    def confused(self) -> Iterator[tuple[str, str]]:
        """Yield (item, other item) of readings that went to another item."""
        yield from dict.fromkeys(
            (take.phrase.name, take.filed_for) for take in self.takes if take.filed_for is not None
        )


def rehearse(
    sheet: JobSheet, engine: Engine, takes: Iterable[Take], done: Callable[[float], None]
) -> Rehearsal:
    """Hear and judge takes.

    Args:
        sheet: that is rehearsed.
        engine: hears.
        takes: in order.
        done: is told after each how many seconds of sound are through.
    """
    judge, at_s = _Judge(sheet), 0.0
    heard: list[HeardTake] = []
    for take in takes:
        utterances = [u for segment in cut_segments([take.samples]) if (u := engine.hear(segment))]
        heard.append(judge.judged(take, utterances))
        at_s += len(take.samples) / RATE_HZ
        done(at_s)
    return Rehearsal(sheet.id, tuple(heard), tuple(guessed_words(sheet)), tuple(names_alike(sheet)))


def guessed_words(sheet: JobSheet) -> Iterator[GuessedWord]:
    """Yield the words of a sheet whose pronunciation is guessed, in sheet order."""
    where: dict[str, dict[str, None]] = {}
    for phrase in sheet.phrases():
        for word in dictionary_words(phrase):
            if is_guessed(word):
                where.setdefault(word, {})[phrase] = None
    for word, phrases in where.items():
        yield GuessedWord(plain_text(word), pronunciations_of(word)[0], tuple(phrases))


def names_alike(sheet: JobSheet) -> list[tuple[str, str]]:
    """Return pairs of names, of one kind each, that sound nearly alike."""
    kinds: tuple[Mapping[str, Sequence[str]], ...] = (
        {item: entry.spoken for item, entry in sheet.measured.items()},
        {part.part: part.spoken for part in sheet.parts},
        {position: sheet.spoken_positions(position) for position in sheet.positions},
    )
    return list(dict.fromkeys(pair for names in kinds for pair in sound_alikes(names)))


class _Judge:
    """Reads what was heard, and the very words that were said, and compares."""

    def __init__(self, sheet: JobSheet) -> None:
        self._sheet = sheet
        self._wanted: dict[str, RebuildRecord] = {}

    def judged(self, take: Take, utterances: Sequence[Utterance]) -> HeardTake:
        phrase = take.phrase
        heard = " ".join(utterance.text for utterance in utterances)
        outcome, filed_for = self._outcome(phrase, utterances)
        return HeardTake(
            phrase=phrase,
            voice=take.voice,
            heard=heard,
            outcome=outcome,
            name_as_heard=name_as_heard(phrase.text, phrase.form, heard),
            numbers_right=number_words_of(_plain(phrase.text)) == number_words_of(_plain(heard)),
            filed_for=filed_for,
        )

    def _outcome(
        self, phrase: RehearsalPhrase, utterances: Sequence[Utterance]
    ) -> tuple[Outcome, str | None]:
        if phrase.text not in self._wanted:
            self._wanted[phrase.text] = self._read([Utterance(phrase.text, 0.0, 5.0)])
        wanted = _filed(self._wanted[phrase.text], phrase)
        sure = {key for key, asked in wanted if not asked}
        if not sure:
            return "not_read", None
        filed = _filed(self._read(utterances), phrase)
        if phrase.kind == "item":
            other = next((key[0] for key, _ in filed if key[0] != phrase.name), None)
        else:
            other = None
        if any(not asked and key not in sure for key, asked in filed):
            return "wrong", other
        if sure <= {key for key, asked in filed if not asked}:
            return "right", None
        return ("asked" if filed else "lost"), other

    def _read(self, utterances: Sequence[Utterance]) -> RebuildRecord:
        builder = RecordBuilder(self._sheet)
        for utterance in utterances:
            builder.hear(utterance)
        return builder.record()


_Key = tuple[str, str | None, str | None]


def _filed(record: RebuildRecord, phrase: RehearsalPhrase) -> list[tuple[_Key, bool]]:
    """Return what was filed of the phrase's kind: (name, position, value), and whether it is asked about."""
    if phrase.kind == "item":
        return [((r.item, r.position, r.value_exact), r.needs_review) for r in record.readings]
    if phrase.kind == "part":
        entries = [(p.part, p.needs_review) for p in record.parts]
        entries += [(c.part, c.needs_review) for c in record.conditions]
    elif phrase.kind == "step":
        entries = [(s.step, s.needs_review) for s in record.steps]
    else:
        entries = [(c.name, c.needs_review) for c in record.consumables]
    # Sets: a part that is said once may be filed as action and as condition.
    return [((name, None, None), asked) for name, asked in dict.fromkeys(entries)]


def _plain(text: str) -> str:
    return plain_text(" ".join(dictionary_words(text)))


def name_as_heard(said: str, form: str, heard: str) -> str | None:
    """Return what was heard in place of a name, or None where the name was heard.

    Args:
        said: the whole phrase.
        form: the name, as it stands in the phrase.
        heard: the whole of what was heard.
    """
    words, name, others = _plain(said).split(), _plain(form).split(), _plain(heard).split()
    at = next((n for n in range(len(words)) if words[n : n + len(name)] == name), None)
    if at is None or " ".join(name) in " ".join(others):
        return None
    heard_for = _heard_for(words, others)
    return " ".join(others[n] for n, word in enumerate(heard_for) if at <= word < at + len(name))


def _heard_for(said: Sequence[str], heard: Sequence[str]) -> list[int]:
    """Return for each word heard which one said it stands for, by the alignment of least edits.

    Words of like letters pair sooner than others; a word too many goes with the one before it.
    """
    cost = [[float(n + m) for m in range(len(heard) + 1)] for n in range(len(said) + 1)]
    for n, word in enumerate(said, 1):
        for m, other in enumerate(heard, 1):
            cost[n][m] = min(
                cost[n - 1][m - 1] + _unlike(word, other), cost[n - 1][m] + 1, cost[n][m - 1] + 1
            )
    found = [0] * len(heard)
    n, m = len(said), len(heard)
    while m:
        if n and cost[n][m] == cost[n - 1][m - 1] + _unlike(said[n - 1], heard[m - 1]):
            n, m = n - 1, m - 1
            found[m] = n
        elif n and cost[n][m] == cost[n - 1][m] + 1:
            n -= 1
        else:
            m -= 1
            found[m] = max(0, n - 1)
    return found


def _unlike(word: str, other: str) -> float:
    return 0.0 if word == other else 1.5 - SequenceMatcher(None, word, other, autojunk=False).ratio()
