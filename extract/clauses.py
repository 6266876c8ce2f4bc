"""Clauses of an utterance and how each is meant: stated, asked, planned, supposed, of another machine.

Engines that print no punctuation leave only the words to cut by: conjunctions, and pronouns that
start a sentence of their own ("they're pretty corroded"). Punctuation helps where there is some.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from extract.asking import asks, is_what, says
from extract.clause import Clause, Mood
from extract.machines_elsewhere import MACHINES
from extract.mentions import Mention, Mentions
from extract.number_cuts import split_cost
from extract.numbers import is_number_word
from extract.plans import no_plan
from extract.quantity_arcs import longest_quantity, quantities_ending_at
from extract.spoken_units import unit_names_at
from extract.tokens import Token
from extract.trailing_moods import (
    with_elsewhere_told_behind,
    with_questions_going_on,
    with_trailing_conditions,
    with_trailing_elsewhere,
    with_trailing_hedges,
    with_trailing_tags,
)
from extract.word_sets import word_set

_STOPS = frozenset(".?!;:")
_COPULAS = frozenset({"'s", "is", "was", "at", "reads"})
_PLAIN = word_set("bench_words.glue")
_ENDS_PLAN = word_set("clauses.ends_plan")
#: So far from its beginning a plan may end that another thought follows.
_PLAN_REACH = 9
_TIMES_TO_COME = frozenset({"tomorrow", "next", "later", "soon"})
_CONJUNCTIONS = word_set("clauses.conjunctions")
#: The subject goes on with the clause that these words open.
_BEFORE_SUBJECT = word_set("clauses.before_subject")
#: "not so good", "isn't so bad": a degree, no conjunction.
_BEFORE_DEGREE = word_set("clauses.before_degree")
_SUBJECTS = word_set("clauses.subjects")
_ALWAYS_SUBJECTS = word_set("clauses.always_subjects")
_VERBS = word_set("clauses.verbs")
_ADVERBS = frozenset({"just", "also", "still", "only", "never", "now", "always"})
_BEHIND_LABEL = frozenset({"again", "too", "both", "all", "are", ",", "and", "as"})
_NO_OWNERS = word_set("clauses.subjects") | {"what", "here", "where", "how", "customer", "plant", "site"}
_BEFORE_GOING = word_set("clauses.before_going") | _SUBJECTS | _COPULAS | _ADVERBS
#: "I know how much it takes", "that is how much it moved" ask nothing.
_KNOWN = frozenset({"know", "knows", "is", "'s", "see", "check", "checks", "of", "on", "about", "by"})
_MACHINES = ("pump", "unit", "machine")
#: What is said of another machine begins before its name ("on the agitator of tank nine the bush was …").
_LEADS_ON = word_set("reference.prepositions") | {
    "than",
    "like",
    "as",
    "with",
    "from",
    "before",
    "and",
    "but",
}
#: What tells what is wanted.
_TELLERS = frozenset(
    {"book", "sheet", "card", "drawing", "manual", "print", "spec", "maker", "procedure", "paper"}
)
_OF_PAST = ("got", "had", "was", "came", "went")
_FILLERS = word_set("clauses.fillers")
#: "Should I use …": the question goes on behind its subject.
_AUXILIARIES = word_set("clauses.auxiliaries")


def cut_clauses(tokens: Sequence[Token], mentions: Mentions) -> tuple[Clause, ...]:
    """Cut an utterance into clauses, in order, without gaps; each with its mood."""
    if not tokens:
        return ()
    starts = [0]
    for i in range(1, len(tokens)):
        if _starts_clause(tokens, i, mentions):
            starts.append(i)
    bounds = [*starts, len(tokens)]
    spans = [(a, b) for a, b in pairwise(bounds) if b > a]
    sentences = _sentence_ends(tokens)
    clauses: list[Clause] = []
    supposed_until = -1
    elsewhere_until = -1
    for start, end in spans:
        if _cue_in(mentions, "conditional", start, end):
            supposed_until = _end_of_sentence(sentences, start, len(tokens))
        if start == elsewhere_until and _goes_on_in_past(
            tokens, start, _end_of_sentence(sentences, start, len(tokens))
        ):
            elsewhere_until = _end_of_sentence(sentences, start, len(tokens))
        if _cue_in(mentions, "elsewhere", start, end) or _somebodys(tokens, start, end):
            elsewhere_until = _end_of_sentence(sentences, start, len(tokens))
        clauses.append(
            Clause(
                start,
                end,
                _mood(tokens, mentions, start, end, start < supposed_until, start < elsewhere_until),
                bool(_cue_in(mentions, "hedge", start, end)) or is_what(tokens, start, end),
            )
        )
    clauses = with_trailing_tags(tokens, mentions, with_trailing_conditions(tokens, clauses))
    clauses = with_questions_going_on(tokens, clauses)
    clauses = with_elsewhere_told_behind(tokens, mentions, clauses)
    return with_trailing_hedges(tokens, with_trailing_elsewhere(tokens, tuple(clauses)))


def _goes_on_in_past(tokens: Sequence[Token], start: int, end: int) -> bool:
    """Whether the sentence behind one of another machine goes on with it ("bent like a banana, she was")."""
    norms = [token.norm for token in tokens[start:end]]
    last = [word for word in norms if word not in (".", ",", "!")]
    return last[-2:] in (["she", "was"], ["it", "was"], ["they", "were"], ["he", "was"]) or norms[:2] in (
        ["she", "was"],
        ["it", "was"],
        ["they", "were"],
    )


def _somebodys(tokens: Sequence[Token], start: int, end: int) -> bool:
    """Whether it is told of the pump of somebody else ("Dave's pump got new bearings")."""
    for i in range(start + 1, end - 2):
        owner, own, noun, verb = (token.norm for token in tokens[i - 1 : i + 3])
        if own == "'s" and noun in _MACHINES and verb in _OF_PAST:
            return owner.isalpha() and owner not in _VERBS and owner not in _NO_OWNERS
    return False


def _starts_clause(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    norm = tokens[i].norm
    before = tokens[i - 1].norm
    following = tokens[i + 1].norm if i + 1 < len(tokens) else ""
    if before in _STOPS and not _between_figures(tokens, i - 1):
        return True
    if _recites_behind_figure(tokens, i, mentions):
        return True
    if _item_behind_a_time(tokens, i, mentions) or _turns_elsewhere(tokens, i, mentions):
        return True
    if norm == "so" and (
        before in _BEFORE_DEGREE or following in ("far", "much", "many", "good", "bad", "well")
    ):
        return False
    if norm in _CONJUNCTIONS:
        # "What do then gland nuts get" was "them".
        return before not in ("do", "does", "did") and not _inside_name(mentions, i)
    if norm in _ALWAYS_SUBJECTS:
        return before not in _BEFORE_SUBJECT and before not in _AUXILIARIES and not _inside_name(mentions, i)
    if norm in ("it", "that", "this", "these", "those") and before in _VERBS and following in _ADVERBS:
        # "Is that just muck".
        return False
    if norm in ("it", "that", "this", "these", "those", "you"):
        return following in _VERBS and before not in (*_BEFORE_SUBJECT, "of", "on", "with", "to", "for", "in")
    if norm == "and":
        return _and_starts_clause(tokens, i, mentions)
    if norm == "or":
        return following in (
            "did",
            "do",
            "does",
            "have",
            "has",
            "is",
            "are",
            "was",
            "were",
            "should",
            "shall",
        )
    if norm == "gonna" or (norm == "going" and following == "to"):
        # "Bearings both rough | gonna put new ones in".
        return _told_before(tokens, i, mentions) and not _goes_to(tokens, i + 1 + (norm == "going"), mentions)
    if norm == "how" and following in ("much", "many"):
        # "Casing bolts how much is it".
        return _asks_how_much(tokens, i) and before not in _KNOWN
    return norm in ("what", "how", "why") and following in _VERBS


def _recites_behind_figure(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    """Whether a limit is told behind a figure that was read ("sixteen thou | should be fifteen")."""
    at = i + (tokens[i].norm in ("the", "this", "that", "it"))
    planned = {m.end for m in mentions.cues("future")}
    if not any(
        at == m.start or (m.end in planned and m.start == at + 1 and tokens[at].norm in _TELLERS)
        for m in mentions.cues("limit_before")
        if m.end in planned
    ):
        return False
    if longest_quantity(tokens, i) is not None:
        return False
    return bool(quantities_ending_at(tokens, i))


def _asks_how_much(tokens: Sequence[Token], i: int) -> bool:
    """Whether a verb stands behind "how much", or behind "how many" and its unit ("… foot pounds is it")."""
    at = i + 2
    while at < len(tokens) and at < i + 5 and unit_names_at(tokens, at)[0]:
        at += 1
    if at == i + 2:
        return at < len(tokens) and tokens[at].norm in _VERBS
    return at < len(tokens) and tokens[at].norm in ("is", "do", "does", "was", "it", "they")


def _told_before(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    """Whether a finding or a value stands before a plan without a subject of its own."""
    told = any(m.end <= i for m in mentions.of("condition")) or is_number_word(tokens[i - 1])
    free = tokens[i - 1].norm.isalnum() and tokens[i - 1].norm not in _BEFORE_GOING
    return told and free and not _inside_name(mentions, i)


def _goes_to(tokens: Sequence[Token], to: int, mentions: Mentions) -> bool:
    """Whether "going to" goes to a place or a number ("vane one eighteen going to vane two nineteen")."""
    placed = {m.start for m in mentions.of("position")}
    return to in placed or (to < len(tokens) and is_number_word(tokens[to]))


def _turns_elsewhere(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    """Whether the talk turns to another machine here ("… an eighth | the pear line pump runs a quarter")."""
    article = tokens[i].norm in ("the", "that")
    if article and tokens[i - 1].norm in _LEADS_ON:
        return False
    if not article and not (is_number_word(tokens[i - 1]) or unit_names_at(tokens, i - 1)[0]):
        return False
    here = [m for m in mentions.cues("elsewhere") if m.start in (i, i + 1)]
    return any(article or (m.start == i and m.form.split()[-1] in MACHINES) for m in here)


def _item_behind_a_time(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    """Whether an item with its value begins behind a time to come ("… next week coupling gap's five")."""
    planned = [m for m in mentions.cues("future") if m.end <= i]
    if not planned:
        return False
    ended = any(m.end == i and m.form.split()[0] in _TIMES_TO_COME for m in planned)
    # "Gotta load it friday coupling gap's five".
    if _unknown(tokens[i], mentions, i) and i - planned[-1].end <= _PLAN_REACH:
        # "Must ring the wife oil temperature one forty": the word before makes it a question.
        at = i + 1 + (i + 1 < len(tokens) and tokens[i + 1].norm == ",")
        behind = [m.end for m in mentions.of("item") if m.start == at and m.cost < 1 and m.end < len(tokens)]
        return i > planned[-1].end and any(_has_value(tokens, end) for end in behind)
    last = i - 1 - (tokens[i - 1].norm == ",")
    ended = ended or (tokens[last].norm in _ENDS_PLAN and any(i - m.end <= _PLAN_REACH for m in planned))
    ends = [m.end for m in mentions.of("item") if m.start == i and m.cost < 1 and m.end < len(tokens)]
    return ended and any(_has_value(tokens, end) for end in ends)


def _has_value(tokens: Sequence[Token], end: int) -> bool:
    return tokens[end].norm in _COPULAS or is_number_word(tokens[end])


def _unknown(token: Token, mentions: Mentions, i: int) -> bool:
    """Whether a word is none of those that are said between readings, and names nothing known."""
    if not token.norm.isalpha() or len(token.norm) < 3 or token.norm in _ENDS_PLAN:
        return False
    return token.norm not in _PLAIN and not any(m.start <= i < m.end for m in mentions.all)


def _and_starts_clause(tokens: Sequence[Token], i: int, mentions: Mentions) -> bool:
    if split_cost(tokens, i) > 0:
        # "forty four and a half", "a hundred and five".
        return False
    if unit_names_at(tokens, i - 1)[0] and {t.norm for t in tokens[i + 1 : i + 3]} & {"half", "quarter"}:
        # "Thou and a half at the seal".
        return False
    before = [m for m in mentions.all if m.end == i and m.kind != "cue"]
    if any(m.kind == "position" for m in before) and _only_a_label(tokens, i + 1):
        # "Bowl three and four again".
        return False
    if _counts_on(tokens, i):
        return False
    following = [m for m in mentions.all if m.start == _next_content(tokens, i + 1) and m.kind != "cue"]
    families = (("part", "other_part", "item"), ("condition", "action"), ("position",))
    for family in families:
        here = [m for m in following if m.kind in family]
        if (
            any(m.kind in family for m in before)
            and here
            and not (family == ("position",) and says(tokens, here[0].end))
        ):
            return False
    return not _inside_name(mentions, i)


def _counts_on(tokens: Sequence[Token], i: int) -> bool:
    """Whether an "and" joins numbers that a verb of several is said of ("vanes two and three are …")."""
    if i + 2 >= len(tokens) or not (is_number_word(tokens[i - 1]) and is_number_word(tokens[i + 1])):
        return False
    return tokens[i + 2].norm in ("are", "were", "'re", "have", "look")


def _only_a_label(tokens: Sequence[Token], i: int) -> bool:
    """Whether one number stands at a token with no value behind it."""
    if i >= len(tokens) or not is_number_word(tokens[i]):
        return False
    return i + 1 >= len(tokens) or tokens[i + 1].norm in _BEHIND_LABEL


def _next_content(tokens: Sequence[Token], i: int) -> int:
    while i < len(tokens) and tokens[i].norm in (
        "the",
        "a",
        "an",
        "some",
        "both",
        "one",
        "two",
        "new",
        "old",
        "also",
        "badly",
    ):
        i += 1
    return i


def _inside_name(mentions: Mentions, i: int) -> bool:
    return any(m.start < i < m.end and m.kind != "cue" for m in mentions.all)


def _between_figures(tokens: Sequence[Token], i: int) -> bool:
    """Whether a stop stands inside figures or a short form ("1.2", "ft.lb")."""
    return (
        0 < i < len(tokens) - 1
        and tokens[i].norm in ".:"
        and tokens[i - 1].end == tokens[i].start
        and tokens[i].end == tokens[i + 1].start
    )


def _sentence_ends(tokens: Sequence[Token]) -> list[int]:
    return [
        i + 1 for i, token in enumerate(tokens) if token.norm in ".?!;" and not _between_figures(tokens, i)
    ]


def _end_of_sentence(ends: Sequence[int], start: int, length: int) -> int:
    return next((end for end in ends if end > start), length)


def _cue_in(mentions: Mentions, name: str, start: int, end: int) -> Mention | None:
    return next((m for m in mentions.cues(name) if start <= m.start < end), None)


def _mood(
    tokens: Sequence[Token], mentions: Mentions, start: int, end: int, supposed: bool, elsewhere: bool
) -> Mood:
    if asks(tokens, mentions, start, end):
        return "question"
    if supposed:
        return "conditional"
    if elsewhere:
        return "elsewhere"
    planned = any(start <= m.start < end and not no_plan(tokens, m, end) for m in mentions.cues("future"))
    return "future" if planned else "stated"
