"""Words that sound like a plan and tell what was done: "let me mic the sleeve one eight seven five"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention
from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.tokens import Token
from extract.word_sets import word_set

_ABOUT = frozenset({"about", "around", "just", "only", "nearly", "almost"})
_AT_ONCE = frozenset({"let me", "let's", "let us"})
"""What is announced so is done in the same breath."""
_MEASURING = word_set("plans.measuring")
#: "Get a reading on it", "put the dial on it"; "take two thou out" and "get the dial set" measure nothing.
_WITH_TOOL = {
    "get": frozenset({"reading", "readings", "measurement", "measurements"}),
    "take": frozenset({"reading", "readings", "measurement", "measurements"}),
    "put": word_set("loose_bits.tools") | {"caliper", "calipers", "calliper", "vernier"},
}
_IF = frozenset({"if", "unless", "once", "then", "set", "shim"})
_NOT_NOW = frozenset({"when", "once", "tomorrow", "later", "next", "after", "before", "until", "till", "if"})
_SOON = 3
_CLEANING = word_set("plans.cleaning")
_PRONOUNS = frozenset({"it", "that", "this", "them", "those", "these"})
_DECIDED_WITHIN = 9
#: A figure behind one of these is a target, a limit or a size.
_AIMED_AT = frozenset(
    {"to", "for", "at", "if", "whether", "against", "until", "till", "with", "of", "than", "in", "within",
     "under", "over", "by", "between", "about", "around", "near", "after", "or", "a", "an", "every", "all"}
)  # fmt: skip


def no_plan(tokens: Sequence[Token], cue: Mention, end: int) -> bool:
    """Whether a cue of what is to come is none, in a clause that ends before token ``end``."""
    reached = _reached(tokens, cue) or _may_read(tokens, cue, end)
    return (
        reached or cleaned_to_reuse(tokens, cue) or _short_past(tokens, cue) or _came_of_it(tokens, cue, end)
    )


def cleaned_to_reuse(tokens: Sequence[Token], cue: Mention) -> bool:
    """Whether "I'll clean that and reuse it" decides: what is used again is decided with the word."""
    words = [token.norm for token in tokens[cue.end : cue.end + _DECIDED_WITHIN]]
    if words[:1] == ["just"]:
        words = words[1:]
    if words[:1] == [] or words[0] not in _CLEANING or words[1:2] == [] or words[1] not in _PRONOUNS:
        return False
    behind = words[2:][words[2:3] in (["up"], ["off"], ["out"], ["down"]) :]
    again = [word for word in behind[1:] if word != "-"]
    again = again[1:] if again[:1] == ["reuse"] else again[2:] if again[:2] == ["re", "use"] else []
    return behind[:1] == ["and"] and again[:1] != [] and again[0] in _PRONOUNS | {"him", "her"}


def _may_read(tokens: Sequence[Token], cue: Mention, end: int) -> bool:
    """Whether a value is only doubted: "vane two may be nineteen or twenty" reads it off."""
    at = cue.end
    while at < len(tokens) and tokens[at].norm in _ABOUT | {"maybe", "well", "even"}:
        at += 1
    if cue.form not in ("may", "might", "could") or tokens[at : at + 1] == [] or tokens[at].norm != "be":
        return False
    value = at + 1 < end and is_number_word(tokens[at + 1])
    return value and not any(token.norm in _IF for token in tokens[max(0, cue.start - 6) :])


def _reached(tokens: Sequence[Token], cue: Mention) -> bool:
    """Whether a figure was reached: "got to fifty two degrees" is read off, "got to do it" is a plan."""
    at = cue.end
    while at < len(tokens) and tokens[at].norm in _ABOUT | {"a"}:
        at += 1
    return cue.form == "got to" and at < len(tokens) and is_number_word(tokens[at])


def _short_past(tokens: Sequence[Token], cue: Mention) -> bool:
    """Whether "'d" ends a verb ("mic'd the sleeve") and stands for no "would"."""
    before = {token.norm for token in tokens[max(0, cue.start - 2) : cue.start]}
    had = [token.norm for token in tokens[cue.end : cue.end + 1]] in (["had"], ["been"])
    if cue.form == "'d" and had and before & {"once", "after"}:
        # "Once she'd had an hour".
        return True
    return cue.form == "'d" and cue.start > 0 and tokens[cue.start - 1].norm in _MEASURING


def _came_of_it(tokens: Sequence[Token], cue: Mention, end: int) -> bool:
    """Whether a measurement was announced and its value said with it, last in the clause."""
    if cue.form not in _AT_ONCE:
        return False
    verb = next((i for i in range(cue.end, min(end, cue.end + _SOON)) if tokens[i].norm in _MEASURING), None)
    if verb is None or not _measures(tokens, verb, end) or _NOT_NOW & {t.norm for t in tokens[verb:end]}:
        return False
    for i in range(verb + 2, end):
        value = longest_quantity(tokens, i)
        if value is not None and tokens[i - 1].norm not in _AIMED_AT:
            return value.end >= end or tokens[value.end].norm in ",."
    return False


def _measures(tokens: Sequence[Token], verb: int, end: int) -> bool:
    """Whether a verb says that something is measured, by itself or with what it is done to."""
    with_what = _WITH_TOOL.get(tokens[verb].norm)
    behind = [token.norm for token in tokens[verb + 1 : min(end, verb + 1 + _SOON)]]
    return with_what is None or (
        bool(with_what & set(behind)) and ("on" in behind or tokens[verb].norm != "put")
    )
