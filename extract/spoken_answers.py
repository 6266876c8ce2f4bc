"""Whether words answer a question that was asked aloud, and how.

Only what can be meant in one way is an answer: nothing but the answer may be said, no hedge, and whatever
else the ear heard must answer alike. All other words are ordinary talk; the question stays open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Literal

from extract.asked_choices import Choice, Choices, names_of
from extract.placings import placings
from extract.quantity_arcs import Quantity, quantities_at
from extract.spoken_units import UnitName
from extract.talk_patterns import TalkPatterns, said_words
from extract.tokens import Token, tokenize
from shared.job_sheet import JobSheet
from shared.record import Entry, ReadingEntry
from shared.units import decimal_text

_WORDS = TalkPatterns(Path(__file__).with_name("answers.yaml"))
_ORDINALS = (("first", 0), ("second", 1), ("third", 2), ("fourth", 3))
#: A number read at a higher cost than this beyond the cheapest way is not what the words say.
_DEARER = 0.5


@dataclass(frozen=True)
class Answer:
    """What words say to a question."""

    way: Literal["chosen", "yes", "denied", "struck"]
    choice: Choice | None = None
    """What was chosen; a value of its own where the question had it not."""


@dataclass(frozen=True)
class Put:
    """A question as it was put to the bench."""

    sheet: JobSheet
    entry: Entry
    choices: Choices
    unit: UnitName | None
    """The spoken unit of the entry's words, for a bare number that answers."""


@dataclass(frozen=True)
class _Line:
    """An answer's words: what opens it, and what is left between that and its closing words."""

    core: list[str]
    yes: bool
    denies: bool
    no_number: bool


def answer_in(text: str, put: Put) -> Answer | None:
    """Return the answer that words give to a question; None where they give none.

    Args:
        text: all that was said.
        put: the question.
    """
    words = said_words(text)
    if not words:
        return None
    if _WORDS.whole("strike", _stripped(words)):
        return Answer("struck")
    line = _line(words)
    if not line.core:
        return _plain(line, put)
    core, denied = _parted(line.core)
    if not core or (line.no_number and core == ["one"]):
        return None
    chosen = _chosen(core, put)
    if denied is not None:
        others = _chosen(denied, put)
        if len(chosen) != 1 or (others and others & chosen):
            return None
    if line.denies:
        return _instead(core, chosen, put)
    if len(chosen) == 1:
        return Answer("chosen", next(iter(chosen)))
    if not put.choices.offered and not line.yes and not line.no_number:
        return _own_value(core, put)
    return None


def _plain(line: _Line, put: Put) -> Answer | None:
    """Return what "yes" and "no" alone answer."""
    if line.yes == line.denies:
        return None
    if line.denies:
        return Answer("denied")
    return Answer("yes", put.choices.offered[0]) if len(put.choices.offered) == 1 else None


def _instead(core: Sequence[str], chosen: set[Choice], put: Put) -> Answer | None:
    """Return what "no, twenty nine" answers: a value in place of the one that was asked about."""
    if chosen:
        # "No, thirteen" to "thirteen or thirty?" may be "not thirteen" as well.
        return None
    return _own_value(core, put)


def _stripped(words: list[str]) -> list[str]:
    while n := _WORDS.leading("fillers", words):
        words = words[n:]
    return words


def _line(words: list[str]) -> _Line:
    yes = denies = False
    last = ""
    while words:
        taken = {name: _WORDS.leading(name, words) for name in ("affirms", "denies", "lead", "fillers")}
        name, most = max(taken.items(), key=lambda one: one[1])
        if not most:
            break
        yes, denies = yes or name == "affirms", denies or name == "denies"
        last, words = words[most - 1], words[most:]
    while words and (n := _WORDS.trailing("tail", words)):
        words = words[:-n]
    return _Line(words, yes, denies, bool(_WORDS.whole("no_number", [last])))


def _parted(core: list[str]) -> tuple[list[str], list[str] | None]:
    """Part "thirty not thirteen" into what is meant and what is not."""
    for at in range(len(core)):
        if n := _WORDS.leading("set_against", core[at:]):
            return core[:at], core[at + n :]
    return core, None


def _chosen(core: Sequence[str], put: Put) -> set[Choice]:
    """Return every choice that the words may mean, in any way of taking them."""
    offered = put.choices.offered
    found = _by_order(core, offered) if len(offered) > 1 else set()
    found |= _by_size(core, offered)
    found |= _by_number(core, put)
    return found | _by_name(core, put)


def _by_order(core: Sequence[str], offered: Sequence[Choice]) -> set[Choice]:
    found = {offered[at] for name, at in _ORDINALS if at < len(offered) and _WORDS.whole(name, core)}
    if len(offered) == 2 and _WORDS.whole("last", core):
        found.add(offered[1])
    return found


def _by_size(core: Sequence[str], offered: Sequence[Choice]) -> set[Choice]:
    values = [(choice.value, choice) for choice in offered if choice.value is not None]
    if len({value for value, _ in values}) < 2 or len(values) < len(offered):
        return set()
    values.sort(key=lambda one: one[0])
    found = set()
    if _WORDS.whole("lower", core):
        found.add(values[0][1])
    if _WORDS.whole("higher", core):
        found.add(values[-1][1])
    return found


def _by_number(core: Sequence[str], put: Put) -> set[Choice]:
    if not isinstance(put.entry, ReadingEntry):
        return set()
    found = set()
    for quantity in _quantities(core):
        for choice in put.choices.offered:
            item = put.sheet.measured.get(choice.item or put.entry.item)
            if item is None or choice.value is None:
                continue
            worth = {placing.value for placing in placings(quantity, item, put.sheet, put.unit)}
            if choice.value in worth:
                found.add(choice)
    # Where the value is the same everywhere, a number tells nothing.
    return found if len({choice.value for choice in put.choices.offered}) > 1 or len(found) == 1 else set()


def _by_name(core: Sequence[str], put: Put) -> set[Choice]:
    said = set(core) - {"the"}
    if not said:
        return set()
    found = set()
    for choice in put.choices.offered:
        forms = [set(said_words(form)) for form in names_of(put.sheet, put.entry, choice)]
        if any(said <= form for form in forms):
            found.add(choice)
    return found


def _own_value(core: Sequence[str], put: Put) -> Answer | None:
    """Return the one value that a number is worth for the entry's item, if it is only one."""
    if not isinstance(put.entry, ReadingEntry):
        return None
    item = put.sheet.measured.get(put.entry.item)
    if item is None or (put.entry.position is None) != (not item.positions):
        return None
    worth: set[Fraction] = set()
    for quantity in _quantities(core):
        if quantity.approximate or quantity.others:
            return None
        worth |= {p.value for p in placings(quantity, item, put.sheet, put.unit) if p.plausible}
    if len(worth) != 1:
        return None
    return Answer("chosen", Choice(value_exact=decimal_text(worth.pop())))


def _quantities(core: Sequence[str]) -> list[Quantity]:
    """Return the numbers that all of the words make, the likely ways of reading them."""
    tokens: Sequence[Token] = tokenize(" ".join(core))
    whole = [q for q in quantities_at(tokens, 0) if q.end == len(tokens) and q.value is not None]
    if not whole or any(q.approximate or q.others for q in whole):
        return []
    least = min(q.cost for q in whole)
    return [q for q in whole if q.cost <= least + _DEARER]
