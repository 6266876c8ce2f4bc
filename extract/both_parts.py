"""The two parts of "both": "the inboard bearing is new, the outboard is new, both packed with grease"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from shared.job_sheet import JobSheet


def both_named(
    sheet: JobSheet, lead: Sequence[str], mention: Mention, talk: PartTalk, target: NamedPart
) -> NamedPart:
    """Return the two parts named where "both" is said of them ("… is new, … is new, both greased").

    Both went in, and the sheet wants it on both.
    """
    before = [part for part in talk.parts if part.end <= mention.start]
    named = tuple(dict.fromkeys(name for part in before for name in part.parts))
    wanted = {name for entry in sheet.consumables if entry.name == mention.key for name in entry.for_}
    went_in = {
        name
        for predicate, part in talk.said
        if predicate.key in ("renewed", "fitted") and not predicate.denied
        for name in part.parts
    }
    two = len(named) == 2 and "both" in lead and len(target.parts) == 1 and target.parts[0] in named
    return NamedPart(named, target.start, target.end) if two and wanted & went_in >= {*named} else target
