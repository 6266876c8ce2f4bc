"""Findings and actions with their part in the middle: "put the shaft back", "wear on the carbon is even"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

from extract.heard import Heard
from extract.word_sets import word_set
from shared.data_files import read_data

_FILE = Path(__file__).with_name("split_phrases.yaml")
_LONGEST_GAP = 6
_GAP_WORDS = word_set("split_phrases.gap_words")
_AFTER_FITTED = word_set("split_phrases.after_fitted")
_NEW = frozenset({"new", "fresh"})
#: What straightens a dent as well as it drives a part out, and what it is done on.
_BEATEN = frozenset({"tapped", "knocked", "hammered", "beat", "beaten", "pressed", "worked", "bent"})
_BLOCKS = frozenset({"anvil", "vice", "vise", "block", "bench", "dolly", "plate"})
_STOPS = frozenset({".", "?", "!", ";", "but", "so", "because"})


class SplitPhrase(NamedTuple):
    """One such phrase: its verb at ``start``, its ending at the tokens of ``tail``."""

    kind: str
    key: str
    start: int
    tail: tuple[int, int]
    form: str


class _Pattern(NamedTuple):
    kind: str
    key: str
    heads: frozenset[str]
    tails: tuple[tuple[str, ...], ...]
    """The longest first."""


@cache
def _patterns() -> tuple[_Pattern, ...]:
    data = read_data(_FILE)
    return tuple(
        _Pattern(
            entry["kind"],
            entry["key"],
            frozenset(str(head) for head in entry["heads"]),
            tuple(sorted((tuple(str(tail).split()) for tail in entry["tails"]), key=len, reverse=True)),
        )
        for entry in data
    )


def split_phrases(heard: Heard) -> Iterator[SplitPhrase]:
    """Yield the phrases of an utterance that have their part in the middle."""
    norms = [token.norm for token in heard.tokens]
    named = heard.mentions.of("command", "step", "item", "consumable")
    blocked = {i for m in named if m.cost < 1 for i in range(m.start, m.end)}
    taken: set[int] = set()
    words = set(norms)
    for pattern in _patterns():
        if pattern.heads.isdisjoint(words):
            continue
        for i, norm in enumerate(norms):
            if norm not in pattern.heads or i in taken or i in blocked:
                continue
            tail = _tail_after(norms, i + 1, pattern.tails)
            if tail is None or not _gap_is_object(heard, i + 1, tail[0], pattern.kind):
                continue
            if norms[tail[1] - 1 : tail[1] + 1] == ["out", "of"]:
                continue
            if norm in _BEATEN and norms[tail[1] - 1] == "out" and _straightens(heard, i, tail[1]):
                continue
            bare = pattern.key == "fitted" or norms[tail[0] : tail[1]] in (["in"], ["on"])
            if bare and (not _ends_there(heard, tail) or _names_side(heard, i)):
                continue
            if tail[0] == i + 1 and not _NEW.isdisjoint(norms[tail[1] : tail[1] + 1]):
                # "Put in new bolts" has nothing in the middle: it is a phrase of its own.
                continue
            taken.update((i, *range(*tail)))
            renewed = pattern.key == "fitted" and bool(_NEW & set(norms[i + 1 : tail[0]]))
            key = "renewed" if renewed else pattern.key
            yield SplitPhrase(pattern.kind, key, i, tail, f"{norm} … {' '.join(norms[tail[0] : tail[1]])}")


def _straightens(heard: Heard, start: int, end: int) -> bool:
    """Whether beating it out takes away a dent ("cowl's dented, I tapped it out on the anvil")."""
    dented = any(m.start < start and m.keys[0] in ("bent", "dented") for m in heard.mentions.of("condition"))
    on_something = heard.norms(end, end + 1) in (["on"], ["over"])
    return dented or (on_something and not _BLOCKS.isdisjoint(heard.norms(end, end + 4)))


def _names_side(heard: Heard, at: int) -> bool:
    """Whether "left" is a side ("left bearing in"), and leaves nothing ("left the bearing in")."""
    side = any(m.start == at for m in heard.mentions.of("position"))
    return side and heard.norms(at + 1, at + 2)[:1] not in (["the"], ["it"], ["them"], ["that"], ["'em"])


def _ends_there(heard: Heard, tail: tuple[int, int]) -> bool:
    """Whether "in" or "on" ends what is said, or a part follows ("slid it on the shaft")."""
    following = heard.norms(tail[1], tail[1] + 1)
    if not following or following[0] in _AFTER_FITTED or heard.clause_at(tail[1]).start == tail[1]:
        return True
    return any(0 <= m.start - tail[1] <= 2 for m in heard.mentions.of("part", "other_part"))


def _tail_after(norms: Sequence[str], start: int, tails: Sequence[tuple[str, ...]]) -> tuple[int, int] | None:
    for at in range(start, min(start + _LONGEST_GAP, len(norms))):
        for words in tails:
            if tuple(norms[at : at + len(words)]) == words:
                return at, at + len(words)
        if norms[at] in _STOPS:
            return None
    return None


def _gap_is_object(heard: Heard, start: int, end: int, kind: str) -> bool:
    """Whether what stands in the middle can be the part: a part, a pronoun, a determiner, an "old one"."""
    words = heard.norms(start, end)
    if kind == "condition":
        return not any(word in ("but", "and", "so", "i", "we") for word in words)
    if any(m.start >= start and m.end <= end for m in heard.mentions.of("part", "other_part")):
        return True
    return all(word in _GAP_WORDS for word in words)
