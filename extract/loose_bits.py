"""Chips and dirt that lie somewhere: "there was a chip under the indicator, so i wiped it away".

The same word is a finding where something has it ("a chip in the seat"). Lying loose, it is swarf, and
what was wiped is the swarf and no part.
"""

from __future__ import annotations

from extract.heard import Heard
from extract.word_sets import word_set

_BITS = word_set("loose_bits.bits")
_LEADS = word_set("loose_bits.leads")
_LYING = word_set("loose_bits.lying")
_THERE = frozenset({"there", "here", "between", "way"})
_TAKEN_AWAY = word_set("loose_bits.taken_away")
_TOOLS = word_set("loose_bits.tools")
#: So many words before a pronoun the bit may have been named.
_REACH = 10


def lies_loose(heard: Heard, start: int, end: int) -> bool:
    """Whether the bit named by tokens ``start`` to before ``end`` only lies where it was found."""
    if heard.tokens[end - 1].norm not in _BITS:
        return False
    behind = heard.norms(end, end + 4)
    if behind[:1] and behind[0] in _LYING:
        return True
    in_there = (
        bool(behind)
        and behind[0] in ("in", "under", "on", "behind", "round")
        and (bool(_THERE & set(behind[1:3])) or bool(_TOOLS & set(behind[1:4])))
    )
    return in_there and bool(_TAKEN_AWAY & set(heard.norms(end, len(heard.tokens))))


def of_loose_bit(heard: Heard, at: int) -> bool:
    """Whether the pronoun of a verb at token ``at`` is for dirt named just before it."""
    lead = heard.norms(max(0, at - _REACH), at)
    return any(word in _BITS and bool(_LEADS & set(lead[max(0, n - 3) : n])) for n, word in enumerate(lead))
