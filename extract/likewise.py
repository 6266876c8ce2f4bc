"""What is said once more of another part: "and so is the driver", "seat's the same", "outboard too"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.part_names import NamedPart
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from extract.talk_context import SaidOfPart, TalkContext
from extract.word_sets import phrase_list

_SAME = ("is the same", "are the same", "same", "the same", "is same", "are same")
_LEADING = tuple(tuple(phrase.split()) for phrase in phrase_list("likewise.leading"))
_LIKEWISE = tuple(tuple(phrase.split()) for phrase in phrase_list("part_talk.likewise"))


def likewise(
    heard: Heard,
    said: Sequence[tuple[Predicate, NamedPart]],
    parts: Sequence[NamedPart],
    context: TalkContext,
) -> list[tuple[Predicate, NamedPart]]:
    """Return what "and so is the driver" says once more, of another part."""
    found: list[tuple[Predicate, NamedPart]] = []
    for part in parts:
        same = _ends_same(heard, part)
        if not (same or _so_is(heard, part) or _too(heard, part) or _same_goes_for(heard, part)):
            continue
        earlier = [predicate for predicate, _ in said if predicate.start < part.start]
        if context.measured_last and not earlier:
            # "Outboard the same" is a reading.
            continue
        if any(p.start > part.end for p, other in said if other is part):
            continue
        if earlier:
            found += [(earlier[-1], part)] if earlier[-1].kind == "condition" or not same else []
        elif heard.clause_at(part.start).mood == "stated":
            # "The gland's the same" looks the same; whether it was renewed as well is not said.
            told = [of_before for of_before in context.said if of_before.kind == "condition" or not same]
            found += [(_once_more(heard, of_before, part), part) for of_before in told]
    return found


def without_same(
    heard: Heard, said: list[tuple[Predicate, NamedPart]], context: TalkContext
) -> list[tuple[Predicate, NamedPart]]:
    """Drop a "same" that ends the breath and repeats what was said of another part ("seat's the same")."""
    said = [_as_told_before(heard, said[:n], *pair) for n, pair in enumerate(said)]
    # Behind "the inboard is new" it may mean that the outboard is new too: nothing to file unasked.
    found = any(of_before.key != "reused" for of_before in context.said)
    focus = context.focus()
    if not found or focus is None:
        return said
    return [
        (predicate, part)
        for predicate, part in said
        if not (
            predicate.form in _SAME
            and part.parts != focus[0]
            and part.start < predicate.start
            and predicate.end >= len(heard.tokens) - 1
        )
    ]


def _as_told_before(
    heard: Heard, earlier: Sequence[tuple[Predicate, NamedPart]], predicate: Predicate, part: NamedPart
) -> tuple[Predicate, NamedPart]:
    """Return what "inboard is the same" means behind a finding of another part: the same finding."""
    same = predicate.form in _SAME and predicate.end >= len(heard.tokens) - 1
    if not same or not earlier or earlier[-1][0].kind != "condition" or earlier[-1][1].parts == part.parts:
        return predicate, part
    told = earlier[-1][0]
    clause = heard.clause_at(predicate.start)
    form = f"{told.form} likewise"
    return Predicate(
        told.kind, told.key, predicate.start, predicate.end, clause, form, told.denied, told.mood, told.hedged
    ), part


def _once_more(heard: Heard, said: SaidOfPart, part: NamedPart) -> Predicate:
    """Return what the utterance before said, as said again of a part of this one."""
    clause = heard.clause_at(part.start)
    return Predicate(said.kind, said.key, part.end, part.end, clause, f"{said.form} likewise")


def _so_is(heard: Heard, part: NamedPart) -> bool:
    """Whether "so is the driver" stands there."""
    before = [word for word in heard.norms(part.start - 4, part.start) if word not in ("the", "a", "my")]
    auxiliary = (*COPULAS, "does", "did", "has", "have", "goes", "do")
    return len(before) >= 2 and before[-2] in ("so", "neither", "nor") and before[-1] in auxiliary


def _same_goes_for(heard: Heard, part: NamedPart) -> bool:
    """Whether "same goes for the driver", "ditto the driver" ends there."""
    before = tuple(
        word for word in heard.norms(part.start - 5, part.start) if word not in ("the", "a", "my", "both")
    )
    if not any(before[-len(words) :] == words for words in _LEADING):
        return False
    behind = heard.norms(part.end, part.end + 1)
    return behind in ([], ["."], [","], ["and"]) or heard.clause_at(part.end).start == part.end


def _ends_same(heard: Heard, part: NamedPart) -> bool:
    """Whether "outboard one's the same" ends there."""
    behind = heard.norms(part.end, part.end + 4)
    after = [word for word in behind if word not in COPULAS and word not in (",", "just", "about", "pretty")]
    return after in (["the", "same"], ["same"], ["the", "same", "."], ["same", "."])


def _too(heard: Heard, part: NamedPart) -> bool:
    """Whether "and the pinion too" stands there, or "discharge valves also same thing"."""
    after = [word for word in heard.norms(part.end, part.end + 4) if word not in (",", "is", "are", "'s")]
    before = [word for word in heard.norms(part.start - 3, part.start) if word not in ("the", "a", "my", ",")]
    joined = (
        not before or before[-1] in ("and", "plus") or heard.clause_at(part.start).start >= part.start - 2
    )
    joined |= heard.norms(part.start - 1, part.start) == [","]
    if joined and after in (["also"], ["also", "."]):
        return True
    return joined and any(tuple(after[: len(words)]) == words for words in _LIKEWISE)
