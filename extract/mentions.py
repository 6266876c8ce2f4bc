"""What an utterance names: items, parts, positions, findings, actions, commands and cues.

The pipeline finds every known phrase; here the longest wins, a phrase inside another thing's name
falls away ("wear" in "wear ring"), and words that sound like a known one are mended where the
phrase that comes out fits.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from extract.interjections import exclaimed
from extract.machines_elsewhere import MACHINES, machines_elsewhere
from extract.near_sounds import neighbours_fit
from extract.number_words import NUMBER_WORDS, TENS
from extract.pipeline import TalkPipeline
from extract.shared_nouns import shared_nouns
from extract.sheet_phrases import WEAK, Phrase
from extract.sounding import sound_of
from extract.split_words import cut_wrongly
from extract.spoken_units import unit_names_at
from extract.tokens import Token
from extract.within_names import (
    begins_in_name,
    ends_an_item,
    holds_no_time,
    inside_longer,
    is_place_head,
    is_setting,
    names_a_hole,
    only_compared,
    stage_behind_name,
)
from extract.word_sets import word_set
from shared.data_files import read_data

_MISHEARINGS = Path(__file__).with_name("mishearings.yaml")
_REPAIR_COST = 0.6
_SMALL = frozenset({"and", "n", "in"})
#: "Pinion since they come as a pair" are no shims, "cap bolts forty" none "for top".
_AS_SAID = TENS.keys() | word_set("mentions.as_said")
_LEADS = frozenset({"so", "now", "okay", "ok", "right", "then", "alright", "again", ",", "."})
_OBJECTS = frozenset({"it", "her", "him", "them"})
#: So many words may stand between a misheard item and its value ("end plate came to 0.12").
_VALUE_REACH = 2
#: Kinds that compete for the same words; the longest phrase takes them.
_NAMES = ("part", "other_part")
_FINDINGS = ("condition", "action")
_MENDED_KINDS = ("part", "other_part", "item", "position", "consumable")
#: In their names the noun of a machine is none ("the motor at the coupling").
_PLACED_KINDS = (*_NAMES, "item", "position", "step", "photo", "consumable")
_IDIOMS = {
    "conditional_idiom": ("conditional", "future", "question"),
    "future_idiom": ("future", "question", "hedge", "elsewhere", "conditional", "negation", "as_left"),
    "hedge_idiom": ("hedge",),
    "undone_idiom": ("undone",),
    "skipped_idiom": ("skipped",),
    "correction": ("future",),
    # "More or less" compares nothing.
    "hedge": ("conditional", "negation", "difference_after", "limit_after", "alternative"),
    "as_found": ("future",),
    "negation_idiom": ("negation", "correction", "limit_before", "limit_after", "difference_after"),
}


@dataclass(frozen=True, slots=True)
class Mention:
    """One phrase in an utterance and what it names."""

    kind: str
    keys: tuple[str, ...]
    """What it may name, in sheet order; one unless the phrase is the tail of several names."""
    start: int
    end: int
    """Token after the last."""
    form: str
    cost: float = 0.0
    repairs: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The first of what it may name."""
        return self.keys[0]

    def inside(self, other: Mention) -> bool:
        """Whether this one's words are a true part of the other's."""
        return (
            other.start <= self.start
            and self.end <= other.end
            and (other.end - other.start) > (self.end - self.start)
        )

    def overlaps(self, other: Mention) -> bool:
        """Whether both share a word."""
        return self.start < other.end and other.start < self.end

    def within(self, others: Iterable[Mention]) -> bool:
        """Whether a longer one of others holds it whole."""
        return any(
            m.start <= self.start and self.end <= m.end and m.end - m.start > self.end - self.start
            for m in others
        )


class Mentions:
    """All mentions of one utterance, by kind and by place."""

    def __init__(self, found: Iterable[Mention]) -> None:
        self.all = sorted(found, key=lambda m: (m.start, -m.end, m.kind))
        self._by_kind: dict[str, list[Mention]] = defaultdict(list)
        self._by_cue: dict[str, list[Mention]] = defaultdict(list)
        self._of: dict[tuple[str, ...], list[Mention]] = {}
        for mention in self.all:
            self._by_kind[mention.kind].append(mention)
            if mention.kind == "cue":
                self._by_cue[mention.keys[0]].append(mention)

    def of(self, *kinds: str) -> list[Mention]:
        """Return the mentions of some kinds, in order."""
        if len(kinds) == 1:
            return self._by_kind.get(kinds[0], [])
        if kinds not in self._of:
            self._of[kinds] = sorted(
                (m for kind in kinds for m in self._by_kind.get(kind, ())), key=lambda m: (m.start, -m.end)
            )
        return self._of[kinds].copy()

    def cues(self, *names: str) -> list[Mention]:
        """Return the cues of some names, in order."""
        if len(names) == 1:
            return self._by_cue[names[0]].copy() if names[0] in self._by_cue else []
        if self._by_cue.keys().isdisjoint(names):
            return []
        return [m for m in self._by_kind["cue"] if m.keys[0] in names]

    def without(self, kinds: Iterable[str]) -> Mentions:
        """Return all but some kinds."""
        dropped = set(kinds)
        return Mentions(m for m in self.all if m.kind not in dropped)


def find_mentions(pipeline: TalkPipeline, tokens: Sequence[Token]) -> Mentions:
    """Return what the tokens of one utterance name."""
    words = [_in_full(pipeline, token.norm) for token in tokens]
    found = _group(pipeline.matches(words))
    found += _mended(pipeline, words, found)
    found += _cut_anew(pipeline, words, found)
    listed = [(m.start, m.end) for m in found if m.kind == "part" and m.cost < WEAK]
    taken = {i for m in found if m.kind in (*_NAMES, "item") and m.cost < WEAK for i in range(m.start, m.end)}
    found += _group(shared_nouns(pipeline, words, listed, taken))
    found += _elsewhere(pipeline, words, found)
    settled = _settle(found)
    homonyms = _homonyms(words, settled)
    homonyms += [m for m in settled if m.kind in ("item", "part", "step") and exclaimed(tokens, m)]
    places = [m for m in settled if m.kind == "position" and m.end - m.start > 1]
    items = [m for m in settled if m.kind == "item" and not m.cost]
    settled = [m for m in settled if not inside_longer(m, settled)]
    settled = [_stage_alone(words, m, items) for m in settled]
    settled = [m for m in settled if m.key != "limit_before" or not is_setting(m, items)]
    return Mentions(
        m
        for m in settled
        if m not in homonyms
        and not _is_unit(tokens, m)
        and not begins_in_name(tokens, m, places)
        and not names_a_hole(words, m)
        and not ends_an_item(m, items)
        and not only_compared(words, m)
        and not holds_no_time(words, m)
    )


def _stage_alone(words: Sequence[str], mention: Mention, items: Sequence[Mention]) -> Mention:
    """Return the cue for a stage where that is all that a name adds to the one before it."""
    stage = stage_behind_name(words, mention, items)
    if stage is None:
        return mention
    start = next(m.end for m in items if m.start < mention.start < m.end)
    return Mention("cue", (stage,), start, mention.end, " ".join(words[start : mention.end]))


def _elsewhere(pipeline: TalkPipeline, words: Sequence[str], found: Sequence[Mention]) -> list[Mention]:
    """Return a cue for each machine that is told from this one by where it stands."""
    if MACHINES.isdisjoint(words) and "one" not in words:
        return []
    placed = (m for m in found if m.kind in _PLACED_KINDS and m.cost <= 1 and not is_place_head(m))
    named = {i for m in placed for i in range(m.start, m.end)}
    return [
        Mention("cue", ("elsewhere",), start, end, " ".join(words[start:end]))
        for start, end in machines_elsewhere(words, named, pipeline.machine_words)
    ]


def _in_full(pipeline: TalkPipeline, word: str) -> str:
    """Return "coming" for "comin", "casing" for "casin": a g that many do not say."""
    clipped = word.endswith("in") and len(word) > 4 and word not in pipeline.words
    return f"{word}g" if clipped and f"{word}g" in pipeline.words else word


_ARTICLES = frozenset({"the", "a", "this", "that", "outer"})
_VERBS = frozenset({"'s", "is", "was", "has", "goes", "went"})


def _homonyms(words: Sequence[str], found: Sequence[Mention]) -> list[Mention]:
    """Return what the neighbours show not to be meant where a part is called like an auxiliary ("can")."""
    cues = {m.start: m for m in found if m.kind == "cue" and m.key == "future" and m.end == m.start + 1}
    refused = []
    for part in found:
        cue = cues.get(part.start) if part.kind in _NAMES and part.end == part.start + 1 else None
        if cue is not None:
            article = part.start > 0 and words[part.start - 1] in _ARTICLES
            verb = part.end < len(words) and words[part.end] in _VERBS
            refused.append(cue if article or verb else part)
    return refused


def _is_unit(tokens: Sequence[Token], mention: Mention) -> bool:
    """Whether a part's name is the beginning of a unit ("foot" in "foot pounds")."""
    return mention.kind in _NAMES and unit_names_at(tokens, mention.start)[1] > mention.end


def _group(matches: Iterable[tuple[Phrase, int, int]], repairs: tuple[str, ...] = ()) -> list[Mention]:
    """Join phrases of one kind on the same words: only the cheapest readings of them stay."""
    spans: dict[tuple[str, int, int, str], list[Phrase]] = defaultdict(list)
    for phrase, start, end in matches:
        cue = phrase.key if phrase.kind == "cue" else ""
        spans[phrase.kind, start, end, cue].append(phrase)
    grouped = []
    for (kind, start, end, _), phrases in spans.items():
        least = min(phrase.cost for phrase in phrases)
        best = [phrase for phrase in phrases if phrase.cost <= least + 0.25]
        keys = tuple(dict.fromkeys(phrase.key for phrase in best))
        cost = least + (_REPAIR_COST if repairs else 0.0)
        grouped.append(Mention(kind, keys, start, end, best[0].form, cost, repairs))
    return grouped


def _settle(found: list[Mention]) -> list[Mention]:
    """Drop what lies inside a longer name."""
    found = [_before_name(m, found) for m in found]
    kept = []
    for mention in found:
        if not any(_swallows(other, mention) for other in found if other is not mention):
            kept.append(mention)
    return kept


def _before_name(place: Mention, found: Sequence[Mention]) -> Mention:
    """Cut a place short where its end begins the whole name of an item ("left | side shims")."""
    if place.kind != "position" or place.end - place.start < 2:
        return place
    starts = [
        m.start
        for m in found
        if m.kind == "item" and m.cost < WEAK and place.start < m.start < place.end < m.end
    ]
    return replace(place, end=min(starts)) if starts else place


def _swallows(big: Mention, small: Mention) -> bool:
    if not big.overlaps(small):
        return False
    if small.inside(big):
        return _swallows_inside(big, small)
    same = big.start == small.start and big.end == small.end
    if same and small.kind == "position" and small.cost >= WEAK:
        return big.kind in ("part", "item")
    if same and big.kind == "part" and small.kind == "other_part":
        return True
    if same and big.kind == "step" and small.kind in _FINDINGS:
        return True
    return same and big.kind == "command" and small.kind == "cue" and small.key not in ("correction",)


def _swallows_inside(big: Mention, small: Mention) -> bool:
    if big.kind == "cue":
        if small.kind == "cue":
            return small.key == big.key or small.key in _IDIOMS.get(big.key, ())
        return small.kind in _FINDINGS and big.key in (
            "negation_idiom",
            "hedge_idiom",
            "declared",
            "correction",
            "elsewhere",
        )
    if small.kind == "cue":
        return big.kind in ("part", "other_part", "item", "step", "command", "consumable", "position") or (
            big.kind in _FINDINGS and small.key not in ("correction", "as_found", "same_value")
        )
    if big.kind == small.kind:
        return True
    if small.kind == "position" and small.cost >= WEAK:
        return big.kind in (*_NAMES, "item", "step", "photo", "consumable")
    if big.kind in _NAMES:
        return small.kind in (*_NAMES, *_FINDINGS, "consumable")
    if big.kind == "item":
        return small.kind in (*_NAMES, *_FINDINGS, "step") and big.cost < 1
    if big.kind == "position":
        return small.kind in _NAMES
    if big.kind in ("step", "consumable"):
        return small.kind in (*_FINDINGS, "consumable")
    if big.kind == "condition":
        return small.kind == "action"
    if big.kind == "action":
        return small.kind == "condition"
    return big.kind == "command" and small.kind in (*_FINDINGS, "consumable")


@cache
def _mishearings() -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[str, ...]]]:
    data = read_data(_MISHEARINGS)

    def table(name: str) -> dict[str, tuple[str, ...]]:
        return {str(heard): tuple(str(w) for w in said) for heard, said in data[name].items()}

    return table("alone"), table("inside")


def _mended(pipeline: TalkPipeline, words: list[str], found: list[Mention]) -> list[Mention]:
    """Return mentions that come out when misheard words are taken for what they sound like."""
    alone, inside = _mishearings()
    names = [m for m in found if m.kind not in ("cue", "photo") and m.cost < 1]
    mended: list[Mention] = []
    numbers = [n for n, word in enumerate(words) if word[0].isdecimal() or word in NUMBER_WORDS]
    for i, word in enumerate(words):
        if not word.isalpha() or (len(word) < 2 and word not in _SMALL) or word in _AS_SAID:
            continue
        lone = alone.get(word, ())
        alike = (*_sounding_like(pipeline, word), *pipeline.nearly_sounding(word))
        said = dict.fromkeys((*lone, *inside.get(word, ()), *alike))
        for right in said:
            changed = [*words[:i], right, *words[i + 1 :]]
            window = (max(0, i - 5), min(len(words), i + 6))
            matches = pipeline.sheet_matches(changed[window[0] : window[1]])
            fresh = [
                (phrase, start + window[0], end + window[0])
                for phrase, start, end in matches
                if start + window[0] <= i < end + window[0]
            ]
            for mention in _group(fresh, (f"{word} for {right}",)):
                if mention.kind in ("photo", "command", "action") or mention.cost >= 1 + _REPAIR_COST:
                    continue
                whole = mention.end - mention.start > 2 or set(words[:i]) <= _LEADS
                if word in _SMALL and (mention.kind != "item" or not whole):
                    # "Rod and piston" names no rod end; "crank and play 5 thou" names what is measured.
                    continue
                longer = mention.end - mention.start > 1
                if not longer and right not in lone:
                    continue
                if longer and not neighbours_fit(words, mention.start, mention.end, i):
                    continue
                if mention.kind == "step" and _OBJECTS & set(words[mention.start : mention.end]):
                    # "Tommy watched it down" washed nothing down.
                    continue
                valued = any(0 <= n - mention.end <= _VALUE_REACH for n in numbers)
                # "The end plate is cracked" is no end play; "end plate 0.12" is.
                measured = mention.kind == "item" and valued
                rivals = [m for m in names if m.kind != "other_part"] if measured else names
                if not any(
                    mention.overlaps(m) and (m.end - m.start) >= (mention.end - mention.start) for m in rivals
                ):
                    mended.append(mention)
    return mended


def _cut_anew(pipeline: TalkPipeline, words: list[str], found: list[Mention]) -> list[Mention]:
    """Return the names that two words make which were cut in the wrong place ("in board bearing")."""
    names = [m for m in found if m.kind not in ("cue", "photo") and m.cost < 1]
    by_repair: dict[str, list[tuple[Phrase, int, int]]] = defaultdict(list)
    for phrase, start, end, repair in cut_wrongly(pipeline, words, _mishearings()[0]):
        if phrase.kind in _MENDED_KINDS and not any(m.start <= start and m.end >= end for m in names):
            by_repair[repair].append((phrase, start, end))
    return [
        mention
        for repair, matches in by_repair.items()
        for mention in _group(matches, (repair,))
        if mention.cost < 1 + _REPAIR_COST
    ]


def _sounding_like(pipeline: TalkPipeline, word: str) -> tuple[str, ...]:
    if len(word) < 3 or word in pipeline.words:
        return ()
    if word.endswith("in") and f"{word}g" in pipeline.words:
        # "Casin", "bearin" as many say it.
        return (f"{word}g",)
    return pipeline.sounding_like(sound_of(word))
