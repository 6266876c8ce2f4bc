"""What names another machine than the sheet's: "the other agitator", "on the jockey pump", "mixer two had".

What was found on it or done to it is none of this rebuild.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from extract.number_words import ONES
from extract.spoken_forms import other_number
from extract.word_sets import phrase_list, word_list, word_set
from shared.job_sheet import JobSheet

_MACHINES = word_list("sheet_phrases.machines")
_MORE_MACHINES = word_set("sheet_phrases.more_machines")
_OTHERS = phrase_list("sheet_phrases.others")
#: What only a machine beside this one is called ("jockey pump"); "booster pump" may be this one.
_ROLES = phrase_list("other_machines.roles")
_BEHIND = ("before this", "before that", "next to this", "next door")
#: "That booster by the barn" stands somewhere else, whatever this machine is.
_ELSEWHERE = (
    *(f"{where} the" for where in ("by", "at", "in", "behind", "beside", "outside", "near")),
    *(
        f"{way} {where}"
        for way in ("over", "up", "down", "out", "back")
        for where in ("at", "by", "in", "there")
    ),
)
#: What is told of one that is done with; "pump two has a leak" may be this one.
_TOLD = ("had", "had its", "was", "came in", "went")
#: What follows the name of the machine in a title.
_ENDS_NAME = re.compile(r"[,;:(]| (?:of|with|for|in|on|at|from) ")
_LETTERS = ("a", "b", "c", "d")


def own_words(sheet: JobSheet) -> frozenset[str]:
    """Return the words by which the machine of a sheet is called."""
    return frozenset({*_title(sheet), *sheet.id.split("-")})


def _title(sheet: JobSheet) -> list[str]:
    return [word.strip(",.;:()").lower() for word in sheet.title.replace("-", " ").split()]


def _head_noun(sheet: JobSheet) -> list[str]:
    """Return the noun of a title that tells what the machine is ("Twin-shaft sewage macerator, two …")."""
    name = _ENDS_NAME.split(sheet.title)[0].replace("-", " ").split()
    return [name[-1].lower()] if name and name[-1].isalpha() else []


def other_machines(sheet: JobSheet, named: Collection[str]) -> Iterator[str]:
    """Yield the phrases that tell of another machine.

    Args:
        named: last words of the names of parts and items; a machine's noun that ends one tells nothing.
    """
    words, own = _title(sheet), own_words(sheet)
    for noun in dict.fromkeys([*_MACHINES, *sorted(_MORE_MACHINES)]):
        if noun not in named:
            yield from (f"that {noun} {where}" for where in _ELSEWHERE)
            yield f"the {noun} over at"
    for noun in _nouns(sheet, words, named):
        for other in _OTHERS:
            yield f"{other} {noun}"
        for other in _BEHIND:
            yield f"{noun} {other}"
        for role in _ROLES:
            if noun in ("pump", "unit", "set") and not set(role.split()) & own:
                yield f"on the {role} {noun}"
                yield from (f"{role} {noun} {told}" for told in _TOLD)
        for name in (*ONES, *_LETTERS):
            yield f"{noun} {name} had"


def _nouns(sheet: JobSheet, words: Collection[str], named: Collection[str]) -> Iterator[str]:
    """Yield what the machine of the sheet is called, so that "the other agitator" is another one."""
    placed = {form for position in sheet.positions for form in sheet.spoken_positions(position)}
    known = {*named, *placed}
    called = [word for word in words if word in _MORE_MACHINES]
    for noun in dict.fromkeys([*_MACHINES, *called, *_head_noun(sheet)]):
        if noun not in known and other_number(noun) not in known:
            yield noun
