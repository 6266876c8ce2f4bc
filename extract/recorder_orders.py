"""Orders to the recorder: stop listening, go on listening, in all the ways that people give them.

Not a list of sentences but how an order is made: small words, a polite or an indirect opening, the
verb with the recorder or without, small words again. An order that names the recorder holds
wherever it stands; one that does not ("carry on") only where nothing else is said beside it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Literal

from extract.heard import Heard
from shared.data_files import read_data

_FILE = Path(__file__).with_name("recorder_orders.yaml")
_NAMED = re.compile(r"\{(\w+)\}")
_STOPS = frozenset(".?!;:")
_SILENT = frozenset({",", "-", "'", '"', "…"})
#: So many words behind an order may put it off ("resume the recording on monday").
_PUT_OFF = 4
Way = Literal["named", "alone", "leads"]


@dataclass(frozen=True)
class Order:
    """An order at tokens ``start`` to before ``end``."""

    start: int
    end: int
    way: Way
    """It names the recorder; it stands alone; or it leads, and more is said behind it."""


def pause_order(heard: Heard) -> Order | None:
    """Return the order to stop listening that an utterance holds, if it holds one."""
    for sentence in _sentences(heard):
        for order in sentence.orders("stop_recorder", "stop_alone", "stop_tail", "not_stop"):
            if order.way != "leads":
                return order
    return None


def resume_order(heard: Heard) -> Order | None:
    """Return the order to listen again; of one that leads, the caller judges what is said behind it."""
    sentences = _sentences(heard)
    small = [s.line.behind(0, "tail") == len(s.line.words) for s in sentences]
    found: list[Order] = []
    for n, sentence in enumerate(sentences):
        for order in sentence.orders("go_recorder", "go_alone", "tail", "not_before"):
            way = order.way
            if (
                way != "named"
                and not all(small[:n])
                and not (n + 1 == len(sentences) and _resumes(order, heard))
            ):
                continue
            if way == "alone" and not all(small[n + 1 :]):
                way = "leads"
            found.append(replace(order, way=way))
    return min(found, key=lambda order: (order.way == "leads", order.start), default=None)


def stands_alone(order: Order, heard: Heard) -> bool:
    """Whether an order is all that is said, small words aside."""
    sentences = _sentences(heard)
    own = [s for s in sentences if s.start <= order.start < s.end]
    small = all(s.line.behind(0, "tail") == len(s.line.words) for s in sentences if s not in own)
    return small and all(s.says_only(order) for s in own)


def _resumes(order: Order, heard: Heard) -> bool:
    """Whether it is put in words that nobody uses to a person ("go on" is said to anybody)."""
    return heard.tokens[order.start].norm in ("resume", "continue", "unpause", "restart")


@dataclass(frozen=True)
class _Sentence:
    """Tokens ``start`` to before ``end``, and the words of them that are said aloud."""

    start: int
    end: int
    places: tuple[int, ...]
    line: _Line

    def orders(self, named: str, alone: str, tail: str, put_off: str) -> list[Order]:
        """Return the orders in it, those that name the recorder first."""
        line = self.line
        found = [
            self._order(span, "named")
            for span in line.spans(named)
            if not line.holds(line.opening(span[0]) - 1, "not_after")
            and not line.puts_off(span[1], tail, put_off)
        ]
        for span in line.spans(alone):
            opens = line.opening(span[0])
            closes = line.behind(span[1], tail) == len(line.words)
            if line.fillers_end(opens, tail) < opens:
                marked = line.holds(opens - 1, "order_marks") or "please" in line.words[span[1] :]
                if not (closes and marked and line.words[span[0]] in ("resume", "unpause")):
                    continue
            if closes or not line.puts_off(span[1], tail, put_off):
                found.append(self._order(span, "alone" if closes else "leads"))
        return found

    def says_only(self, order: Order) -> bool:
        """Whether it holds an order and small words."""
        begin, end = self.places.index(order.start), self.places.index(order.end - 1) + 1
        opens = self.line.opening(begin)
        return self.line.fillers_end(opens, "tail") >= opens and self.line.behind(end, "tail") == len(
            self.line.words
        )

    def _order(self, span: tuple[int, int], way: Way) -> Order:
        return Order(self.places[span[0]], self.places[span[1] - 1] + 1, way)


def _sentences(heard: Heard) -> list[_Sentence]:
    norms = [token.norm for token in heard.tokens]
    bounds = [-1, *(i for i, norm in enumerate(norms) if norm in _STOPS), len(norms)]
    found: list[_Sentence] = []
    for before, end in pairwise(bounds):
        places = tuple(i for i in range(before + 1, end) if norms[i] not in _SILENT)
        if places:
            found.append(_Sentence(before + 1, end, places, _Line([norms[i] for i in places])))
    return found


class _Line:
    """The words of one sentence as a line of text, addressed by word."""

    def __init__(self, words: Sequence[str]) -> None:
        self.words = list(words)
        self.text = " ".join(words)
        self._starts = [0, *accumulate(len(word) + 1 for word in words)]
        self._word_at = {at: n for n, at in enumerate(self._starts)}

    def spans(self, name: str) -> list[tuple[int, int]]:
        """Return where a pattern stands, the longest at each word, none inside another."""
        found: list[tuple[int, int]] = []
        if _anywhere(name).search(self.text) is None:
            return found
        for start in range(len(self.words)):
            end = self._end_at(name, start)
            if end > start and not (found and end <= found[-1][1]):
                found.append((start, end))
        return found

    def opening(self, begin: int) -> int:
        """Return where the polite opening before a word begins; the word itself without one."""
        starts = [at for at in range(max(0, begin - 9), begin) if begin in self._ends_at("polite", at)]
        return min(starts, default=begin)

    def fillers_end(self, end: int, tail: str) -> int:
        """Return how far small words reach from the start towards a word."""
        at = 0
        while at < end:
            following = max((e for e in self._ends_at(tail, at) if e <= end), default=-1)
            if following <= at:
                break
            at = following
        return at

    def behind(self, start: int, tail: str) -> int:
        """Return the end of the small words behind an order."""
        at = start
        while at < len(self.words):
            following = self._end_at(tail, at)
            if following <= at:
                break
            at = following
        return at

    def holds(self, at: int, name: str) -> bool:
        """Whether a word is one of a pattern's."""
        return 0 <= at < len(self.words) and self._end_at(name, at) == at + 1

    def puts_off(self, end: int, tail: str, words: str) -> bool:
        """Whether what follows says that it is not for now, or of another's things."""
        at = self.behind(end, tail)
        days = range(at, min(at + _PUT_OFF, len(self.words)))
        return self.holds(at, words) or any(self.holds(i, "not_now") for i in days)

    def _end_at(self, name: str, start: int) -> int:
        """Return the end of the longest way that a pattern matches from a word on; -1 for none."""
        return max(self._ends_at(name, start), default=-1)

    def _ends_at(self, name: str, start: int) -> list[int]:
        matches = (pattern.match(self.text, self._starts[start]) for pattern in _ways(name))
        ends = (match.end() for match in matches if match is not None)
        return [self._word_at[end + 1] for end in ends if end + 1 in self._word_at]


@cache
def _ways(name: str) -> tuple[re.Pattern[str], ...]:
    """Return a pattern's ways, each to be tried by itself so that the longest wins."""
    return tuple(re.compile(rf"(?:{_filled(way)})(?= |$)") for way in _split(_data()[name]))


@cache
def _anywhere(name: str) -> re.Pattern[str]:
    """Return what finds out in one go that a pattern stands nowhere in a line, as it mostly does."""
    return re.compile(rf"(?:^|(?<= ))(?:{'|'.join(way.pattern for way in _ways(name))})")


def _split(text: str) -> list[str]:
    """Cut a pattern at its outermost bars."""
    ways, depth, at = [], 0, 0
    for i, char in enumerate(text):
        depth += (char == "(") - (char == ")")
        if char == "|" and depth == 0:
            ways.append(text[at:i])
            at = i + 1
    cut = [way.strip() for way in [*ways, text[at:]] if way.strip()]
    return [one for way in cut for one in (_split(_data()[way[1:-1]]) if _NAMED.fullmatch(way) else [way])]


@cache
def _filled(text: str) -> str:
    return _NAMED.sub(lambda m: f"(?:{_filled(_data()[m[1]])})", text)


@cache
def _data() -> dict[str, str]:
    data: dict[str, str] = read_data(_FILE)
    return {name: _joined(" ".join(text.split())) for name, text in data.items()}


def _joined(text: str) -> str:
    """Take out the spaces that a broken line left behind a bar; "(?: again| now)" keeps its own."""
    spaced: list[bool] = []
    kept: list[str] = []
    for i, char in enumerate(text):
        if char == "(":
            spaced.append(text.startswith("(?: ", i))
        elif char == ")":
            spaced.pop()
        if char == " " and kept[-1:] == ["|"] and not (spaced and spaced[-1]):
            continue
        kept.append(char)
    return "".join(kept)
