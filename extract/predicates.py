"""What is said of parts: findings and actions in an utterance, and whether each is meant.

A word such as "fine", "hard", "fit" or "out" says something of a part only in the right company.
Denied, planned, supposed and asked ones are marked; the rooms for conditions and part actions take
those that are left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from extract.bare_particles import bare_actions
from extract.clause import Clause
from extract.denials import denied
from extract.heard import Heard
from extract.mentions import Mention
from extract.numbers import is_number_word
from extract.plans import cleaned_to_reuse
from extract.predicate_sense import is_meant
from extract.split_phrases import split_phrases
from extract.word_sets import phrase_list, word_set

_LATE_FUTURE = frozenset(phrase_list("predicates.late_future"))
#: "I nearly put it back": it was not done.
_VIEWS = phrase_list("predicates.views")
#: "Before they go on", "once the rings are in": still to come.
_NOT_BEFORE = word_set("predicates.not_before")
_REPORTERS = word_set("predicates.reporters")
_NEARLY = word_set("predicates.nearly")
_PRESENT = word_set("predicates.present")
_SUBJECTS = word_set("clauses.subjects") | {"the", "my", "all"}
_PAST = word_set("predicates.past")
#: What ends the service of an old part.
_COMING = word_set("predicates.coming")
#: A passive of what is still to be done.
_STILL_OPEN = frozenset({"get", "gets", "be", "will", "'ll"})
_JOINED = frozenset({"and", "then", ","})
_IF = frozenset({"if", "unless", "provided", "providing", "assuming", "as", "so", "depending"})
_HE = frozenset({"he", "she", "they"})
#: Whose word on using a part again is the decision.
_DECIDERS = word_set("predicates.deciders")
_BEHIND_DOUBT = frozenset({".", ",", "though", "from", "here", "anyway", "mind", "you", "yet"})
_TRAILING_PLACES = (("on", "it"), ("in", "it"), ("to", "it"), ("on", "them"), ("in", "them"))


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
        predicate_at(heard, p.kind, p.key, p.start, p.start + 1, p.form, (), p.tail)
        for p in split_phrases(heard)
        if not _ends_finding(heard, p.start, p.tail[1])
    ]
    pictured = _pictured(heard)
    for mention in _longest(heard.mentions.of("condition", "action")):
        if any(p.start < mention.end and mention.start < _end(p) for p in found) or mention.start in pictured:
            continue
        if mention.kind == "condition" and any(
            mention.overlaps(m) for m in heard.mentions.cues("break_loose")
        ):
            # "Cracked off at seventy" tells how a bolt came loose.
            continue
        for key in mention.keys:
            if is_meant(heard, mention, key):
                found.append(
                    predicate_at(
                        heard, mention.kind, key, mention.start, mention.end, mention.form, mention.repairs
                    )
                )
                break
    for bare in bare_actions(heard):
        if not any(p.start < bare.end and bare.start < _end(p) for p in found):
            found.append(predicate_at(heard, "action", bare.key, bare.start, bare.end, bare.form))
    return sorted(found, key=lambda p: p.start)


def _ends_finding(heard: Heard, start: int, end: int) -> bool:
    """Whether a verb and its "off" only end what was found ("a corner knocked off it")."""
    return any(m.start < start and end <= m.end for m in heard.mentions.of("condition"))


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
    # "It's in bits": the small word belongs to the finding.
    mentions = [m for m in mentions if m.kind != "action" or not _runs_into_finding(m, mentions)]
    for mention in sorted(mentions, key=lambda m: (-_weight(m), m.start, m.kind)):
        if not any(mention.overlaps(other) for other in chosen):
            chosen.append(mention)
    return sorted(chosen, key=lambda m: m.start)


def _runs_into_finding(action: Mention, mentions: list[Mention]) -> bool:
    return action.end - action.start > 1 and any(
        m.kind == "condition" and m.start == action.end - 1 and m.end > action.end for m in mentions
    )


def _weight(mention: Mention) -> int:
    """Return how many words tell: "on it" in "wear on it" tells nothing beside "uneven wear"."""
    idle = tuple(mention.form.split()[-2:]) in _TRAILING_PLACES
    return mention.end - mention.start - (2 if idle else 0)


def predicate_at(
    heard: Heard,
    kind: str,
    key: str,
    start: int,
    end: int,
    form: str,
    repairs: tuple[str, ...] = (),
    split: tuple[int, int] | None = None,
) -> Predicate:
    """Return what stands at tokens ``start`` to before ``end``, with how it is meant."""
    clause = heard.clause_at(start)
    return Predicate(
        kind,
        key,
        start,
        end,
        clause,
        form,
        denied(heard, clause, start),
        _mood(heard, clause, start, kind, key),
        _hedged(heard, clause, start, key),
        split,
        repairs,
    )


# -- how it is meant ---------------------------------------------------------------------------


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


def _told_of_long_ago(heard: Heard, at: int) -> bool:
    """Whether something off the sheet has been so "since June": talk of the shop, no finding of this job."""
    behind = heard.norms(at + 1, at + 5)
    listed = any(
        m.end <= at and heard.clause_at(m.start) == heard.clause_at(at) for m in heard.mentions.of("part")
    )
    return "since" in behind and not listed


def _mood(heard: Heard, clause: Clause, at: int, kind: str, key: str = "") -> str:
    if kind == "action" and _chained_future(heard, clause, at):
        return "future"
    if key == "renewed" and _until_then(heard, at):
        return "future"
    if kind == "action" and (_still_to_come(heard, at) or _waits(heard, clause, at)):
        return "future"
    if kind == "action" and _hangs_on_what_comes(heard, clause, at):
        return "conditional"
    if kind == "action" and _NEARLY & set(heard.norms(clause.start, at)):
        return "future"
    if kind == "action" and any(
        clause.holds(cue) and cue.start < at for cue in heard.mentions.cues("undone")
    ):
        return "future"
    told = [cue for cue in heard.mentions.cues("rule_told") if clause.holds(cue) and cue.start < at]
    if any(key != "reused" or not _DECIDERS & set(cue.form.split()) for cue in told):
        return "future"
    if told:
        # "Boss says run the springs again": he decides.
        return "stated"
    if clause.mood in ("question", "conditional", "elsewhere"):
        return clause.mood
    if kind == "condition" and _told_of_long_ago(heard, at):
        return "elsewhere"
    for cue in heard.mentions.cues("future"):
        if not clause.holds(cue) or cleaned_to_reuse(heard.tokens, cue):
            continue
        if cue.form in _LATE_FUTURE or (
            cue.start < at and (kind == "action" or cue.form not in ("can", "could", "may", "might"))
        ):
            return "future"
    return "stated"


def _reported(heard: Heard, at: int, key: str) -> bool:
    """Whether somebody else said so ("John said the coupling was cracked")."""
    start = max(heard.clause_at(at).start, at - 8)
    lead = heard.norms(start, at)
    at_verb = next((n for n, word in enumerate(lead) if word in _REPORTERS), None)
    sayer = lead[at_verb - 1] if at_verb else ""
    if not at_verb or sayer in ("i", "we", "'ve", "have") or sayer in _DECIDERS:
        return False
    return not (key == "reused" and sayer in _HE and _was_asked(heard.norms(0, start + at_verb - 1)))


def _was_asked(before: Sequence[str]) -> bool:
    """Whether who says so is one who decides, or was asked to ("I asked the foreman and he says …")."""
    return bool(_DECIDERS & set(before)) or any(asked in before for asked in ("asked", "rang", "phoned"))


def _still_to_come(heard: Heard, at: int) -> bool:
    """Whether "before", "once" with nothing but the subject behind it leads to what is told."""
    lead = heard.norms(at - 6, at)
    for n in range(len(lead) - 1, -1, -1):
        if lead[n] in _NOT_BEFORE:
            subject = lead[n + 1 :]
            return bool(subject) and subject[0] in (
                "i",
                "we",
                "you",
                "they",
                "it",
                "the",
                "those",
                "these",
                "that",
            )
        if lead[n] in (",", ".", "and", "but", "so"):
            return False
    return False


def _waits(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether a thing that "is going back in" waits for what comes first ("when I close up")."""
    if heard.tokens[at].norm not in _PRESENT:
        return False
    behind = heard.norms(at + 1, clause.end + 4)
    for n, word in enumerate(behind[:-2]):
        if word in ("till", "until") and _till_there_is_one(behind[n + 1 :]):
            return False
        if word in ("when", "once", "after", "till", "until"):
            verb = behind[n + 2]
            return behind[n + 1] in _SUBJECTS and not (verb.endswith("ed") or verb in _PAST)
    return False


def _hangs_on_what_comes(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether what is not done yet waits for how something turns out ("reuse it if it measures")."""
    before = heard.norms(max(clause.start, at - 2), at)
    verb = heard.tokens[at].norm
    if (verb.endswith("ed") or verb in _PAST) and _STILL_OPEN.isdisjoint(before):
        return False
    here = clause
    while here.end < len(heard.tokens):
        here = heard.clause_at(here.end)
        opener = heard.tokens[here.start].norm
        if opener not in _JOINED:
            break
    return here.start > at and here.mood == "conditional" and opener in _IF


def _until_then(heard: Heard, at: int) -> bool:
    """Whether a new one is only what the old one serves until ("until new one comes")."""
    lead = heard.norms(at - 5, at)
    return any(word in ("until", "till") for word in lead) and _till_there_is_one(heard.norms(at - 4, at + 4))


def _till_there_is_one(behind: Sequence[str]) -> bool:
    """Whether what follows "until" is the coming of another part or of help: till then the old one serves."""
    return not _COMING.isdisjoint(behind)


def _doubted_clause(heard: Heard, clause: Clause) -> bool:
    """Whether the words right before or behind a clause only doubt it ("I'm not sure but …")."""
    if clause.start == 0:
        return False
    before = heard.clause_at(clause.start - 1)
    joint = heard.tokens[clause.start].norm
    says_nothing = not any(before.holds(m) for m in heard.mentions.of("condition", "action"))
    return before.hedged and says_nothing and joint in ("but", "that", "if", "it", "they")


def _only_looks(heard: Heard, at: int, key: str) -> bool:
    """Whether "looks cracked to me" gives a view, not a finding; "looks good to me" judges as usual."""
    said = " ".join(heard.norms(at - 6, at))
    if any(view in said for view in _VIEWS) or _reported(heard, at, key):
        return True
    mention = next((m for m in heard.mentions.of("condition") if m.start == at and m.key != "good"), None)
    if mention is None or not {"look", "looks", "seem", "seems"} & set(heard.norms(at - 3, at)):
        return False
    return "to me" in " ".join(heard.norms(mention.end, mention.end + 3))


def _hedged(heard: Heard, clause: Clause, at: int, key: str) -> bool:
    if heard.norms(at + 1, at + 2) == ["looking"] or heard.norms(at + 1, at + 3) == ["-", "looking"]:
        # "Kind of stretched looking".
        return True
    if _doubted_clause(heard, clause) or _only_looks(heard, at, key):
        return True
    cues = [cue for cue in heard.mentions.cues("hedge") if clause.holds(cue)]
    if not cues:
        # "New belts, belt deflection nine or ten, hard to see" doubts the value.
        measured = any(at < m.start < clause.end and m.cost < 1 for m in heard.mentions.of("item"))
        figures = any(is_number_word(token) for token in heard.tokens[at + 1 : clause.end])
        return clause.hedged and not (measured and figures)
    return any(cue.start <= at or _closes(heard, clause, cue, at) for cue in cues)


def _closes(heard: Heard, clause: Clause, cue: Mention, at: int) -> bool:
    """Whether a doubt ends the clause right behind the finding ("a bit stretched, maybe").

    "Worn, probably by the sand" doubts only what did it, "forty or so" the figure.
    """
    behind = heard.norms(cue.end, clause.end)
    between = heard.norms(at + 1, cue.start)
    if not all(word in _BEHIND_DOUBT for word in behind) or any(word[0].isdecimal() for word in between):
        return False
    return not any(at < m.start < cue.start for m in heard.mentions.of("condition", "action"))
