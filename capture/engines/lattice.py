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
from collections.abc import Callable
from dataclasses import dataclass

_FIELD = re.compile(r"(\w+)=(\S+)")
_SILENT = frozenset(["!SENT_START", "!SENT_END", "!NULL"])
#: How many different ways to come to a node are followed; the rest is too unlikely to matter.
_WIDEST = 40
#: Links less likely than this are left out.
_HOPELESS = 1e-6
#: A pause between two words, as the decoder reckons it (its default).
_PAUSE = math.log(0.005)

#: Log probability of a word after two others, nearest first; "" where there is none.
Language = Callable[[str, str, str], float]
_Key = tuple[tuple[str, ...], str, str]


@dataclass(frozen=True, slots=True)
class Link:
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
    words: dict[int, str] = {}
    starts_s: dict[int, float] = {}
    links: list[Link] = []
    ends: dict[str, int] = {}
    for line in text.splitlines():
        if line.startswith("#"):
            continue
        fields = dict(_FIELD.findall(line))
        if "I" in fields:
            word = fields.get("W", "!NULL")
            words[int(fields["I"])] = "" if word in _SILENT or word[0] in "[<" else word
            starts_s[int(fields["I"])] = float(fields.get("t", "nan"))
        elif "J" in fields:
            links.append(Link(int(fields["S"]), int(fields["E"]), float(fields["a"]), float(fields["p"])))
        else:
            ends |= {key: int(value) for key, value in fields.items() if key in ("start", "end")}
    if set(ends) != {"start", "end"} or sorted(words) != list(range(len(words))):
        raise ValueError("no word lattice")
    nodes = range(len(words))
    times = tuple(starts_s[n] for n in nodes)
    return Lattice(tuple(words[n] for n in nodes), tuple(links), ends["start"], ends["end"], times)


@dataclass
class _Way:
    """All paths to a node that agree in what matters and in their last two words."""

    total: float
    """Log of the sum of their likelihoods."""
    best: float
    words: tuple[str, ...]
    """Of the best of them."""


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
    at: dict[int, dict[_Key, _Way]] = defaultdict(dict)
    at[lattice.start][(), "<s>", ""] = _Way(0.0, 0.0, ())
    for node in _in_order(lattice, onward):
        if node == lattice.end:
            continue
        ways = sorted(at.pop(node, {}).items(), key=lambda item: -item[1].total)[:_WIDEST]
        for link in onward.get(node, ()):
            for key, way in ways:
                _go(lattice, link, key, way, at[link.end], matters, language, weight, scale)
    return _together(at[lattice.end])


def _go(
    lattice: Lattice,
    link: Link,
    key: _Key,
    way: _Way,
    there: dict[_Key, _Way],
    matters: Callable[[str], str],
    language: Language,
    weight: float,
    scale: float,
) -> None:
    """Go one link further."""
    said, last, before = key
    word = "</s>" if link.end == lattice.end else lattice.words[link.end]
    step = link.sound + (weight * language(word, last, before) if word else _PAUSE)
    words = way.words
    if word and word != "</s>":
        counted = matters(word)
        key = ((*said, counted) if counted else said, word, last)
        words = (*words, word)
    total, best = way.total + step / scale, way.best + step / scale
    old = there.get(key)
    if old is None:
        there[key] = _Way(total, best, words)
        return
    if best > old.best:
        old.best, old.words = best, words
    high, low = max(total, old.total), min(total, old.total)
    old.total = high + math.log1p(math.exp(low - high))


def _together(ways: dict[_Key, _Way]) -> list[Heard]:
    if not ways:
        return []
    most = max(way.total for way in ways.values())
    whole = sum(math.exp(way.total - most) for way in ways.values())
    found: dict[tuple[str, ...], tuple[float, float, str]] = {}
    for (said, _, _), way in ways.items():
        share, best, text = found.get(said, (0.0, -math.inf, ""))
        if way.best > best:
            best, text = way.best, " ".join(way.words)
        found[said] = share + math.exp(way.total - most) / whole, best, text
    return sorted((Heard(share, text) for share, _, text in found.values()), key=lambda heard: -heard.share)


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
