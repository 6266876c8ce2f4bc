"""Which of two is measured, the one that came out or the one that goes in: "old shim pack sixty one".

Beside a name the word tells the stage as surely as "as found" does, unless the words say that the old
one goes back. Of bolts it tells nothing: old ones are torqued as well.
"""

from __future__ import annotations

from extract.heard import Heard
from extract.item_words import said_words
from extract.mentions import Mention
from extract.word_sets import phrase_set, word_set
from shared.record import Stage
from shared.sheet_entries import Fastener, Reading

_OLD = word_set("which_one.old")
_NEW = word_set("which_one.new")
WHICH_ONE = _OLD | _NEW
#: How a reading's rule says that these words told its stage.
BY_WHICH = "stage by which one is measured"
#: Stand between the word and the name ("old set of shims").
_BETWEEN = word_set("which_one.between")
#: Stand for the name itself ("the old lot was forty").
_STANDING_FOR = word_set("which_one.standing_for")
#: Lead to what is said behind the value of which one it was ("… sixty one, that's the old one").
_LEADS_BACK = word_set("which_one.leads_back")
_WENT_IN = phrase_set("which_one.went_in")
_PUT = word_set("which_one.put")
_REACH_BACK = 6


def stage_by_which(heard: Heard, start: int, end: int, item: Reading | Fastener) -> Stage | None:
    """Return the stage of a value by which one is said to be measured; None where that is not said.

    Args:
        start: token that the value starts at.
        end: token behind it.
    """
    if isinstance(item, Fastener):
        return None
    told = _before(heard, start, item) or _behind(heard, end, item)
    if told == "as_found" and _goes_in(heard, start):
        return "as_left"
    return told


def _before(heard: Heard, start: int, item: Reading) -> Stage | None:
    named = [m for m in heard.mentions.of("item") if m.end <= start and m.cost < 1]
    mine = bool(named) and item.item in named[-1].keys
    # A name in a clause before counts as well ("old shim pack, i got sixty one").
    first = named[-1].end if named else heard.clause_at(start).start
    if mine or not named:
        names = frozenset() if mine else _names(item)
        for at in range(start - 1, first, -1):
            stands = heard.tokens[at].norm in _STANDING_FOR or heard.tokens[at].norm in names
            if stands and (told := _word_at(heard, at)) is not None:
                return told
    return _word_at(heard, min(m.start for m in named if m.overlaps(named[-1]))) if mine else None


def _word_at(heard: Heard, at: int) -> Stage | None:
    """Return what the word before a name, or before what stands for it, tells."""
    i = at - 1
    while i >= 0 and heard.tokens[i].norm in _BETWEEN:
        i -= 1
    if i < 0 or any(m.start <= i < m.end for m in heard.mentions.of("item")):
        # "Old backlash" may be a name of the sheet itself.
        return None
    if heard.tokens[i].norm in _OLD:
        return "as_found"
    return "as_left" if heard.tokens[i].norm in _NEW else None


def _behind(heard: Heard, end: int, item: Reading) -> Stage | None:
    """Return what words right behind a value tell ("that's the old one", "that's what came out")."""
    i = end
    while i < len(heard.tokens) and heard.tokens[i].norm in _LEADS_BACK:
        i += 1
    if i == end or i >= len(heard.tokens):
        return None
    first = heard.tokens[i].norm
    if first in _OLD | _NEW:
        stands = heard.norms(i + 1, i + 2)
        if stands and (stands[0] in _STANDING_FOR or stands[0] in _names(item)):
            return "as_found" if first in _OLD else "as_left"
    if first in ("one", "ones", "what", "which", "pack", "set", "stack", "lot"):
        cue = _cue(heard, i + 1)
        if cue is not None and cue.start <= i + 3:
            return "as_found" if cue.key == "coming_out" else "as_left"
    return None


def _cue(heard: Heard, start: int) -> Mention | None:
    """Return the first "came out", "going in" at or right behind a token."""
    found = [m for m in heard.mentions.cues("coming_out", "going_in") if m.start >= start]
    return min(found, key=lambda m: m.start, default=None)


def _goes_in(heard: Heard, start: int) -> bool:
    """Whether it is said that the old one goes back in."""
    clause = heard.clause_at(start)
    words = heard.norms(clause.start, start)
    if "back" in words and _PUT & set(words):
        # "Put the old spacer back, five oh two".
        return True
    return any(
        m.form in _WENT_IN and (clause.holds(m) or 0 <= m.start - start <= _REACH_BACK)
        for m in heard.mentions.cues("going_in")
    )


def _names(item: Reading) -> frozenset[str]:
    words = {word for form in item.spoken for word in form.split()}
    return said_words(words) | words
