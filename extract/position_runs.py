"""Positions listed beside a part: "new bearings on all three shafts, input, intermediate and output".

The list goes on over "and" and commas; it ends where a place begins to say something of its own
("bearings on the input shaft, output ones are going back").
"""

from __future__ import annotations

from extract.heard import Heard
from extract.mentions import Mention
from extract.word_sets import word_set

_JOINTS = word_set("position_runs.joints")
#: How far the first place of a list may be from its part, in words; from one that is told of one piece.
_REACH = 5
_REACH_OF_ONE = 2
_BEFORE = 3


def positions_beside(heard: Heard, part: Mention) -> list[str]:
    """Return the positions that are named beside a part, before it and behind."""
    places = heard.mentions.of("position")
    before = [m for m in places if 0 <= part.start - m.end <= _BEFORE and not _told_of(heard, m, part)]
    if before:
        before = [*_before(heard, places, before[0]), *before]
    several = heard.tokens[part.end - 1].norm.endswith("s")
    reach = _REACH if several else _REACH_OF_ONE
    behind = [m for m in places if 0 <= m.start - part.end <= reach and not _tells_anew(heard, m, part.end)]
    if behind and several:
        behind = [*behind, *_behind(heard, places, behind[-1])]
    return [key for place in (*before, *behind) for key in place.keys]


def _told_of(heard: Heard, place: Mention, part: Mention) -> bool:
    """Whether a place belongs to what was told before ("new bush in front and new bush is in rear")."""
    led = {*heard.norms(place.start - 1, place.start), *heard.norms(place.start, place.start + 1)}
    named = any(m.end < place.start for m in heard.mentions.of("part", "other_part"))
    return named and part.start > place.end and not led.isdisjoint(("in", "on", "at"))


def _before(heard: Heard, places: list[Mention], first: Mention) -> list[Mention]:
    found = [m for m in places if m.end < first.start and _only_joints(heard, m.end, first.start)]
    return [*_before(heard, places, found[-1]), found[-1]] if found else []


def _behind(heard: Heard, places: list[Mention], last: Mention) -> list[Mention]:
    """Return the places that go on with a list."""
    found = [m for m in places if m.start >= last.end and m != last]
    following = next((m for m in found if _only_joints(heard, last.end, m.start)), None)
    if following is None or _tells_anew(heard, following, last.end):
        return []
    return [following, *_behind(heard, places, following)]


def _only_joints(heard: Heard, start: int, end: int) -> bool:
    return all(word in _JOINTS for word in heard.norms(start, end))


def _tells_anew(heard: Heard, place: Mention, since: int) -> bool:
    """Whether a place begins what is said next ("… output ones are going back", "… input's fine")."""
    following = (heard.norms(place.end, place.end + 1) or [""])[0]
    joined = {"and", ",", "&"} & set(heard.norms(since, place.start))
    return following in ("one", "ones") or (following in ("'s", "is", "was") and not joined)
