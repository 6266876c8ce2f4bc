"""Whether a value may be filed for an item that was not named in these words.

The search ties a bare number to the item that the talk is about; that holds only where the words
talk of nothing else. "Outboard again one point seven" goes on with the journal; "count the shims,
one two three" does not go on with the torque before it.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.bench_words import strange_words
from extract.corrections import Run
from extract.heard import Heard
from extract.item_words import NOT_TESTED, UNDER_PRESSURE, said_words
from extract.lone_numbers import counts_things
from extract.moved_amounts import MOVED, only_moved
from extract.quantity_arcs import longest_quantity
from extract.search_states import Filed
from extract.word_sets import word_set
from shared.units import KIND_OF_UNIT

#: So many words that belong to nothing are let pass, by how the position was named.
_STRANGE_ALLOWED = {"named": 4, "all": 2, "group": 2, "in_turn": 3, "unknown": 3, "number": 1}
_OF_SEVERAL = frozenset({"are", "were", "'re", "both", "all", "each", "measure", "come", "same"})
#: Words of the names of items that tell how long a test was held.
_HOLDING = frozenset({"hold", "held", "holding", "test"})
_BEFORE_TIME = frozenset({",", "for", "and", "over", "held", "a", "full", "good", "solid", "on", "it"})
_ANSWERS = word_set("acceptance.answers")
_REACH = 10
#: Parts of an inch that nobody says of anything else at the bench.
_OF_AN_INCH = frozenset({8, 16, 32, 64})
_OF_TALK = frozenset({"said", "context"})
#: So many small words may stand between a position and its value ("stage six, i measure again: …").
_SOFT_REACH = 6
_STRANGE_WITH_UNIT = 3
#: What a number behind a part counts ("gear cover, twenty five bolts").
_COUNTED = word_set("acceptance.counted")
#: "Half way", "half of it", "a quarter turn".
_HALF_WHAT = word_set("acceptance.half_what")


def may_stand(
    heard: Heard,
    run: Run,
    filed: Filed,
    rivals: Sequence[tuple[float, Filed]],
    known: frozenset[str],
    part: str | None = None,
    kind: str | None = None,
    asked_last: bool = False,
) -> bool:
    """Tell whether a value stands for an item that context, unit or part name brought in.

    Args:
        rivals: the reading with its runners-up.
        known: words that the item is called by.
        part: the part that the item measures, None where its name shows none.
        kind: the kind of thing that it measures.
        asked_last: the utterance before asked whether a figure is right, or for a limit.
    """
    if filed.source == "stem":
        counted = not _COUNTED.isdisjoint(heard.norms(filed.quantity.end, filed.quantity.end + 1))
        return filed.placing.plausible and not _is_thing(heard, filed) and not counted
    if asked_last and filed.position_style in ("", "context") and _answers(heard):
        return False
    if heard.mentions.cues("private") or _other_kind_beside(heard, run, filed, kind):
        return False
    if _of_another_part(heard, filed, part):
        return False
    told = filed.source == "kind" and _told(heard, run, filed, known, kind)
    if _names_other_item(heard, run, filed) and filed.position_style not in ("named", "group") and not told:
        return False
    if _is_thing(heard, filed) or _is_lone_one(heard, filed):
        return False
    if filed.position_style == "group" and _short(filed) and not _of_several(heard, filed):
        return False
    if filed.position_style in ("all", "group") and _counts_things(heard, filed):
        return False
    if filed.position_style in ("named", "number") and not _position_near(heard, filed):
        return False
    strange = _strangeness(heard, run, filed, known)
    if filed.source == "kind":
        return _by_kind(filed, rivals, strange, told)
    allowed = _STRANGE_ALLOWED.get(filed.position_style, 0)
    if heard.utterance.job_score is not None and heard.utterance.job_score > 0:
        allowed += 1
    return strange <= allowed and (filed.placing.plausible or filed.position_style in ("named", "number"))


def _other_kind_beside(heard: Heard, run: Run, filed: Filed, item_kind: str | None) -> bool:
    """Whether a number in the same clause has a unit of another kind: a bare one is of that kind too."""
    if filed.quantity.unit is not None:
        return False
    clause = heard.clause_at(filed.quantity.start)
    for i in range(max(clause.start, run.start), min(clause.end, run.end)):
        if i in heard.walls:
            continue
        quantity = longest_quantity(heard.tokens, i)
        if quantity is None or quantity.unit is None or quantity.unit.unit is None or quantity.unit.foreign:
            continue
        kind = KIND_OF_UNIT[quantity.unit.unit]
        if kind not in (None, item_kind, "time", "count"):
            return True
    return False


def _of_another_part(heard: Heard, filed: Filed, part: str | None) -> bool:
    """Whether the clause speaks of a part that the item does not measure ("both bearings … a hundred")."""
    if filed.position_style not in ("all", "group", "in_turn", "", "context"):
        return False
    clause = heard.clause_at(filed.quantity.start)
    positions = {i for m in heard.mentions.of("position") for i in range(m.start, m.end)}
    named = [
        m
        for m in heard.mentions.of("part", "other_part")
        if clause.holds(m)
        and m.start < filed.quantity.start
        and m.start not in positions
        and not only_moved(heard.tokens, heard.walls, m)
    ]
    return bool(named) and not any(part in m.keys for m in named)


def _answers(heard: Heard) -> bool:
    """Whether words open as an answer does ("yeah forty five")."""
    return heard.tokens[0].norm in _ANSWERS


def _short(filed: Filed) -> bool:
    """Whether a value is one bare figure; behind a list of bare figures it may only count on."""
    value = filed.quantity.value
    return filed.quantity.unit is None and value is not None and value.denominator == 1 and 0 <= value < 10


def _of_several(heard: Heard, filed: Filed) -> bool:
    """Whether a verb of several or a "both" ties places to their value ("four and five are both four")."""
    behind = heard.norms(filed.position_at, filed.quantity.start)
    return bool(_OF_SEVERAL & set(behind)) and len(behind) <= 3


def _counts_things(heard: Heard, filed: Filed) -> bool:
    """Whether a bare number counts what stands behind it ("eighteen cats and every one of them")."""
    return filed.quantity.unit is None and counts_things(heard.tokens, filed.quantity.end)


def _position_near(heard: Heard, filed: Filed) -> bool:
    """Whether the position stands beside its value, not in another thought before."""
    at, quantity = filed.position_at, filed.quantity
    if at < 0:
        return True
    between = strange_words(heard, at, quantity.start) if 0 <= at < quantity.start else 0
    if between > 1:
        return False
    same_clause = heard.clause_at(max(at - 1, 0)) == heard.clause_at(quantity.start)
    steps = quantity.start - at - sum(at <= i < quantity.start for i in heard.walls)
    return (
        same_clause
        or -2 <= steps <= 3
        or (between == 0 and 0 <= steps <= _SOFT_REACH)
        or _taken_up(heard, at, quantity.start)
    )


def _taken_up(heard: Heard, at: int, start: int) -> bool:
    """Whether a pronoun takes the position up ("the third i have checked again it has fifty eight")."""
    clause = heard.clause_at(start)
    words = [word for word in heard.norms(clause.start, start) if word not in (",", "now", "and")]
    says = bool({"say", "call", "make"} & set(words)) and len(words) <= 6
    taken = words[0] in ("it", "that", "this") or says if words else False
    return taken and 0 <= start - at <= _REACH


def _strangeness(heard: Heard, run: Run, filed: Filed, known: frozenset[str]) -> int:
    clause = heard.clause_at(filed.quantity.start)
    start, end = max(clause.start, run.start), min(clause.end, run.end)
    if not filed.position_style or filed.position_style == "context":
        # With nothing but the number to go by, the whole breath has to be about it, unless the value
        # stands alone in its clause ("thirty one thousandths, that's shot").
        measure = filed.quantity.unit is not None or filed.quantity.number.scale != "plain"
        alone = measure and not strange_words(heard, start, end, [(filed.quantity.start, filed.quantity.end)])
        if not alone:
            start, end = run.start, run.end
        # "Nipped it up two thou, so four now".
        moved = [barred.quantity.end for barred in heard.barred if barred.reason == MOVED]
        moved += [
            m.end for m in heard.mentions.of("item", "part") if only_moved(heard.tokens, heard.walls, m)
        ]
        start = max([start, *(end for end in moved if end <= filed.quantity.start)])
    return strange_words(heard, start, end, [(filed.quantity.start, filed.quantity.end)], known)


def _told(heard: Heard, run: Run, filed: Filed, known: frozenset[str], kind: str | None) -> bool:
    """Whether a pressure stands beside a word of the item's own names, or the time that one was held."""
    if kind == "time" and _HOLDING & known and _behind_pressure(heard, filed):
        return True
    norms = heard.norms(run.start, run.end)
    held = not UNDER_PRESSURE.isdisjoint(norms) and NOT_TESTED.isdisjoint(norms)
    if kind == "pressure" and held and "test" in said_words(known):
        return True
    if kind not in ("pressure", "time") or not said_words(known) & said_words(
        heard.norms(run.start, run.end)
    ):
        return False
    return kind == "pressure" or "pressure" in _kinds_said(heard, run)


def _behind_pressure(heard: Heard, filed: Filed) -> bool:
    """Whether a time stands right behind the pressure that was held so long ("150 psi for ten minutes")."""
    at = filed.quantity.start
    while at and heard.tokens[at - 1].norm in _BEFORE_TIME:
        at -= 1
    if at == filed.quantity.start:
        return False
    ends = [longest_quantity(heard.tokens, i) for i in range(max(0, at - _REACH), at) if i not in heard.walls]
    units = [q.unit.unit for q in ends if q is not None and q.unit is not None and q.end == at]
    return any(unit is not None and KIND_OF_UNIT[unit] == "pressure" for unit in units)


def _kinds_said(heard: Heard, run: Run) -> set[str]:
    """Return the kinds of the units said in a run."""
    said = [longest_quantity(heard.tokens, i) for i in range(run.start, run.end) if i not in heard.walls]
    units = [quantity.unit.unit for quantity in said if quantity is not None and quantity.unit is not None]
    return {kind for unit in units if unit is not None and (kind := KIND_OF_UNIT[unit]) is not None}


def _by_kind(filed: Filed, rivals: Sequence[tuple[float, Filed]], strange: int, told: bool = False) -> bool:
    """Only its unit, or its position, ties the value to the one item that fits."""
    if any(other.item != filed.item for _, other in rivals):
        return False
    unit = filed.quantity.unit
    if unit is None and filed.position_style != "named":
        return False
    if filed.position_style == "unknown":
        return filed.placing.plausible
    timed = unit is None or filed.placing.said_unit in ("s", "min", None)
    if timed and not filed.position_style and not told:
        return False
    return strange <= _STRANGE_WITH_UNIT and filed.placing.plausible


def _names_other_item(heard: Heard, run: Run, filed: Filed) -> bool:
    return any(
        run.start <= mention.start < run.end
        and filed.item not in mention.keys
        and not only_moved(heard.tokens, heard.walls, mention)
        for mention in heard.mentions.of("item")
    )


def _is_thing(heard: Heard, filed: Filed) -> bool:
    """Whether a number is a thing by its article ("a ten and a five in it"), or a bare "half"."""
    quantity = filed.quantity
    if quantity.unit is not None:
        return False
    number = quantity.number
    if number.style == "article" or (number.style == "fraction" and number.scale == "plain"):
        following = heard.norms(quantity.end, quantity.end + 1)
        corrects = any(m.end <= quantity.start for m in heard.mentions.cues("correction"))
        if corrects and number.value.denominator in _OF_AN_INCH and filed.source in _OF_TALK:
            # "That gap, I told you wrong, it's an eighth".
            return False
        return not filed.position_style or (bool(following) and following[0] in _HALF_WHAT)
    before = heard.norms(quantity.start - 1, quantity.start)
    if before == ["the"] and filed.position_style == "named" and filed.position_at == quantity.start - 2:
        # "Inboard's the nineteen and outboard's the twenty one": figures just said, each to its place.
        return heard.norms(quantity.start - 2, quantity.start - 1) not in (["is"], ["'s"], ["was"])
    return before in (["a"], ["an"], ["the"]) and number.style == "cardinal"


def _is_lone_one(heard: Heard, filed: Filed) -> bool:
    """Whether a "one" far from any position is a pronoun ("did you miss one")."""
    quantity = filed.quantity
    if quantity.unit is not None or heard.norms(quantity.start, quantity.end) != ["one"]:
        return False
    before = heard.norms(quantity.start - 1, quantity.start)
    if heard.norms(quantity.end, quantity.end + 1) in (["flat"], ["even"], ["dead"], ["exactly"], ["exact"]):
        return False
    return filed.position_style not in ("named", "number") or before not in (
        ["is"],
        ["'s"],
        ["at"],
        ["reads"],
        ["end"],
        ["side"],
    )
