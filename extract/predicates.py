"""What is said of parts: findings and actions in an utterance, and whether each is meant.

A word such as "fine", "hard", "fit" or "out" says something of a part only in the right company.
Denied, planned, supposed and asked ones are marked; the rooms for conditions and part actions take
those that are left.
"""

from __future__ import annotations

from dataclasses import dataclass

from extract.clauses import Clause
from extract.heard import Heard
from extract.mentions import Mention
from extract.predicate_sense import COPULAS, is_meant
from extract.split_phrases import split_phrases
from extract.word_sets import phrase_list

_NOT_SEEN = tuple(tuple(phrase.split()) for phrase in phrase_list("predicates.not_seen"))
_SAME = frozenset({"same", "original", "existing"})
_GOES_BACK = frozenset({"back", "again", "use", "used", "using", "reuse", "reused", "refitted", "refit"})
_PLACE_CLOSES = frozenset({"and", ",", ".", ";", "now", "then", "okay", "it", "hard", "first"})
_BEFORE_PLACED = frozenset(
    {"the", "both", "all", "and", ",", ".", "old", "whole", "okay", "right", "so", "then"}
)
_LATE_FUTURE = frozenset({"tomorrow", "next week", "later", "later on", "not yet", "soon", "on order"})


@dataclass(frozen=True, slots=True)
class Predicate:
    """One finding or action."""

    kind: str
    """condition or action."""
    key: str
    start: int
    end: int
    clause: Clause
    form: str
    denied: bool = False
    mood: str = "stated"
    hedged: bool = False
    split: tuple[int, int] | None = None
    """For a phrase with its part in the middle ("put the shaft back"): the tokens of its tail."""
    repairs: tuple[str, ...] = ()


def predicates_of(heard: Heard) -> list[Predicate]:
    """Return the findings and actions of an utterance in order, none overlapping."""
    found = [
        _predicate(heard, p.kind, p.key, p.start, p.start + 1, p.form, (), p.tail)
        for p in split_phrases(heard)
    ]
    pictured = _pictured(heard)
    found += [
        p for p in [*_placed(heard), *_kept(heard)] if not any(q.start <= p.start < _end(q) for q in found)
    ]
    for mention in _longest(heard.mentions.of("condition", "action")):
        if any(p.start < mention.end and mention.start < _end(p) for p in found) or mention.start in pictured:
            continue
        for key in mention.keys:
            if is_meant(heard, mention, key):
                found.append(
                    _predicate(
                        heard, mention.kind, key, mention.start, mention.end, mention.form, mention.repairs
                    )
                )
                break
    return sorted(found, key=lambda p: p.start)


def _placed(heard: Heard) -> list[Predicate]:
    """Return what a part and its place say without a verb ("packing out of both ends", "gland off")."""
    found = []
    taken = {i for m in heard.mentions.of("action", "command", "step") for i in range(m.start, m.end)}
    for part in heard.mentions.of("part", "other_part"):
        word = (heard.norms(part.end, part.end + 1) or [""])[0]
        after = heard.norms(part.end + 1, part.end + 3)
        if word not in ("out", "off") or part.end in taken:
            continue
        if (
            after
            and after[0] not in _PLACE_CLOSES
            and after not in (["of", "both"], ["of", "each"], ["of", "the"])
        ):
            continue
        if (
            part.start == heard.clause_at(part.start).start
            or heard.tokens[part.start - 1].norm in _BEFORE_PLACED
        ):
            found.append(_predicate(heard, "action", "removed", part.end, part.end + 1, word))
    return found


def _kept(heard: Heard) -> list[Predicate]:
    """Return what "the same key", "its original bolts" say of a part that goes back."""
    found = []
    for part in heard.mentions.of("part", "other_part"):
        at = part.start - 1
        if at < 0 or heard.tokens[at].norm not in _SAME:
            continue
        if heard.norms(part.end, part.end + 1) in (["as"], ["size"], ["type"], ["again"]):
            continue
        clause = heard.clause_at(at)
        around = set(heard.norms(clause.start, clause.end))
        led = set(heard.norms(max(clause.start, at - 2), at))
        if _GOES_BACK & around or "with" in led:
            found.append(_predicate(heard, "action", "reused", at, at + 1, heard.tokens[at].norm))
    return found


def _pictured(heard: Heard) -> set[int]:
    """Return the tokens that say what a picture is asked of ("a picture of the crack"): no findings."""
    tokens: set[int] = set()
    for command in heard.mentions.of("command"):
        if "snapshot" in command.keys:
            clause = heard.clause_at(command.start)
            tokens.update(range(command.end, max(clause.end, command.end)))
    return tokens


def _end(predicate: Predicate) -> int:
    return predicate.split[1] if predicate.split else predicate.end


def _longest(mentions: list[Mention]) -> list[Mention]:
    chosen: list[Mention] = []
    for mention in sorted(mentions, key=lambda m: (-(m.end - m.start), m.start, m.kind)):
        if not any(mention.overlaps(other) for other in chosen):
            chosen.append(mention)
    return sorted(chosen, key=lambda m: m.start)


def _predicate(
    heard: Heard,
    kind: str,
    key: str,
    start: int,
    end: int,
    form: str,
    repairs: tuple[str, ...] = (),
    split: tuple[int, int] | None = None,
) -> Predicate:
    clause = heard.clause_at(start)
    return Predicate(
        kind,
        key,
        start,
        end,
        clause,
        form,
        _denied(heard, clause, start, end),
        _mood(heard, clause, start, kind),
        _hedged(heard, clause, start),
        split,
        repairs,
    )


# -- how it is meant ---------------------------------------------------------------------------


def _denied_behind(heard: Heard, end: int) -> bool:
    """Whether what was named is denied right behind it ("cracks i do not see", "scratches none")."""
    following = [
        word for word in heard.norms(end, end + 7) if word not in (",", "there", "i", "we", "at", "all")
    ]
    return any(tuple(following[: len(words)]) == words for words in _NOT_SEEN)


def _denied(heard: Heard, clause: Clause, at: int, end: int) -> bool:
    """Whether a negation before it in its clause still holds."""
    putting_right = heard.mentions.cues("correction")
    negations = [
        m
        for m in heard.mentions.cues("negation")
        if clause.start <= m.start < at and not any(m.inside(c) for c in putting_right)
    ]
    if not negations:
        return _denied_behind(heard, end)
    last = negations[-1]
    if any(last.end <= m.start < at for m in heard.mentions.cues("contrast")):
        return False
    if last.form in ("no", "nothing", "without", "none", "never"):
        # A new subject with its own verb ends what a "no" denies.
        for part in heard.mentions.of("part", "other_part"):
            if (
                last.end < part.start
                and part.end <= at
                and (part.start - last.end) >= 1
                and _verb_between(heard, part.end, at)
            ):
                return False
    return True


def _verb_between(heard: Heard, start: int, end: int) -> bool:
    return any(word in COPULAS for word in heard.norms(start, end)) or start == end


def _chained_future(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether a verb is chained on to one that is yet to be done ("to be blasted and then reused")."""
    if clause.start == 0 or heard.tokens[clause.start].norm not in ("and", "then"):
        return False
    subject = heard.norms(clause.start + 1, at)
    own = any(word in ("i", "we", "it", "they", "that", "'s", "is", "are") for word in subject)
    if own or any(m.start >= clause.start and m.end <= at for m in heard.mentions.of("part", "other_part")):
        return False
    before = heard.clause_at(clause.start - 1)
    return _mood(heard, before, before.end, "action") == "future"


def _mood(heard: Heard, clause: Clause, at: int, kind: str) -> str:
    if kind == "action" and _chained_future(heard, clause, at):
        return "future"
    if clause.mood in ("question", "conditional", "elsewhere"):
        return clause.mood
    for cue in heard.mentions.cues("future"):
        if not clause.holds(cue):
            continue
        if cue.form in _LATE_FUTURE or (
            cue.start < at and (kind == "action" or cue.form not in ("can", "could", "may", "might"))
        ):
            return "future"
    return "stated"


def _hedged(heard: Heard, clause: Clause, at: int) -> bool:
    return any(clause.holds(cue) and cue.start <= at for cue in heard.mentions.cues("hedge")) or (
        clause.hedged and not any(clause.holds(cue) for cue in heard.mentions.cues("hedge"))
    )
