"""How a clause is meant where the next one tells it: "unless it moved", "… but not our pump", "right"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.clause import Clause
from extract.machines_elsewhere import MACHINES
from extract.mentions import Mention, Mentions
from extract.numbers import is_number_word
from extract.tokens import Token
from extract.word_sets import word_set

_TAGS = frozenset({"right", "huh", "eh", "yes", "yeah", "correct"})
_THEY = frozenset({"they", "you", "it"})
_WANTING = word_set("trailing_moods.wanting")
_CONJUNCTIONS = word_set("clauses.conjunctions")
_THINKING = frozenset({"reckon", "think", "guess", "suppose", "bet", "believe"})
_CONDITIONS = frozenset({"unless", "provided", "providing", "assuming"})


def with_trailing_conditions(tokens: Sequence[Token], clauses: list[Clause]) -> list[Clause]:
    """What holds only "unless it moved", "provided the dial's right" is no sure thing said."""
    for n in range(1, len(clauses)):
        at = clauses[n].start
        opener = tokens[at].norm if tokens[at].norm != "," or at + 1 >= len(tokens) else tokens[at + 1].norm
        before = clauses[n - 1]
        if opener in _CONDITIONS and before.mood in ("stated", "future"):
            clauses[n - 1] = Clause(before.start, before.end, before.mood, True)
    return clauses


def with_trailing_tags(tokens: Sequence[Token], mentions: Mentions, clauses: list[Clause]) -> list[Clause]:
    """What follows a question and ends in a tag asks too ("how many foot pound it is thirty seven right")."""
    for n in range(1, len(clauses)):
        before, clause = clauses[n - 1], clauses[n]
        asked = _asks_what_it_gets(tokens, mentions, before)
        figures = any(is_number_word(token) for token in tokens[before.start : before.end])
        last = [t.norm for t in tokens[clause.start : clause.end] if t.norm not in ("?", ".")][-1:]
        if asked and not figures and last and last[0] in _TAGS and clause.mood == "stated":
            clauses[n] = Clause(clause.start, clause.end, "question", clause.hedged)
    return clauses


def _asks_what_it_gets(tokens: Sequence[Token], mentions: Mentions, clause: Clause) -> bool:
    """Whether it is asked how many a thing gets; "how much is end play" may be answered at once."""
    forms = [m.form for m in mentions.cues("question") if clause.holds(m)]
    wanted = any(token.norm in _WANTING for token in tokens[clause.start : clause.end])
    return "how many" in forms or (wanted and any(form.split()[0] in ("how", "what") for form in forms))


def with_questions_going_on(tokens: Sequence[Token], clauses: list[Clause]) -> list[Clause]:
    """A question goes on where its subject is cut off ("what is it | they want on these, ninety")."""
    for n in range(1, len(clauses)):
        before, clause = clauses[n - 1], clauses[n]
        opens = [token.norm for token in tokens[clause.start : clause.start + 2]]
        figures = any(is_number_word(token) for token in tokens[before.start : before.end])
        asked = before.mood == "question" and not figures and clause.mood == "stated"
        if asked and len(opens) == 2 and opens[0] in _THEY and opens[1] in _WANTING:
            clauses[n] = Clause(clause.start, clause.end, "question", clause.hedged)
    return clauses


def with_trailing_elsewhere(tokens: Sequence[Token], clauses: tuple[Clause, ...]) -> tuple[Clause, ...]:
    """What happened "when they did that one" is of another machine in the clause before as well."""
    moods = list(clauses)
    for n in range(1, len(moods)):
        if moods[n].mood == "elsewhere" and tokens[moods[n].start].norm in ("when", "where", "while"):
            before = moods[n - 1]
            moods[n - 1] = Clause(before.start, before.end, "elsewhere", before.hedged)
    return tuple(moods)


def with_elsewhere_told_behind(
    tokens: Sequence[Token], mentions: Mentions, clauses: list[Clause]
) -> list[Clause]:
    """A machine named in a clause is another one where the next says so ("… but this is not our pump")."""
    told = list(clauses)
    for n, clause in enumerate(clauses):
        if not _said_behind(mentions, clause.start, clause.end):
            continue
        at = n
        while at and not _names_machine(tokens, mentions, told[at], told[n]):
            at -= 1
        for i in range(at, n + 1) if _names_machine(tokens, mentions, told[at], told[n]) else ():
            told[i] = Clause(told[i].start, told[i].end, "elsewhere", told[i].hedged)
    return told


def _said_behind(mentions: Mentions, start: int, end: int) -> Mention | None:
    return next((m for m in mentions.cues("elsewhere_behind") if start <= m.start < end), None)


def _names_machine(tokens: Sequence[Token], mentions: Mentions, clause: Clause, last: Clause) -> bool:
    """Whether a machine's noun stands in a clause, outside names and before what tells that it is another."""
    cue = _said_behind(mentions, last.start, last.end)
    end = min(clause.end, cue.start if cue else clause.end)
    return any(tokens[i].norm in MACHINES and not _in_a_name(mentions, i) for i in range(clause.start, end))


def _in_a_name(mentions: Mentions, i: int) -> bool:
    return any(m.start <= i < m.end and m.kind != "cue" and m.cost < 1 for m in mentions.all)


def _only_joins(tokens: Sequence[Token], clause: Clause) -> bool:
    """Whether a clause is nothing but the word that joins two ("but")."""
    return all(
        token.norm in _CONJUNCTIONS or token.norm in "," for token in tokens[clause.start : clause.end]
    )


def _leads_on(tokens: Sequence[Token], clause: Clause, behind: Sequence[Clause]) -> bool:
    """Whether a doubt is about the remark behind it ("… I reckon | that's where the mud went")."""
    if not behind or clause.end - clause.start != 2 or tokens[clause.end - 1].norm not in _THINKING:
        return False
    remark = [token.norm for token in tokens[behind[0].start : behind[0].end]]
    figures = any(is_number_word(token) for token in tokens[behind[0].start :])
    return len(remark) > 3 and not figures and remark[1:2] in (["'s"], ["is"], ["was"])


def with_trailing_hedges(tokens: Sequence[Token], clauses: tuple[Clause, ...]) -> tuple[Clause, ...]:
    """A doubt that makes a clause of its own is about the one before ("… or two, hard to tell")."""
    hedged = list(clauses)
    for n in range(1, len(hedged)):
        clause = hedged[n]
        if _leads_on(tokens, clause, hedged[n + 1 :]):
            continue
        if (
            clause.hedged
            and clause.end - clause.start <= 6
            and not any(t.norm[0].isdecimal() for t in tokens[clause.start : clause.end])
        ):
            at = n - 1
            while at and _only_joins(tokens, hedged[at]):
                at -= 1
            before = hedged[at]
            if before.mood in ("stated", "future"):
                hedged[at] = Clause(before.start, before.end, before.mood, True)
    return tuple(hedged)
