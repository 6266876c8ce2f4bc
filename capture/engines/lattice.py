"""A word lattice: every path that the decoder kept, and how likely each number in the utterance is.

pocketsphinx writes a lattice in HTK's standard lattice format with a posterior on every link (The HTK
Book 3.4, chapter 20). The posteriors of the links that leave a node, made to sum to one, are the
chances of going that way, so the chance of a path is their product and the chance that some numbers
were said is the sum over all paths that say them.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

_FIELD = re.compile(r"(\w+)=(\S+)")
_SILENT = frozenset(["!SENT_START", "!SENT_END", "!NULL"])
#: How many different number sequences are followed at a node; the rest is too unlikely to matter.
_WIDEST = 16

_States = dict[tuple[str, ...], tuple[float, float, tuple[str, ...]]]


@dataclass(frozen=True)
class Lattice:
    """Nodes (words, empty where nothing is said) and links with their posterior."""

    words: tuple[str, ...]
    links: tuple[tuple[int, int, float], ...]
    """(from node, to node, posterior)."""
    start: int
    end: int


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
    links: list[tuple[int, int, float]] = []
    ends: dict[str, int] = {}
    for line in text.splitlines():
        if line.startswith("#"):
            continue
        fields = dict(_FIELD.findall(line))
        if "I" in fields:
            word = fields.get("W", "!NULL")
            words[int(fields["I"])] = "" if word in _SILENT or word[0] in "[<" else word
        elif "J" in fields:
            links.append((int(fields["S"]), int(fields["E"]), float(fields["p"])))
        else:
            ends |= {key: int(value) for key, value in fields.items() if key in ("start", "end")}
    if set(ends) != {"start", "end"} or sorted(words) != list(range(len(words))):
        raise ValueError("no word lattice")
    return Lattice(tuple(words[n] for n in range(len(words))), tuple(links), ends["start"], ends["end"])


def likely_sequences(lattice: Lattice, matters: Callable[[str], str]) -> list[Heard]:
    """Return what may have been said, paths that agree in what matters taken together, likeliest first.

    Args:
        lattice: of one utterance.
        matters: what of a word counts (empty: nothing); paths whose counting words are the same are one.
    """
    onward = _onward(lattice)
    # At each node: counting words so far -> (chance of all paths, chance of the best, its words).
    at: dict[int, _States] = defaultdict(dict)
    at[lattice.start][()] = (1.0, 1.0, ())
    for node in _in_order(lattice, onward):
        states = at.pop(node, {}) if node != lattice.end else {}
        word = lattice.words[node]
        counted = matters(word) if word else ""
        kept = sorted(states.items(), key=lambda item: -item[1][0])[:_WIDEST]
        for said, (chance, best, words) in kept:
            said_here = (*said, counted) if counted else said
            words_here = (*words, word) if word else words
            for after, share in onward[node]:
                old = at[after].get(said_here, (0.0, 0.0, ()))
                better = best * share > old[1]
                at[after][said_here] = (
                    old[0] + chance * share,
                    max(old[1], best * share),
                    words_here if better else old[2],
                )
    found = [Heard(chance, " ".join(words)) for chance, _, words in at[lattice.end].values()]
    return sorted(found, key=lambda heard: -heard.share)


def _onward(lattice: Lattice) -> dict[int, list[tuple[int, float]]]:
    """Return for each node where it goes on to, with chances that sum to one."""
    onward: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for start, end, posterior in lattice.links:
        onward[start].append((end, posterior))
    for node, ways in onward.items():
        total = sum(share for _, share in ways)
        onward[node] = [(end, share / total) for end, share in ways if share > 0] if total > 0 else []
    return onward


def _in_order(lattice: Lattice, onward: dict[int, list[tuple[int, float]]]) -> list[int]:
    """Return the nodes so that every link goes forward."""
    waiting: dict[int, int] = defaultdict(int)
    for ways in onward.values():
        for end, _ in ways:
            waiting[end] += 1
    ready = [node for node in range(len(lattice.words)) if not waiting[node]]
    ordered = []
    while ready:
        node = ready.pop()
        ordered.append(node)
        for end, _ in onward.get(node, ()):
            waiting[end] -= 1
            if not waiting[end]:
                ready.append(end)
    return ordered
