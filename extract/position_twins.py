"""Numbers of positions that were heard as the words they sound like: "one is nineteen to is eighteen".

Which words those are is worked out from the pronunciation dictionary (``number_twins.yaml``). Such a word is
the position only where the words allow nothing else: behind the noun that positions are counted by, before a
copula and a value at the head of a breath, or in its turn between its neighbours. "To" between two values
that rise is a range and stays one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

from extract.heard import Heard, read_anew
from extract.number_cuts import split_cost
from extract.number_words import ONES, TEENS
from extract.numbers import is_number_word
from extract.pipeline import TalkPipeline
from extract.position_spans import PositionBook, position_book
from extract.quantity_arcs import Quantity, quantities_at
from extract.reading_drafts import ReadingDraft
from extract.search_states import Outset
from extract.spoken_units import unit_names_at
from extract.tokens import Token
from extract.word_sets import word_set
from shared.data_files import read_data
from shared.job_sheet import JobSheet
from shared.record import Candidate

_FILE = Path(__file__).with_name("number_twins.yaml")
_COPULAS = frozenset({"is", "'s", "was", "reads"})
_JOINTS = frozenset({",", "-", ":", "at"})
_LEADS = word_set("clauses.fillers")
#: Behind these the noun is spoken of, and no piece of it by its number ("set the vane to thirty").
_DETERMINERS = frozenset({"the", "a", "an", "this", "that", "each", "every", "per"})
_RANGES = frozenset({"to"})
#: From this cost on a number is cut in two ("twenty three").
_CUTS = 0.9
_VALUES: Mapping[str, int] = {**ONES, **TEENS}


class Repaired(NamedTuple):
    """A word read as the number of a position."""

    at: int
    heard: str
    number: str
    position: str
    sure: bool = True
    """False where it may as well be what it was heard as, so that it stays so."""


class _Turn(NamedTuple):
    """What stands before a word: how it is led to, and by which value of which position."""

    led: bool
    """At the head of the breath, behind a value or an item."""
    number: int | None = None
    """The position whose value stands right before it."""
    value: Quantity | None = None


@cache
def twins(kind: str) -> Mapping[str, str]:
    """Return the number of each word that sounds the same ("same") or nearly the same ("near")."""
    found: dict[str, list[str]] = read_data(_FILE)[kind]
    return {word: number for number, words in found.items() for word in words}


class PositionTwins:
    """Puts right the misheard positions of one sheet's talk."""

    def __init__(self, sheet: JobSheet, pipeline: TalkPipeline) -> None:
        self._items = sheet.measured
        self._book = position_book(sheet)
        self._pipeline = pipeline

    def put_right(self, heard: Heard, outset: Outset) -> tuple[Heard, tuple[Repaired, ...]]:
        """Return the words with such positions as numbers, and what was repaired.

        Args:
            heard: one utterance.
            outset: what the talk was about before it.
        """
        tokens = list(heard.tokens)
        repaired: list[Repaired] = []
        for i, token in enumerate(heard.tokens):
            number = twins("same").get(token.norm) or twins("near").get(token.norm)
            if number is None or i in heard.walls:
                continue
            sure = self._is_position(heard, tokens, i, number, outset)
            if sure is None:
                continue
            if sure:
                tokens[i] = token._replace(norm=number)
            position = self._book.by_number[_VALUES[number]]
            repaired.append(Repaired(i, token.norm, number, position, sure))
        if not any(repair.sure for repair in repaired):
            return heard, tuple(repaired)
        return read_anew(self._pipeline, heard, tokens), tuple(repaired)

    def _is_position(
        self, heard: Heard, tokens: Sequence[Token], i: int, number: str, outset: Outset
    ) -> bool | None:
        """Tell whether a word is a position for sure (True), maybe (False) or not at all (None)."""
        value = _VALUES[number]
        behind = _value_behind(tokens, i) if self._has(heard, i, value, outset) else None
        if behind is None:
            return None
        copula, amounts = behind
        onward = [amount for amount in amounts if _label_at(tokens, amount.end, value + 1)]
        if _is_counted(tokens, i, self._book):
            return True
        turn = self._turn(heard, tokens, i, outset)
        if not turn.led:
            return None
        follows = turn.number == value - 1
        if _may_be_range(tokens[i].norm, copula, turn.value, onward or amounts):
            return False if follows and onward else None
        if tokens[i].norm in twins("near"):
            return (follows or (bool(onward) and copula)) or None
        ends = any(amount.end == len(tokens) for amount in amounts)
        return (copula or (follows and (bool(onward) or ends))) or None

    def _has(self, heard: Heard, i: int, value: int, outset: Outset) -> bool:
        """Whether what is talked about has a position of that number."""
        key = self._book.by_number.get(value)
        if key is None:
            return False
        named = [m for m in heard.mentions.of("item") if m.end <= i and m.cost < 1]
        named = [m for m in named if not any(m.overlaps(o) and o.cost < m.cost for o in named)]
        items: Iterable[str] = named[-1].keys if named else (outset.item,) if outset.item else ()
        return any(key in self._items[item].positions for item in items)

    def _turn(self, heard: Heard, tokens: Sequence[Token], i: int, outset: Outset) -> _Turn:
        at = i
        while at > 0 and tokens[at - 1].norm in _LEADS:
            at -= 1
        if at == 0:
            last = (outset.last_positions or {}).get(outset.item or "")
            numbers = [n for n, key in self._book.by_number.items() if key == last]
            return _Turn(True, numbers[0] if numbers else None, outset.last)
        if any(m.end == at and m.cost < 1 for m in heard.mentions.of("item")):
            return _Turn(True)
        if not _ends_value(tokens, at):
            return _Turn(False)
        for start in range(at - 1, -1, -1):
            label = _number_of(tokens[start].norm)
            if label is None or not 0 < label <= max(self._book.by_number, default=0):
                continue
            behind = _value_behind(tokens, start)
            ending = [amount for amount in behind[1] if amount.end == at] if behind is not None else []
            if ending and split_cost(tokens, start) < _CUTS:
                return _Turn(True, label, ending[0])
        return _Turn(True, None, next(_ending_at(tokens, at), None))


def note_repairs(drafts: Sequence[ReadingDraft], repaired: Sequence[Repaired]) -> None:
    """Write into the evidence which word was read as a position; ask about all behind one that may be one."""
    for repair in repaired:
        behind = sorted((draft for draft in drafts if draft.start > repair.at), key=lambda draft: draft.start)
        if not repair.sure:
            for draft in behind:
                places = {draft.position, repair.position if draft is behind[0] else None}
                offered = [Candidate(position=place) for place in sorted(filter(None, places))]
                draft.ask(f"{repair.heard!r} may have been {repair.number!r}", *offered)
        elif behind:
            behind[0].repairs.append(f"{repair.heard} for {repair.number}")


def _is_counted(tokens: Sequence[Token], i: int, book: PositionBook) -> bool:
    """Whether the noun that positions are counted by stands before it ("vane to is thirty")."""
    before = [token.norm for token in tokens[max(0, i - 2) : i]]
    if not before or not (before[-1] in book.heads or before[-1] == "number"):
        return False
    return len(before) < 2 or before[0] not in _DETERMINERS


def _value_behind(tokens: Sequence[Token], i: int) -> tuple[bool, list[Quantity]] | None:
    """Return whether a copula stands behind a position, and the values that can stand there."""
    at = i + 1
    copula = at < len(tokens) and tokens[at].norm in _COPULAS
    if at < len(tokens) and (copula or tokens[at].norm in _JOINTS):
        at += 1
    if at >= len(tokens):
        return None
    amounts = [amount for amount in quantities_at(tokens, at) if amount.value is not None]
    return (copula, amounts) if amounts else None


def _may_be_range(word: str, copula: bool, before: Quantity | None, amounts: Sequence[Quantity]) -> bool:
    """Whether "to" may lead from the value before to a larger one."""
    if word not in _RANGES or copula or before is None or before.value is None:
        return False
    return any(amount.value is not None and amount.value > before.value for amount in amounts)


def _label_at(tokens: Sequence[Token], at: int, value: int) -> bool:
    """Whether a position of that number, or what sounds like it, and its value stand at a token."""
    while at < len(tokens) and tokens[at].norm in _LEADS:
        at += 1
    if at >= len(tokens):
        return False
    norm = tokens[at].norm
    number = _number_of(norm) or _VALUES.get(twins("same").get(norm) or twins("near").get(norm, ""))
    return number == value and _value_behind(tokens, at) is not None


def _number_of(norm: str) -> int | None:
    return int(norm) if norm.isdecimal() and len(norm) <= 2 else _VALUES.get(norm)


def _ends_value(tokens: Sequence[Token], at: int) -> bool:
    if is_number_word(tokens[at - 1]):
        return True
    units = (unit_names_at(tokens, start) for start in range(max(0, at - 3), at))
    return any(names and end == at for names, end in units)


def _ending_at(tokens: Sequence[Token], at: int) -> Iterator[Quantity]:
    for start in range(max(0, at - 4), at):
        yield from (amount for amount in quantities_at(tokens, start) if amount.end == at and amount.value)
