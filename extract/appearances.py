"""What only looked so: "looks cracked but it's only a scratch", "looked scored, turned out to be dirt"."""

from __future__ import annotations

from extract.heard import Heard
from extract.predicates import Predicate
from extract.word_sets import phrase_list, word_set

_LOOKS = word_set("appearances.looks")
#: Between how it looks and the finding ("looks like it's cracked").
_REACH = 4
_BUT = tuple(tuple(phrase.split()) for phrase in phrase_list("appearances.but"))
#: The truth follows within so many words.
_BEHIND = 8


def only_looked_so(heard: Heard, predicate: Predicate) -> bool:
    """Whether a finding is said to be how it looked, and something lesser to be the truth."""
    lead = heard.norms(max(predicate.clause.start, predicate.start - _REACH), predicate.start)
    if _LOOKS.isdisjoint(lead):
        return False
    behind = heard.norms(predicate.end, predicate.end + _BEHIND)
    return any(tuple(behind[i : i + len(phrase)]) == phrase for phrase in _BUT for i in range(len(behind)))
