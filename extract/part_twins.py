"""Twins of a part, told by their place alone: "drive end ones", "middle and bottom renewed"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.part_names import NamedPart, goes_with
from extract.predicates import Predicate
from shared.job_sheet import JobSheet

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
