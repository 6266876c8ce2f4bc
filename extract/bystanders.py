"""Words beside a value that only stand by: times of today, things around the bench, mess cleaned off.

"I ran them on this morning at two ten" is said of two ten; "this morning it was four" tells what was, and
"in the morning" what will be. "There was dirt on the micrometer, wait" is why it was measured again, while a
value "with dirt behind it" is worth nothing. So each kind of word stands by only in its own use.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from extract.heard import Heard
from extract.word_sets import word_set
from shared.data_files import read_data

_FILE = Path(__file__).with_name("bystanders.yaml")
#: Today's; "in the morning" is still to come, "each morning" is a log.
_TODAY = frozenset({"this", "before", "after", "since", "at", "good"})
_OF_BEFORE = frozenset({"was", "were", "had", "been", "used"})
_BY_MEANS = frozenset({"with", "by", "off", "from", "on", "in", "under", "against", "using", "used", "use"})
_ARTICLES = frozenset({"a", "an", "the", "my", "our", "your", "his", "her", "some", "that", "this", "me"})
_WAS_THERE = frozenset({"was", "were", "had", "got", "found"})
_HELD = (["centres"], ["centers"], ["rollers"], ["vees"])
_SIDES = frozenset({"side", "end", "face", "edge", "area"})
_AT = frozenset({"on", "at", "to", "towards", "from", "near"})
_WHICH_SIDE = word_set("bystanders.which_side")
_MEASURED = ("item", "part", "other_part", "position")


@cache
def _kinds() -> dict[str, frozenset[str]]:
    data: dict[str, str] = read_data(_FILE)
    return {kind: frozenset(words.split()) for kind, words in data.items()}


def stands_by(heard: Heard, i: int, value_at: int) -> bool:
    """Whether a token only stands beside the value that starts at token ``value_at``."""
    norm = heard.tokens[i].norm
    if norm == "between":
        # "Up between centres" is how it was held; "between the lobes" is where.
        return heard.norms(i + 1, i + 2) in _HELD
    if norm in _kinds()["times"]:
        return _of_today(heard, i)
    if norm in _kinds()["lengths_of_time"]:
        return i > value_at
    if any(m.start == i + 1 for m in heard.mentions.of(*_MEASURED)) and norm not in _kinds()["mess"]:
        return False
    lead = heard.norms(0, i)
    while lead and lead[-1] in _ARTICLES:
        lead.pop()
    if norm in _kinds()["things"]:
        return bool(lead) and lead[-1] in _BY_MEANS
    if norm in _kinds()["mess"] and i < value_at:
        cleaned = bool(_kinds()["putting_right"] & {token.norm for token in heard.tokens})
        return cleaned and bool(lead) and lead[-1] in _WAS_THERE
    return False


def only_where(heard: Heard, i: int) -> bool:
    """Whether a token only tells on which side something without places was measured ("on the inlet side").

    Not where another part or item is named there: "runout on the motor side" may be the motor's.
    """
    norm = heard.tokens[i].norm
    if norm in _SIDES:
        return True
    lead = heard.norms(0, i)
    while lead and lead[-1] in _ARTICLES:
        lead.pop()
    side = (heard.norms(i + 1, i + 2) or [""])[0] in _SIDES
    return side and bool(lead) and lead[-1] in _AT and norm in _WHICH_SIDE


def _of_today(heard: Heard, i: int) -> bool:
    """Whether a time is one of today and nothing is told of how it was before."""
    clause = heard.clause_at(i)
    told = set(heard.norms(clause.start, clause.end))
    lead = [word for word in heard.norms(0, i) if word not in ("a", "the", "our")]
    return bool(lead) and lead[-1] in _TODAY and not told & _OF_BEFORE
