"""Twins of a part, told by their place alone: "drive end ones", "middle and bottom renewed"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.part_names import NamedPart, goes_with
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from shared.job_sheet import JobSheet

_PRONOUNS = frozenset({"it", "that", "this", "but", "so", "still"})
_PLACES_OF_TWINS = frozenset({"one", "end", "side", "bearing", "seal", "ring", "bush", "sleeve"})
_LEADS = frozenset({"the", "and", "but", "so", ",", ".", "then", "now", "okay", "right"})
_LIKEWISE = frozenset({"likewise", "ditto", "too", "same", "also"})


def twins_named(
    sheet: JobSheet,
    heard: Heard,
    parts: Sequence[NamedPart],
    focus: tuple[tuple[str, ...], bool] | None,
) -> list[NamedPart]:
    """Return what "drive end ones", "the lower one" name where their noun was told before.

    Args:
        parts: named in this utterance.
        focus: the parts talked about before it and whether they are off the sheet.
    """
    found = []
    for mention in heard.mentions.of("position"):
        following = heard.norms(mention.end, mention.end + 1)
        named_one = following in (["one"], ["ones"])
        if not named_one and not (mention.start <= 1 and following and following[0] in _LIKEWISE):
            continue
        told = [part for part in parts if part.end <= mention.start]
        names, unlisted = (told[-1].parts, told[-1].unlisted) if told else focus or ((), False)
        nouns = {name.split("_")[-1] for name in names}
        if unlisted or len(nouns) != 1 or (len(names) > 1 and not told):
            continue
        for key in mention.keys:
            twins = [
                name for name in sheet.part_names if goes_with(name, key) and name.split("_")[-1] in nouns
            ]
            if len(twins) == 1:
                found.append(NamedPart((twins[0],), mention.start, mention.end + int(named_one)))
    return found


def other_twin(
    sheet: JobSheet, heard: Heard, predicate: Predicate, predicates: Sequence[Predicate], part: NamedPart
) -> NamedPart | None:
    """Go over to the twin that "the other one", or a place before "it", tells of a part of a pair.

    "Other end's good"; "inboard spins lovely, still, it's coming out". None where the part has several
    twins, so that nobody knows which one is meant.
    """
    if part.unlisted or len(part.parts) != 1:
        return part
    name = part.parts[0]
    key = next((key for key in sheet.positions if goes_with(name, key)), None)
    if key is None:
        return part
    bare = name.replace(key, "", 1).strip("_")
    twins = {
        twin: k
        for k in sheet.positions
        for twin in (f"{k}_{bare}", f"{bare}_{k}")
        if k != key and twin in sheet.part_names
    }
    if not twins:
        return part
    start, end = _told_in(heard, predicate, predicates)
    places = [m for m in heard.mentions.of("position") if start <= m.start < end]
    other = next((i for i in range(start, end) if _says_other(heard, i)), None)
    placed = [m for m in places if m.start > (other or 0) or (other or 0) > predicate.start]
    if other is not None and not any(key in m.keys or m.start > other for m in placed):
        return NamedPart((next(iter(twins)),), part.start, part.end) if len(twins) == 1 else None
    opening = heard.norms(predicate.clause.start, predicate.clause.start + 2)
    # "Inboard is blue and it's seized".
    pronoun = opening[0] in _PRONOUNS or opening[:2] in (["and", "it"], ["and", "that"])
    led = [m for m in places if m.end <= predicate.clause.start]
    if pronoun and led and part.end <= led[-1].start:
        named = [twin for twin, k in twins.items() if k in led[-1].keys and key not in led[-1].keys]
        if len(named) == 1:
            return NamedPart((named[0],), part.start, part.end)
    return part


def place_of_twin(sheet: JobSheet, heard: Heard, predicate: Predicate, before: NamedPart) -> bool:
    """Whether a place alone is the subject of an action, and the part talked about has a twin there.

    "Drive end bearing's renewed." "Non drive end's going back."
    """
    if predicate.kind != "action" or before.unlisted:
        return False
    at = predicate.start + (heard.tokens[predicate.start].norm in COPULAS)
    ends = (at, at - 1) if heard.norms(at - 1, at)[:1] and heard.tokens[at - 1].norm in COPULAS else (at,)
    places = [m for m in heard.mentions.of("position") if m.end in ends]
    if not places or not set(heard.norms(predicate.clause.start, places[0].start)) <= _LEADS:
        return False
    nouns = {name.split("_")[-1] for name in before.parts}
    return any(
        goes_with(name, key) and name.split("_")[-1] in nouns
        for name in sheet.part_names
        for key in places[0].keys
    )


def _told_in(heard: Heard, predicate: Predicate, predicates: Sequence[Predicate]) -> tuple[int, int]:
    """Return the tokens that may tell which of a pair is meant: from what was said before to what is next."""
    before = [p.split[1] if p.split else p.end for p in predicates if p.end <= predicate.start]
    behind = [p.start for p in predicates if p.start > predicate.start]
    return max([0, *before]), min([predicate.clause.end, *behind])


def _says_other(heard: Heard, i: int) -> bool:
    behind = heard.norms(i + 1, i + 2)
    if heard.tokens[i].norm != "other" or not behind:
        return False
    # "The other's going back" stands for the other one.
    return behind[0] in _PLACES_OF_TWINS or (behind == ["'s"] and heard.norms(i - 1, i) == ["the"])


def twins_between(sheet: JobSheet, heard: Heard, part: NamedPart, predicate: Predicate) -> NamedPart:
    """Go over to the twins of positions named since ("top bush reused, middle and bottom renewed")."""
    nouns = {name.split("_")[-1] for name in part.parts}
    if part.unlisted or len(nouns) != 1:
        return part
    places = [m for m in heard.mentions.of("position") if part.end < m.start and m.end <= predicate.start]
    if not any(predicate.start - m.end <= 1 for m in places):
        return part
    keys = [key for m in places for key in m.keys if not any(goes_with(name, key) for name in part.parts)]
    twins = [
        name
        for key in keys
        for name in sheet.part_names
        if goes_with(name, key) and name.split("_")[-1] in nouns
    ]
    return NamedPart(tuple(dict.fromkeys(twins)), 0, 0) if twins and len(twins) == len(keys) else part
