"""Pieces of a part told by number: "blade four's chipped", "tie rod number three is bent", "four new rings".

On many sheets "blade four" is a place of measuring; where something is found on it or done to it,
the part is meant that the place is named after.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from extract.heard import Heard
from extract.mentions import Mention
from extract.number_words import ONES, ORDINALS, TEENS
from extract.part_names import NamedPart
from extract.sheet_phrases import WEAK, part_forms
from extract.spoken_forms import other_number
from shared.job_sheet import JobSheet

_NUMBERS = frozenset({*ONES, *TEENS, *ORDINALS, "number", "no"})


def numbered_parts(sheet: JobSheet, heard: Heard, parts: Sequence[NamedPart]) -> list[NamedPart]:
    """Return the parts that numbered places are pieces of, where something is said of them."""
    found: list[NamedPart] = []
    names: dict[str, str] = {}
    for mention in heard.mentions.of("position"):
        if mention.cost >= WEAK or mention.end - mention.start < 2 or not _something_said(heard, mention):
            continue
        if any(part.start < mention.end and mention.start < part.end for part in parts):
            continue
        names = names or _names(sheet)
        part = _owner(heard, mention, names)
        if part is not None:
            found.append(NamedPart((part,), mention.start, mention.end, called=mention.form))
    return [*found, *_counted(sheet, heard, parts)]


def _counted(sheet: JobSheet, heard: Heard, parts: Sequence[NamedPart]) -> list[NamedPart]:
    """Return the parts whose pieces are counted by an item, where they are new: "new rings of packing"."""
    found = []
    for mention in heard.mentions.of("item"):
        words = heard.norms(mention.start, mention.end)
        if mention.cost or "of" not in words or heard.norms(mention.start - 1, mention.start) != ["new"]:
            continue
        if any(part.start < mention.end and mention.start < part.end for part in parts):
            continue
        own = [part.part for part in sheet.parts if words[-1] in part.spoken]
        if len(own) == 1 and sheet.measured[mention.key].unit == "count":
            found.append(NamedPart((own[0],), mention.start, mention.end, called=mention.form))
    return found


def listed_piece(sheet: JobSheet, part: NamedPart) -> NamedPart:
    """Return the sheet's part where "blade" names one of its "blades"; else the part itself."""
    listed = _names(sheet).get(part.called)
    return NamedPart((listed,), part.start, part.end, called=part.called) if listed is not None else part


def _names(sheet: JobSheet) -> dict[str, str]:
    """Return the sheet's parts by what they and single pieces of them are called; doubtful names left out."""
    owners: dict[str, set[str]] = {}
    for part, forms in part_forms(sheet).items():
        for form in forms:
            *lead, noun = form.split()
            for name in (form, " ".join([*lead, other_number(noun)])):
                owners.setdefault(name, set()).add(part)
    return {name: next(iter(own)) for name, own in owners.items() if len(own) == 1}


def _owner(heard: Heard, mention: Mention, names: Mapping[str, str]) -> str | None:
    words = [
        word
        for word in heard.norms(mention.start, mention.end)
        if word not in _NUMBERS and not word.isdecimal() and len(word) > 1
    ]
    return names.get(" ".join(words))


def _something_said(heard: Heard, mention: Mention) -> bool:
    clause = heard.clause_at(mention.start)
    return any(clause.holds(m) for m in heard.mentions.of("condition", "action"))
