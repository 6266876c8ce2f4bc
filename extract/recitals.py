"""Numbers that are said and are no measurement: limits recited, differences, amounts, slips.

"limit's four", "two thou max", "that's over four and a half", "thirty plus or minus eight", "took
ten thou out", "ninety foot pounds to bust it loose", "not fifteen". They make no reading; a
reviewer sees them among the numbers not filed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from extract.averages import averaged
from extract.clause import Clause, clause_of
from extract.compared_amounts import amounts_compared
from extract.former_values import former_values
from extract.identifiers import identifier_tokens
from extract.judged_values import OF_SIZE, is_whole_size, told_of_place
from extract.lone_numbers import things_before_amounts
from extract.mentions import Mention, Mentions
from extract.moved_amounts import MOVED, amounts_moved, over_articles
from extract.numbers import is_number_word
from extract.out_of_reach import labels_out_of_reach
from extract.quantity_arcs import Quantity, longest_quantity, quantities_at
from extract.said_alike import amounts_beside_same, places_alike
from extract.sheet_phrases import WEAK
from extract.sums import sums_said
from extract.surroundings import of_surroundings
from extract.tokens import Token
from extract.tolerances import recites_nominal, tolerance_end
from extract.torque_passes import passes_on_the_way
from extract.values_taken_back import said_instead, values_taken_back
from extract.word_sets import word_set
from extract.zeroings import zeroings
from shared.units import decimal_text

_NOT = frozenset({"not", "n't", "wasn't", "isn't", "weren't", "aren't"})
_MEASURED_ON = word_set("recitals.measured_on")
_AFTER_HOW_LONG = frozenset({"after"})
#: "Eighteen good" is a value that pleases; "two bent" are two of them.
_SAYS = frozenset({"says", "it", "that", "sheet", "book", "card", "print"})
_COMPARED = word_set("recitals.compared")
_OVER = frozenset({"under the", "over the", "above the", "below the"})
_LIMIT_NOUNS = word_set("recitals.limit_nouns")
_JOINS = frozenset({"to", "and", "-", "or", "through", "until", "till", "±", ","})
_RANGE_JOINS = frozenset({"to", "-", "through"})
_FILLER_LIMIT = 7
_MOOD_REASONS = {
    "question": "asked, not measured",
    "conditional": "only supposed",
    "future": "yet to be done",
    "elsewhere": "of another machine or time",
}


@dataclass(frozen=True, slots=True)
class Barred:
    """A number that makes no reading, and why."""

    quantity: Quantity
    reason: str


#: A number that makes no reading, None where none stands there, and why.
_Reasoned = tuple[Quantity | None, str]


def barred_numbers(tokens: Sequence[Token], mentions: Mentions, clauses: Sequence[Clause]) -> list[Barred]:
    """Return the numbers of an utterance that make no reading, in order, none overlapping."""
    put_right = _put_right(tokens, mentions)
    found: list[Barred] = []
    taken: set[int] = set()
    for quantity, reason in chain(
        _of_something_else(tokens, mentions),
        _not_stated(tokens, mentions, clauses),
        _limits(tokens, mentions, clauses, put_right),
        _differences(tokens, mentions, clauses),
        _amounts(tokens, mentions),
        _by_the_way(tokens, mentions, clauses),
    ):
        # What is barred first says why.
        if quantity is not None and taken.isdisjoint(range(quantity.start, quantity.end)):
            found.append(Barred(quantity, reason))
            taken.update(range(quantity.start, quantity.end))
    return sorted(found, key=lambda b: b.quantity.start)


def _put_right(tokens: Sequence[Token], mentions: Mentions) -> set[int]:
    """Return the tokens that right values begin at."""
    return {right for _, right in values_taken_back(tokens, mentions)} | set(said_instead(tokens, mentions))


def _of_something_else(tokens: Sequence[Token], mentions: Mentions) -> Iterator[_Reasoned]:
    """Yield numbers that tell of sums, averages, places, surroundings or a torque on the way."""
    for said in sums_said(tokens, mentions):
        for quantity in said.parts:
            yield quantity, "part of a sum"
    for quantity in averaged(tokens):
        yield quantity, "averaged"
    for quantity in labels_out_of_reach(tokens):
        yield quantity, "a place that could not be measured"
    for quantity in of_surroundings(tokens):
        yield quantity, "of the surroundings"
    for quantity in passes_on_the_way(tokens):
        yield quantity, "a torque on the way"


def _not_stated(
    tokens: Sequence[Token], mentions: Mentions, clauses: Sequence[Clause]
) -> Iterator[_Reasoned]:
    """Yield what is said to be wrong, and what is asked, planned, supposed or of another machine."""
    wrong = values_taken_back(tokens, mentions)
    for quantity, _ in wrong:
        yield quantity, "said to be wrong"
    instead = said_instead(tokens, mentions)
    put_right = _put_right(tokens, mentions)
    for clause in clauses:
        rights = put_right & {clause.start} or any(clause.start <= right < clause.end for right in instead)
        if clause.mood != "stated" and not (clause.mood == "future" and rights):
            for quantity in _all_in(tokens, clause.start, clause.end):
                yield quantity, _MOOD_REASONS[clause.mood]
    for quantity in _plus_minus(tokens):
        yield quantity, "a tolerance"


def _limits(
    tokens: Sequence[Token], mentions: Mentions, clauses: Sequence[Clause], put_right: set[int]
) -> Iterator[_Reasoned]:
    """Yield limits that are recited or compared with."""
    for cue in mentions.cues("limit_before"):
        if any(right <= cue.start <= right + 1 for right in put_right):
            # "I put forty eight, it should be forty six".
            continue
        if "sheet" in cue.form and cue.start and tokens[cue.start - 1].norm in _MEASURED_ON:
            # "Balance sheet says two grams" tells what was measured.
            continue
        for quantity in _after_limit(tokens, cue, mentions, clauses):
            yield quantity, "a limit recited"
    for cue in mentions.cues("beyond"):
        yield longest_quantity(tokens, over_articles(tokens, cue.end)), "a limit compared with"
    for cue in mentions.cues("limit_after"):
        if longest_quantity(tokens, _over_copula(tokens, cue.end)) is None:
            # "13778, says here".
            paused = cue.form.split()[0] in _SAYS and tokens[cue.start - 1].norm == "," and cue.start > 1
            last = _ending(tokens, cue.start - paused)
            yield last, "a limit recited"
            yield _range_start(tokens, last), "a limit recited"


def _differences(
    tokens: Sequence[Token], mentions: Mentions, clauses: Sequence[Clause]
) -> Iterator[_Reasoned]:
    """Yield by how much something differs, or was moved, as cues say it."""
    for cue in mentions.cues("difference_after"):
        if any(m.overlaps(cue) for m in mentions.of("position")) and longest_quantity(tokens, cue.end):
            # "Upper thirty two point one, lower thirty one point nine".
            continue
        less = _ending(tokens, cue.start)
        if cue.form == "less" and longest_quantity(tokens, cue.end) is not None:
            # "Thirty five less four" that came to nothing: both are asked about.
            continue
        if less is not None and tells_place(tokens, cue, less):
            continue
        if cue.form == "wide" and [t.norm for t in tokens[cue.end : cue.end + 1]] == ["open"]:
            continue
        if less is not None and cue.form in OF_SIZE and is_whole_size(less):
            continue
        told = less is not None and told_of_place(tokens, mentions, cue, less)
        if not told and not _item_said(mentions, clauses, cue) and not _judged(mentions, clauses, cue):
            yield less, "a difference"
    for cue in mentions.cues("difference_before"):
        amount = longest_quantity(tokens, over_articles(tokens, cue.end))
        if cue.form == "come up" and any(m.end == cue.start and m.cost < 1 for m in mentions.of("position")):
            # "And outboard come up twenty eight".
            continue
        named = amount is not None and any(m.start == amount.end for m in mentions.of("item"))
        if not named and not _item_said(mentions, clauses, cue):
            yield amount, MOVED


def _amounts(tokens: Sequence[Token], mentions: Mentions) -> Iterator[_Reasoned]:
    """Yield what was before, places, and amounts that are compared or moved."""
    for quantity in former_values(tokens):
        yield quantity, "what it was before"
    for quantity in places_alike(tokens):
        yield quantity, "a place that measures the same"
    for quantity in (*amounts_compared(tokens), *amounts_beside_same(tokens)):
        yield quantity, "a difference"
    for quantity in amounts_moved(tokens):
        if not any(_leads_to(tokens, m, quantity) for m in mentions.of("item")):
            # "Total lift, lifted it six point two" measures it.
            yield quantity, MOVED


def _by_the_way(
    tokens: Sequence[Token], mentions: Mentions, clauses: Sequence[Clause]
) -> Iterator[_Reasoned]:
    """Yield what broke loose, gauges that do not go or were set to zero, and how long something took."""
    for cue in mentions.cues("break_loose"):
        clause = clause_of(clauses, cue.start)
        for quantity in _all_in(tokens, clause.start, clause.end):
            yield quantity, "breaking loose"
    for i in range(1, len(tokens) - 1):
        if tokens[i].norm in ("no", "won't") and tokens[i + 1].norm in ("go", "goes", "fit"):
            yield _ending(tokens, i), "the gauge that does not go"
    for at in _in_need(tokens):
        yield longest_quantity(tokens, at), "which of them"
    for i in range(1, len(tokens)):
        if tokens[i - 1].norm in _NOT:
            yield longest_quantity(tokens, i), "said to be wrong"
    for quantity in zeroings(tokens):
        yield quantity, "a gauge set to zero"
    for i in range(len(tokens) - 1):
        if tokens[i].norm in _AFTER_HOW_LONG and not _timed_item(mentions, clauses, i):
            waited = longest_quantity(tokens, over_articles(tokens, i + 1))
            if waited is not None and waited.unit is not None and waited.unit.unit in ("s", "min"):
                yield waited, "how long it took"


def _in_need(tokens: Sequence[Token]) -> Iterator[int]:
    """Yield where the numbers of what needs something stand ("bearing caps two and three need shims")."""
    for i, token in enumerate(tokens):
        at = i - 1
        while (
            token.norm in ("need", "needs")
            and at >= 0
            and (is_number_word(tokens[at]) or tokens[at].norm == "and")
        ):
            if tokens[at].norm != "and":
                yield at
            at -= 1


def _timed_item(mentions: Mentions, clauses: Sequence[Clause], i: int) -> bool:
    """Whether a time is what is measured here ("run in after forty minutes", its item said before)."""
    clause = clause_of(clauses, i)
    return any(
        clause.holds(m) and m.start < i and ("time" in m.key or "minutes" in m.key)
        for m in mentions.of("item")
    )


def named_tokens(tokens: Sequence[Token], mentions: Mentions) -> frozenset[int]:
    """Return the tokens of identifiers; a run that touches an item or a position of the sheet is none."""
    meant = {i for m in mentions.of("item", "position") for i in range(m.start, m.end)}
    eaten = identifier_tokens(tokens)
    kept: set[int] = set()
    run: list[int] = []
    for i in [*sorted(eaten), -2]:
        if run and i != run[-1] + 1:
            if meant.isdisjoint(run):
                kept.update(run)
            run = []
        run.append(i)
    # "Vane one, that's a big one, forty four": a thing, and then its value.
    return frozenset(kept | (things_before_amounts(tokens) - meant))


def _ending(tokens: Sequence[Token], end: int) -> Quantity | None:
    """Return the longest quantity that ends right before a token."""
    best: Quantity | None = None
    for start in range(end - 1, max(-1, end - 12), -1):
        for quantity in quantities_at(tokens, start):
            if quantity.end == end:
                best = quantity
                break
    return best


def _range_start(tokens: Sequence[Token], last: Quantity | None) -> Quantity | None:
    """Return the other end of a range ("point one to point two on the sheet"), None where there is none."""
    if last is None or last.start < 2 or tokens[last.start - 1].norm not in _RANGE_JOINS:
        return None
    return _ending(tokens, last.start - 1)


def _all_in(tokens: Sequence[Token], start: int, end: int) -> list[Quantity]:
    found = []
    i = start
    while i < end:
        quantity = longest_quantity(tokens, i)
        if quantity is None:
            i += 1
            continue
        found.append(quantity)
        i = quantity.end
    return found


def _over_copula(tokens: Sequence[Token], i: int) -> int:
    while i < len(tokens) and tokens[i].norm in ("is", "'s", "are", ":", "of", "at"):
        i += 1
    return i


def _leads_to(tokens: Sequence[Token], item: Mention, amount: Quantity) -> bool:
    """Whether what is measured is named before an amount, with no value between."""
    between = tokens[item.end : amount.start]
    return item.cost < 1 and item.end <= amount.start and not any(is_number_word(token) for token in between)


def _after_limit(
    tokens: Sequence[Token], cue: Mention, mentions: Mentions, clauses: Sequence[Clause]
) -> list[Quantity]:
    """Return the numbers that a limit cue introduces: the first behind it and those joined to it."""
    if _compared(tokens, cue):
        return []
    clause = clause_of(clauses, cue.start)
    i = cue.end
    limit = min(clause.end if i < clause.end else len(tokens), i + _FILLER_LIMIT)
    while i < limit:
        quantity = longest_quantity(tokens, i)
        if quantity is not None:
            return [quantity, *_joined(tokens, quantity.end)]
        if _names_anew(tokens, mentions, i, cue):
            return []
        i += 1
    return []


def _compared(tokens: Sequence[Token], cue: Mention) -> bool:
    """Whether a limit is only compared with ("right on the limit", "within limits")."""
    i = cue.start
    words = {t.norm for t in tokens[cue.start : cue.end]}
    if not words & {"limit", "limits", "spec", "tolerance", "max", "maximum", "minimum", "range", "window"}:
        return False
    if words & {"is", "'s", "are", "says"}:
        return False
    if cue.end < len(tokens) and tokens[cue.end].norm == "of" and longest_quantity(tokens, cue.end + 1):
        # "Three, well under the limit of four".
        return False
    before = [t.norm for t in tokens[max(0, i - 3) : i]]
    while before and before[-1] in ("the", "its", "bottom", "top", "upper", "lower"):
        before.pop()
    return bool(before) and before[-1] in _COMPARED


def _names_anew(tokens: Sequence[Token], mentions: Mentions, i: int, cue: Mention) -> bool:
    """Whether a position or item starts here that is not the limit's own ("limit on the shaft is …")."""
    if i == cue.end:
        return False
    linked = tokens[i - 1].norm in ("on", "for", "of", "at", "the", "in", "to")
    return not linked and any(m.start == i and m.kind in ("position", "item") for m in mentions.all)


def _joined(tokens: Sequence[Token], i: int) -> list[Quantity]:
    found: list[Quantity] = []
    while i < len(tokens):
        at = i
        while at < len(tokens) and (
            tokens[at].norm in _JOINS or tokens[at].norm in ("plus", "minus", "a", "maximum", "of")
        ):
            at += 1
        if at == i:
            break
        quantity = longest_quantity(tokens, at)
        if quantity is None:
            break
        found.append(quantity)
        i = quantity.end
    return found


def _plus_minus(tokens: Sequence[Token]) -> list[Quantity]:
    """Return both numbers of "thirty plus or minus eight"."""
    found: list[Quantity] = []
    for i in range(len(tokens)):
        end = tolerance_end(tokens, i)
        after = longest_quantity(tokens, end) if end > i else None
        if after is None:
            continue
        before = _ending(tokens, i)
        if before is not None and recites_nominal(tokens, i, end):
            found.append(before)
        found.append(after)
    return found


def _judged(mentions: Mentions, clauses: Sequence[Clause], cue: Mention) -> bool:
    """Whether "too loose" may judge a value that was measured again somewhere, and be no difference."""
    clause = clause_of(clauses, cue.start)
    again, placed = mentions.cues("again"), mentions.of("position")
    return cue.form.startswith("too ") and all(
        any(clause.holds(m) and m.start < cue.start and m.cost < WEAK for m in named)
        for named in (again, placed)
    )


def _item_said(mentions: Mentions, clauses: Sequence[Clause], cue: Mention) -> bool:
    clause = clause_of(clauses, cue.start)
    return any(clause.holds(m) and m.start < cue.start and m.cost < 1 for m in mentions.of("item"))


def tells_place(tokens: Sequence[Token], cue: Mention, quantity: Quantity) -> bool:
    """Whether "under the" tells where exact figures were taken ("two four eight one under the packing")."""
    over = cue.form in _OVER and tokens[cue.end].norm not in _LIMIT_NOUNS if cue.end < len(tokens) else False
    exact = quantity.value is not None and len(decimal_text(quantity.value).strip("-0").replace(".", "")) >= 3
    return over and exact
