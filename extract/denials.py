"""Whether a finding or an action is denied: where a negation begins to hold and where it ends."""

from __future__ import annotations

from extract.clause import Clause
from extract.heard import Heard
from extract.mentions import Mention
from extract.state_sense import COPULAS
from extract.word_sets import phrase_list, word_set

_NEEDED = frozenset({"needed", "required", "necessary"})
#: "Not cracked, bit of rust"; what was denied is told in a participle or a word of judging.
_AMOUNTS = frozenset({"bit", "touch", "spot", "some", "slight", "little", "few", "light", "only", "just"})
_JUDGED = frozenset({"bad", "broken", "worn", "torn", "bent", "wrong", "good", "great", "perfect"})
_FILLERS = frozenset({",", "there", "i", "we", "at", "all"})
_NO_VERB = word_set("denials.no_verb")
_SUBJECT_STARTS = frozenset({"the", "a", "this", "that", "its", "my"})
#: What follows "cracks I …".
_NOT_SEEN = tuple(tuple(phrase.split()) for phrase in phrase_list("denials.not_seen"))


def denied(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether a negation before it in its clause still holds."""
    if _denied_behind(heard, at):
        return True
    putting_right = heard.mentions.cues("correction")
    negations = [
        m
        for m in heard.mentions.cues("negation")
        if clause.start <= m.start < at
        and not _is_removal(heard, m)
        and not any(m.inside(cue) for cue in putting_right)
    ]
    if not negations:
        return _choice_denied(heard, clause, at)
    last = negations[-1]
    if any(last.end <= cue.start and cue.end <= at for cue in putting_right):
        # "Not scored, sorry, scratched".
        return False
    if _something_found(heard, last.end, at):
        # "Isn't damaged, bit of surface rust".
        return False
    if _NEEDED & set(heard.norms(last.end, at)):
        # "No new rings needed, reusing them": that was all that was denied.
        return False
    if any(last.end <= m.start < at for m in heard.mentions.cues("contrast")):
        return False
    of_them = heard.norms(last.end, last.end + 1) == ["of"]
    ended = (last.form in ("no", "nothing", "without", "none", "never") and not of_them) or _denies_before(
        heard, last, at
    )
    if last.form in ("no", "without") and _is_action(heard, at) and _finding_between(heard, last, at):
        # "No cracks no chunks out of it leave it".
        return False
    # A new subject with its own verb ends what was denied.
    subjects = [m for m in heard.mentions.of("part", "other_part") if last.end < m.start and m.end <= at]
    if last.form == "not" and _names_subject(heard, last.end):
        # "Not the seat, the carbon is": what was denied is the first part named.
        subjects = [m for m in subjects if m.start > last.end + 1]
        ended = True
    return not (ended and any(_verb_between(heard, part.end, at) for part in subjects))


def _something_found(heard: Heard, start: int, at: int) -> bool:
    """Whether a small amount is named as found behind what is denied."""
    words = heard.norms(start, at + 1)
    amount = next((n for n in range(len(words) - 1, 0, -1) if words[n] in _AMOUNTS), None)
    return amount is not None and any(word.endswith("ed") or word in _JUDGED for word in words[:amount])


def _choice_denied(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether the clause only ends what the one before denies ("can't leave one old and one new")."""
    words = heard.norms(clause.start, clause.end)
    if not clause.start or words[:1] != ["and"] or not set(words) <= _NO_VERB:
        return False
    before = heard.clause_at(clause.start - 1)
    return any(before.holds(m) for m in heard.mentions.cues("negation"))


def _is_action(heard: Heard, at: int) -> bool:
    starting = {m.kind for m in heard.mentions.of("condition", "action") if m.start == at}
    return starting == {"action"}


def _is_removal(heard: Heard, cue: Mention) -> bool:
    """Whether "out of" only says where something came from ("packing's out of both ends")."""
    return cue.form == "out of" and heard.norms(cue.start - 1, cue.start) != ["ran"]


def _denies_before(heard: Heard, negation: Mention, at: int) -> bool:
    """Whether what was denied stands between already ("splines aren't fretted, the shaft's good")."""
    return any(negation.end <= m.start and m.end < at for m in heard.mentions.of("condition", "action"))


def _finding_between(heard: Heard, negation: Mention, at: int) -> bool:
    return any(negation.end <= m.start and m.end <= at for m in heard.mentions.of("condition"))


def _names_subject(heard: Heard, at: int) -> bool:
    """Whether a part with its article stands right there ("not the seat …")."""
    if heard.norms(at, at + 1)[:1] and heard.norms(at, at + 1)[0] not in _SUBJECT_STARTS:
        return False
    return any(m.start == at + 1 for m in heard.mentions.of("part", "other_part"))


def _denied_behind(heard: Heard, at: int) -> bool:
    """Whether the denial follows ("cracks i do not see", "scratches none")."""
    mention = next((m for m in heard.mentions.of("condition") if m.start == at), None)
    if mention is None:
        return False
    behind = [word for word in heard.norms(mention.end, mention.end + 7) if word not in _FILLERS]
    if behind[:2] == ["none", "of"]:
        return False
    return any(tuple(behind[: len(words)]) == words for words in _NOT_SEEN)


def _verb_between(heard: Heard, start: int, end: int) -> bool:
    return any(word in COPULAS for word in heard.norms(start, end)) or start == end
