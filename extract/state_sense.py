"""Whether a word of state is said of a part: "good", "hard", "fine" after a verb or right after a part.

"The o rings were flat and hard" tells a finding, "hard going" and "we're in good shape" tell none of a part.
"""

from __future__ import annotations

from itertools import pairwise

from extract.heard import Heard
from extract.mentions import Mention
from extract.number_words import ONES
from extract.word_sets import word_set

COPULAS = word_set("predicates.copulas")
LOOKS = word_set("predicates.looks")
_STATE_VERBS = word_set("predicate_sense.state_verbs")
_NO_SUBJECTS = word_set("predicate_sense.no_subjects")
ACTIVE_SUBJECTS = word_set("predicates.active_subjects")
_STOPS = frozenset({".", ",", ";", "?"})


def state_said(heard: Heard, mention: Mention) -> bool:
    """Whether "good", "hard" is said of something: after a verb of state, or right after a part."""
    parts = heard.mentions.of("part", "other_part")
    if _after_another(heard, mention):
        return True
    if heard.norms(mention.start - 1, mention.start) == ["and"] and said_to_be(heard, mention.start - 1):
        # "The o rings were flat and hard".
        return True
    for steps, at in enumerate(range(mention.start - 1, max(-1, mention.start - 6), -1)):
        norm = heard.tokens[at].norm
        if norm in COPULAS or norm in _STATE_VERBS:
            return not _NO_SUBJECTS & set(heard.norms(at - 1, at))
        near = [m for m in parts if m.end == at + 1]
        if not steps and any(m.end == at + 1 for m in heard.mentions.of("position")):
            # "Outboard bearing blue, inboard fine".
            return bool([m for m in parts if m.end < at])
        if near:
            lead = heard.norms(near[0].start - 2, near[0].start)
            return (steps <= 1 or _counted_off(heard, near[0].end, mention.start)) and not {
                "on",
                "in",
                "of",
                "from",
                "to",
                "at",
            } & set(lead)
        if norm in ("rest", "others", "remainder") and not steps:
            # "Two of them necked, the rest okay".
            return bool([m for m in (*parts, *heard.mentions.of("condition")) if m.end <= at])
        if norm not in LOOKS and norm not in ONES:
            return False
    return False


def said_to_be(heard: Heard, at: int) -> bool:
    """Whether the words before a joining "and" say how something is ("were flat as a pancake and …")."""
    for i in range(at - 1, max(-1, at - 7), -1):
        norm = heard.tokens[i].norm
        if norm in COPULAS:
            return i + 1 < at
        if norm in ACTIVE_SUBJECTS or norm in _STOPS or norm[0].isdecimal():
            return False
    return False


def _after_another(heard: Heard, mention: Mention) -> bool:
    """Whether a finding was told just before ("pitted round the eye but usable", "otherwise good")."""
    lead = (heard.norms(mention.start - 1, mention.start) or [""])[0]
    if lead not in ("but", "though", "otherwise", "still", "yet"):
        return False
    earlier = [m for m in heard.mentions.of("condition", "part") if m.end < mention.start]
    return bool(earlier)


def _counted_off(heard: Heard, start: int, end: int) -> bool:
    """Whether only "out, all four" stands between a part and what it is."""
    between = heard.norms(start, end)
    return all(word in ONES or word in ("all", "both", "each", "out", "off", ",", ".") for word in between)


def of_degree(heard: Heard, mention: Mention) -> bool:
    """Whether it only says how badly ("scored pretty good")."""
    start = mention.start
    while start > 0 and heard.tokens[start - 1].norm in ("pretty", "real", "really", "quite"):
        start -= 1
    told = any(m.end == start and m.key != "good" for m in heard.mentions.of("condition"))
    return told and (start < mention.start or mention.form == "pretty good")


def of_a_person(heard: Heard, at: int) -> bool:
    """Whether the one said to be so is a person ("we're in good shape")."""
    before = heard.norms(heard.clause_at(at).start, at)
    persons = ("i", "we", "you", "he", "she")
    return any(word in persons and following in COPULAS for word, following in pairwise(before))
