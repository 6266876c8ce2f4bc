"""A word lattice: every path that the decoder kept, and how likely each thing that may have been said is.

pocketsphinx writes a lattice in HTK's standard lattice format (The HTK Book 3.4, chapter 20) with the sound's
log likelihood and a posterior on every link. Its posteriors know only pairs of words; so they serve to leave
out hopeless links, and the chances are summed up anew with the trigram model of the search: "zero point
three" and "sierra point three" differ by what stands two words back.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass
from math import exp, log1p
from typing import Any, NamedTuple

#: Lines of nodes and links as the library writes them: thousands of links in an utterance.
_NODE = re.compile(r"^I=(\d+)\s+t=(\S+)\s+W=(\S+)", re.MULTILINE)
_LINK = re.compile(r"^J=\d+\s+S=(\d+)\s+E=(\d+)\s+a=(\S+)\s+p=(\S+)", re.MULTILINE)
_END = re.compile(r"^(start|end)=(\d+)", re.MULTILINE)
_SILENT = frozenset(["!SENT_START", "!SENT_END", "!NULL"])
#: How many different ways to come to a node are followed; the rest is too unlikely to matter.
_WIDEST = 40
#: Links less likely than this are left out.
_HOPELESS = 1e-6
#: A pause between two words, as the decoder reckons it (its default).
_PAUSE = math.log(0.005)

#: Log probability of a word after two others, nearest first; "" where there is none.
Language = Callable[[str, str, str], float]


class Link(NamedTuple):
    """From the start of one word to the start of the next."""

    start: int
    end: int
    sound: float
    """Log likelihood of the word at ``start``, nats."""
    posterior: float
    """By pairs of words, 0 to 1."""


@dataclass(frozen=True)
class Lattice:
    """Nodes (words, empty where nothing is said) and links with their posterior."""

    words: tuple[str, ...]
    links: tuple[Link, ...]
    start: int
    end: int
    starts_s: tuple[float, ...] = ()
    """When each node begins, seconds from the start of the sound; empty where nobody wrote it."""


@dataclass(frozen=True)
class Heard:
    """All paths that agree in what matters: how likely they are together, and the words of the likeliest."""

    share: float
    """Posterior, 0 to 1."""
    text: str


def read_lattice(text: str) -> Lattice:
    """Read a lattice in HTK's standard lattice format.

    Raises:
        ValueError: not a lattice.
    """
    nodes = _NODE.findall(text)
    ends = {name: int(node) for name, node in _END.findall(text)}
    numbers = [int(node) for node, _, _ in nodes]
    if (
        set(ends) != {"start", "end"}
        or numbers != list(range(len(nodes)))
        or max(ends.values()) >= len(nodes)
    ):
        raise ValueError("no word lattice")
    words = tuple("" if word in _SILENT or word[0] in "[<" else word for _, _, word in nodes)
    links = tuple(
        Link(int(start), int(end), float(sound), float(posterior))
        for start, end, sound, posterior in _LINK.findall(text)
    )
    if len(links) != text.count("\nJ="):
        raise ValueError("a word lattice with links that cannot be read")
    return Lattice(words, links, ends["start"], ends["end"], tuple(float(at_s) for _, at_s, _ in nodes))


#: Words one behind the other, the last one first: every way shares what stands before with others.
_Chain = tuple["_Chain", str] | tuple[()]
#: Log of the sum of the likelihoods of all paths that agree in what matters and in their last two words; that
#: of the best of them, and its words; number of what was said that matters, number of the last two words.
_Way = list[Any]


class _Numbered:
    """Numbers what paths are told apart by: numbers are compared in no time, rows of words are not."""

    def __init__(self, first: Hashable) -> None:
        self._numbers: dict[Hashable, int] = {first: 0}
        self.of: list[Any] = [first]

    def __call__(self, what: Hashable) -> int:
        number = self._numbers.setdefault(what, len(self.of))
        if number == len(self.of):
            self.of.append(what)
        return number


def likely_sequences(
    lattice: Lattice, matters: Callable[[str], str], language: Language, *, weight: float, scale: float
) -> list[Heard]:
    """Return what may have been said, paths that agree in what matters taken together, likeliest first.

    Args:
        lattice: of one utterance.
        matters: what of a word counts (empty: nothing); paths whose counting words are the same are one.
        language: the model that the search used.
        weight: how much the search weighed language against sound.
        scale: what all log likelihoods are divided by before they are taken for those of a posterior.
    """
    onward: dict[int, list[Link]] = defaultdict(list)
    for link in lattice.links:
        if link.posterior >= _HOPELESS:
            onward[link.start].append(link)
    search = _Search(matters, language, weight, scale)
    at: dict[int, dict[int, _Way]] = defaultdict(dict)
    at[lattice.start][0] = [0.0, 0.0, (), 0, 0]
    for node in _in_order(lattice, onward):
        if node == lattice.end:
            continue
        ways = sorted(at.pop(node, {}).values(), key=_less_likely)[:_WIDEST]
        for link in onward.get(node, ()):
            word = "</s>" if link.end == lattice.end else lattice.words[link.end]
            search.go(ways, word, link.sound, at[link.end])
    return _together(at[lattice.end].values(), search.said.of)


def _less_likely(way: _Way) -> float:
    return -float(way[0])


class _Search:
    """Goes from node to node with all ways at once."""

    def __init__(
        self, matters: Callable[[str], str], language: Language, weight: float, scale: float
    ) -> None:
        self._matters, self._language = matters, language
        self._weight, self._scale = weight, scale
        self.said = _Numbered(())
        """Rows of words that matter."""
        self._pairs = _Numbered(("<s>", ""))
        """The last two words, the last one first."""
        self._counted: dict[str, str] = {"": "", "</s>": ""}

    def go(self, ways: Sequence[_Way], word: str, sound: float, there: dict[int, _Way]) -> None:
        """Go one link further.

        Args:
            ways: to its start.
            word: at its end; empty where nothing is said.
            sound: log likelihood of the word at its start.
            there: the ways to its end so far.
        """
        steps = self._steps({way[4] for way in ways}, word, sound)
        says = self._says({way[3] for way in ways}, word)
        spoken = word and word != "</s>"
        for total, best, words, said, pair in ways:
            step, pair = steps[pair]
            said = says[said]
            total, best = total + step, best + step
            key = said << 32 | pair
            old = there.get(key)
            if old is None:
                there[key] = [total, best, (words, word) if spoken else words, said, pair]
                continue
            if best > old[1]:
                old[1], old[2] = best, (words, word) if spoken else words
            high, low = (old[0], total) if old[0] > total else (total, old[0])
            old[0] = high + log1p(exp(low - high))

    def _steps(self, pairs: Iterable[int], word: str, sound: float) -> dict[int, tuple[float, int]]:
        """Return what a step costs behind each two words, and the two words behind which it ends."""
        if not word:
            return {pair: ((sound + _PAUSE) / self._scale, pair) for pair in pairs}
        steps = {}
        for pair in pairs:
            last, before = self._pairs.of[pair]
            step = (sound + self._weight * self._language(word, last, before)) / self._scale
            steps[pair] = step, pair if word == "</s>" else self._pairs((word, last))
        return steps

    def _says(self, rows: Iterable[int], word: str) -> dict[int, int]:
        """Return what has been said that matters once a word more is."""
        if word not in self._counted:
            self._counted[word] = self._matters(word)
        counted = self._counted[word]
        if not counted:
            return {row: row for row in rows}
        return {row: self.said((*self.said.of[row], counted)) for row in rows}


def _together(ways: Collection[_Way], said: Sequence[tuple[str, ...]]) -> list[Heard]:
    if not ways:
        return []
    most = max(way[0] for way in ways)
    whole = sum(exp(way[0] - most) for way in ways)
    found: dict[int, tuple[float, float, _Chain]] = {}
    for total, best, words, row, _ in ways:
        share, best_of_all, text = found.get(row, (0.0, -math.inf, ()))
        if best > best_of_all:
            best_of_all, text = best, words
        found[row] = share + exp(total - most) / whole, best_of_all, text
    heard = (Heard(share, _text_of(words)) for share, _, words in found.values())
    return sorted(heard, key=lambda one: -one.share)


def _text_of(words: _Chain) -> str:
    said: list[str] = []
    while words:
        words, word = words
        said.append(word)
    return " ".join(reversed(said))


def _in_order(lattice: Lattice, onward: dict[int, list[Link]]) -> list[int]:
    """Return the nodes so that every link goes forward."""
    waiting: dict[int, int] = defaultdict(int)
    for ways in onward.values():
        for link in ways:
            waiting[link.end] += 1
    ready = [node for node in range(len(lattice.words)) if not waiting[node]]
    ordered = []
    while ready:
        node = ready.pop()
        ordered.append(node)
        for link in onward.get(node, ()):
            waiting[link.end] -= 1
            if not waiting[link.end]:
                ready.append(link.end)
    return ordered
