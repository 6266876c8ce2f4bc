"""Actions said with no verb: "tie rods out", "packing's out of both ends", "same wheel back on".

A small word right behind a part says what was done where nothing behind it makes a place or a
measure of it ("impeller out two thou", "shaft out of true").
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from extract.heard import Heard
from extract.mentions import Mention
from extract.number_words import NUMBER_WORDS
from extract.quantity_arcs import longest_quantity
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_KEYS = {"out": "removed", "off": "removed", "in": "fitted", "on": "fitted"}
_BETWEEN = word_set("bare_particles.between")
_ENDS = word_set("bare_particles.ends")
_PLACES_TO_LIE = word_set("bare_particles.places_to_lie")
_COME_FROM = word_set("bare_particles.come_from")
_GOES_BACK = word_set("bare_particles.goes_back")
_HOW_MUCH = frozenset({"heavy", "light", "some", "bit", "lots", "loads", "bad", "plenty"})
_SAME = frozenset({"same", "original", "existing"})
_SWITCHING = word_set("bare_particles.switching")
_AFTER_COUNT: tuple[list[str], ...] = (["of"], [], [","], ["."], ["and"])
_NAMES = ("part", "other_part")
_ARTICLES = frozenset({"the", "a", "my", "both", "all", "its"})
_VERBS = COPULAS | {"has", "have", "looks", "look", "'ve"}
_NO_SUBJECT = frozenset({"and", "but", "so", "with", "for", "to", "i", "we", "it", "they", "that", "which"})


class BareAction(NamedTuple):
    """One such action at tokens ``start`` to before ``end``."""

    key: str
    start: int
    end: int
    form: str


def bare_actions(heard: Heard) -> Iterator[BareAction]:
    """Yield the actions of an utterance that no verb says."""
    for part in heard.mentions.of(*_NAMES):
        found = _particle(heard, part) or _same(heard, part) or _old_beside_new(heard, part)
        if found is not None:
            yield found
    for action in heard.mentions.of("action"):
        found = _chained(heard, action)
        if found is not None:
            yield found


def _chained(heard: Heard, action: Mention) -> BareAction | None:
    """Return the action that "wiped down and on" ends with."""
    at = action.end + 1
    words = heard.norms(action.end, at + 1)
    key = _KEYS.get(words[-1]) if len(words) == 2 and words[0] == "and" else None
    if key is None or not (at + 1 >= len(heard.tokens) or heard.tokens[at + 1].norm in (".", ",", ";")):
        return None
    return BareAction(key, at, at + 1, f"and {words[-1]}")


def _particle(heard: Heard, part: Mention) -> BareAction | None:
    at = part.end
    while at < len(heard.tokens) and heard.tokens[at].norm in _BETWEEN and at - part.end < 3:
        at += 1
    word = (heard.norms(at, at + 1) or [""])[0]
    key = _KEYS.get(word)
    if key is None or any(
        m.start < at + 1 and at < m.end for m in heard.mentions.of("item", "command", "step")
    ):
        return None
    if any(0 <= part.start - m.end <= 2 for m in heard.mentions.of("action")) and at == part.end:
        # "Washed the volute out": the verb says what was done.
        return None
    behind = heard.norms(at + 1, at + 3)
    if behind[:1] in (["it"], ["them"]) and behind[1:] and behind[1] in COPULAS:
        # "The gasket on it's in bits".
        return None
    if _SWITCHING & set(heard.norms(part.start - 3, part.start)):
        return None
    told_anew = _something_new(heard, at + 1, key, verb=at > part.end)
    if not told_anew and not _ends(heard, at + 1, key):
        return None
    return BareAction(key, at, at + 1, word)


def _ends(heard: Heard, at: int, key: str) -> bool:
    """Whether nothing behind the small word gives it another meaning."""
    if at >= len(heard.tokens) or heard.clause_at(at).start == at:
        return True
    rest = heard.norms(at, at + 4)
    if rest[0] in _ENDS or any(m.start == at for m in heard.mentions.of(*_NAMES)):
        return True
    if key == "removed" and any(at <= m.start <= at + 1 for m in heard.mentions.of("condition")):
        # "Manifolds off, heavy deposits inside".
        found = any(m.start == at for m in heard.mentions.of("condition"))
        return found or rest[0] in _HOW_MUCH
    if key == "removed":
        if rest[0] == "of":
            return _from_somewhere(heard, at)
        if rest[0] in ("on", "onto", "to", "in"):
            return bool(_PLACES_TO_LIE & set(rest[1:4]))
        quantity = longest_quantity(heard.tokens, at)
        if quantity is None or (quantity.unit is not None and quantity.unit.unit != "count"):
            return False
        return heard.norms(quantity.number_end, quantity.number_end + 1) in _AFTER_COUNT
    return False


def _something_new(heard: Heard, at: int, key: str, verb: bool) -> bool:
    """Whether the thing named behind the small word is no place but what is told of next.

    "Shaft's out, the sleeve's scored" said in one breath; "out the box" is "out of the box". Where no
    verb stood before ("key in the shaft is worn"), "in" and "on" name a place.
    """
    if heard.norms(at, at + 1)[:1] and heard.tokens[at].norm not in _ARTICLES:
        return False
    if key == "fitted":
        # "The seal's in, the spring's fine", but "shaft's in the vee blocks, indicator's on it".
        named = [m for m in heard.mentions.of(*_NAMES) if m.start == at + 1]
        return verb and any((heard.norms(m.end, m.end + 1) or [""])[0] in _VERBS for m in named)
    if _COME_FROM & set(heard.norms(at + 1, at + 3)) or any(
        at < m.start <= at + 2 for m in heard.mentions.of(*_NAMES)
    ):
        return True
    for i in range(at + 2, min(at + 8, len(heard.tokens))):
        word = heard.tokens[i].norm
        if word in _VERBS:
            return True
        if not word.isalpha() or word in _NO_SUBJECT:
            return False
    return False


def _from_somewhere(heard: Heard, at: int) -> bool:
    """Whether "out of" is followed by where it was, not by what it lacks ("out of true")."""
    rest = heard.norms(at + 1, at + 4)
    if _COME_FROM & set(rest):
        return True
    return any(at < m.start <= at + 2 for m in heard.mentions.of(*_NAMES))


def _same(heard: Heard, part: Mention) -> BareAction | None:
    """Return the reuse that "same wheel back on", "with the same key" tells."""
    word = (heard.norms(part.start - 1, part.start) or [""])[0]
    if word not in _SAME or heard.norms(part.end, part.end + 1) in (["as"], ["size"], ["type"], ["again"]):
        return None
    clause = heard.clause_at(part.start)
    before = heard.norms(max(clause.start, part.start - 3), part.start - 1)
    behind = heard.norms(part.end, clause.end)
    if "with" in before or _GOES_BACK & set(behind) or "new" in heard.norms(clause.start, part.start):
        return BareAction("reused", part.start - 1, part.start, word)
    told = not behind or behind[0] in (",", ".")
    figures = any(token.norm[0].isdecimal() or token.norm in NUMBER_WORDS for token in heard.tokens)
    if word == "same" and told and not figures and clause.start == part.start - 1:
        # "Same shims, by the way"; "same bearing, four thou" measures on.
        return BareAction("reused", part.start - 1, part.start, word)
    return None


def _old_beside_new(heard: Heard, part: Mention) -> BareAction | None:
    """Return the reuse that "four old impellers and two new ones going in" tells."""
    if heard.norms(part.start - 1, part.start) != ["old"]:
        return None
    behind = heard.norms(part.end, part.end + 4)
    if behind[:1] == ["and"] and "new" in behind[1:3] and behind[-1] in ("one", "ones"):
        return BareAction("reused", part.start - 1, part.start, "old beside new")
    return None
