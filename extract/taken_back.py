"""What a speaker takes back of what he said of parts: in the same breath, or as "I said … no, it is …".

"New lip seal's in, sorry, I mean new mechanical seal's in" moves what was done to another part;
"renewed, no, reused" changes what was done. What is taken back is kept, superseded by what is right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from extract.heard import Heard
from extract.part_names import NamedPart
from extract.predicates import Predicate
from extract.word_sets import phrase_set, word_set

#: Cues that take back what was said of a part; "actually" and "wait" only go on.
_TAKES_BACK = phrase_set("taken_back.cues")
_NOES = frozenset({"no", "nope", "nah"})
_BEHIND_NO = word_set("taken_back.behind_no")
_NO_CUE_BEFORE = word_set("taken_back.no_cue_before")
_REACH = 8
_REACH_OF_SORRY = 3
_AS_WELL = frozenset({"too", "also", "likewise"})
_SAYING = frozenset({"said", "told", "called", "mentioned", "reported"})
_NO_QUOTE_AFTER = frozenset({"like", "as", "what", "what's"})
_NO_QUOTE_BEFORE = frozenset({"to", "him", "her", "them"})
_MARKERS = word_set("taken_back.markers")
_QUOTE_REACH = 12
_ARTICLES = frozenset({"the", "a", "my", "it", "'s", "was", "is", ",", "that"})

Said = tuple[Predicate, NamedPart]


class Cue(NamedTuple):
    """Words that take back, tokens ``start`` to before ``end``."""

    start: int
    end: int
    form: str


class Quoted(NamedTuple):
    """What an utterance quotes as said before and puts right; what is right begins at token ``start``."""

    kind: str
    key: str
    parts: tuple[str, ...]
    start: int


class Told(NamedTuple):
    """A draft as far as this room looks at it."""

    start: int
    part: str
    key: str


def taken_back(heard: Heard, told: Sequence[Told]) -> Iterator[tuple[int, int]]:
    """Yield (place of what is taken back, place of what is right) among an utterance's drafts of one kind."""
    for cue in _cues(heard):
        before = [t.start for t in told if cue.start - _REACH <= t.start < cue.start]
        after = [t.start for t in told if cue.end <= t.start <= cue.end + _reach(cue)]
        if not before or not after:
            continue
        wrong = [n for n, t in enumerate(told) if t.start == max(before)]
        right = [n for n, t in enumerate(told) if t.start == min(after)]
        for n in wrong:
            stands = next((m for m in right if _contradicts(told[n], told[m], cue)), None)
            if stands is not None:
                yield n, stands


def moved(heard: Heard, said: Sequence[Said], parts: Sequence[NamedPart]) -> list[Said]:
    """Return what "renewed the rod seal, no, I mean the piston seal" says of the part named last."""
    found: list[Said] = []
    for cue in _cues(heard):
        told = [pair for pair in said if cue.start - _REACH <= pair[0].start < cue.start]
        named = [part for part in parts if part.start >= cue.end]
        if not told or not named or cue.form in _NOES:
            continue
        part = named[0]
        lead = heard.norms(cue.end, part.start)
        behind = heard.norms(part.end, part.end + 1)
        own = any(predicate.start >= cue.end for predicate, _ in said)
        if own or not all(word in _ARTICLES for word in lead) or behind not in ([], ["."], [","]):
            continue
        latest = told[-1][0]
        clause = heard.clause_at(part.start)
        form = f"{latest.form} moved"
        found.append(
            (
                Predicate(
                    latest.kind,
                    latest.key,
                    part.start,
                    part.end,
                    clause,
                    form,
                    latest.denied,
                    latest.mood,
                    latest.hedged,
                ),
                part,
            )
        )
    return found


def quoted(heard: Heard, said: Sequence[Said]) -> list[tuple[Said, Quoted]]:
    """Return what is only quoted ("I said new key, no, the key is the old one"), and what it takes back."""
    found = []
    for i in range(len(heard.tokens) - 1):
        if not _quotes(heard, i):
            continue
        told = [pair for pair in said if i < pair[0].start <= i + _QUOTE_REACH]
        if not told:
            continue
        first = told[0]
        for later in (pair for pair in said if pair[0].start > first[0].start):
            between = heard.norms(first[0].end, later[0].start)
            if _puts_right(first, later) and _MARKERS & set(between):
                quote = Quoted(first[0].kind, first[0].key, first[1].parts, later[0].start)
                found.append((first, quote))
                break
    return found


def _quotes(heard: Heard, at: int) -> bool:
    """Whether "I said" stands there; "like I said" repeats and quotes nothing."""
    words = heard.norms(at, at + 3)
    if words[0] not in ("i", "we") or not (_SAYING & set(words[1:3])):
        return False
    verb = at + 1 + next(n for n, word in enumerate(words[1:]) if word in _SAYING)
    before, behind = heard.norms(at - 1, at), heard.norms(verb + 1, verb + 2)
    return not (before and before[0] in _NO_QUOTE_AFTER) and not (behind and behind[0] in _NO_QUOTE_BEFORE)


def _puts_right(first: Said, later: Said) -> bool:
    if later[0].denied or later[0].mood != "stated" or later[0].kind != first[0].kind:
        return False
    same_part = bool(set(later[1].parts) & set(first[1].parts))
    return same_part != (later[0].key == first[0].key)


def _contradicts(wrong: Told, right: Told, cue: Cue) -> bool:
    if wrong.part == right.part:
        return wrong.key != right.key
    return wrong.key == right.key and cue.form not in _NOES


def _reach(cue: Cue) -> int:
    return _REACH_OF_SORRY if cue.form == "sorry" else _REACH


def _cues(heard: Heard) -> list[Cue]:
    found = []
    for mention in heard.mentions.cues("correction"):
        behind = (heard.norms(mention.end, mention.end + 1) or [""])[0]
        if mention.form in _TAKES_BACK and behind not in _NO_CUE_BEFORE:
            found.append(Cue(mention.start, mention.end, mention.form))
    for command in heard.mentions.of("command"):
        if "strike_last" in command.keys:
            found = [cue for cue in found if not command.start <= cue.start < command.end]
    covered = {i for cue in found for i in range(cue.start, cue.end)}
    for i, token in enumerate(heard.tokens[:-1]):
        if token.norm in _NOES and i and i not in covered and heard.norms(i + 1, i + 2)[0] in _BEHIND_NO:
            found.append(Cue(i, i + 1, token.norm))
    return [cue for cue in found if not _adds(heard, cue)]


def _adds(heard: Heard, cue: Cue) -> bool:
    """Whether what follows comes on top ("sorry, and the gasket's new too")."""
    rest = heard.norms(cue.end, cue.end + _REACH)
    return (
        rest[:1] == ["and"]
        or bool(_AS_WELL & set(rest))
        or ["as", "well"] in [rest[n : n + 2] for n in range(len(rest))]
    )
