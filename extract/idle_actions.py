"""What looks like a decision on a part and is none: lying somewhere, done by others, wiped to measure again.

"It's kept on the stands" tells where it lies, "they washed it down outside" what was done before the
job; a new part that "doesn't fit" was not renewed.
"""

from __future__ import annotations

from itertools import pairwise

from extract.heard import Heard
from extract.loose_bits import of_loose_bit
from extract.number_words import ONES
from extract.numbers import is_number_word
from extract.part_names import NamedPart
from extract.predicate_sense import NEW_WORDS
from extract.predicates import Predicate
from extract.quantity_arcs import longest_quantity
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_STAYING = word_set("idle_actions.staying")
_PLACES_TO_LIE = word_set("bare_particles.places_to_lie") | word_set("predicate_sense.lying")
_NOT_TO_LIE = word_set("idle_actions.not_to_lie")
_PLACING = frozenset({"on", "in", "at", "by", "under", "over", "onto"})
_PLACE_REACH = 6
_PRONOUNS = frozenset({"it", "them", "'em", "her", "that", "him", "those", "these", "everything"})
_AUXILIARIES = frozenset({"'ve", "have", "had", "'d", "already", "just"})
_MEASURING_AGAIN = word_set("idle_actions.measuring_again")
_MEASURE_REACH = 7
_WEARS_OFF = frozenset(
    {"thread", "threads", "coating", "chrome", "plating", "paint", "rubber", "lining", "edge"}
)
_RIGID = frozenset({"bolt", "stud", "screw", "shaft", "rod", "nut"})
_NEW = frozenset({"new", "brand", "fresh", "replacement"})
_SHIMS = frozenset({"shim", "shims", "shimming", "spacer", "spacers", "packer", "packers"})
_OF = (["of"], ["of", "the"], ["worth", "of"], ["in"])
_NEAR_NEW = (["near", "enough"], ["nigh", "on"], ["close", "to"], ["pretty", "much"])
_HEATERS = frozenset({"heater", "heater's", "oven", "hotplate", "bath", "induction"})
_RUNNING = frozenset({"running", "run", "ran", "runs", "spinning", "spun"})
_NEGATIONS = word_set("idle_actions.negations")
_FITTING = word_set("idle_actions.fitting")
_WRONG = word_set("idle_actions.wrong")
_HELPING = COPULAS | {"'ve", "does", "do", "did", "will", "would", "could", "can", "ca"}
_FIT_REACH = 5
_REACH_OF_SUBJECT = 12
_LIQUIDS = word_set("idle_actions.liquids")
_ABOUT_ONE = word_set("idle_actions.about_one")
_OWNERS = frozenset({"my", "me", "his", "her", "your", "their"})
_SO = frozenset({"there", "steady", "still", "level"})
_MOVING = word_set("decisions.moving")
_MEASURING = word_set("decisions.measuring")


def idle(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether an action's words decide nothing on a part."""
    return (
        _only_tells_apart(heard, predicate)
        or _of_no_part(heard, predicate)
        or _only_tells_when(heard, predicate)
        or _only_lies(heard, predicate)
        or _of_others(heard, predicate)
        or _to_measure_again(heard, predicate, part)
        or _only_takes_dirt_away(heard, predicate, part)
        or _did_not_fit(heard, predicate, part)
        or _only_adjusts(heard, predicate, part)
        or _only_spends_time(heard, predicate, part)
        or _off_the_heater(heard, predicate, part)
        or _only_reckons(heard, predicate, part)
        or _only_runs_so(heard, predicate)
        or _only_pours(heard, predicate, part)
        or _only_carried(heard, predicate)
        or _only_held_so(heard, predicate, part)
        or _of_a_place(heard, predicate, part)
        or _scrap_at(heard, predicate)
        or _broken_off(predicate, part)
        or _worn_off(heard, predicate)
        or "wrong" in heard.norms(part.start - 1, part.start)
        or _new_one_waits(heard, predicate, part)
        or _was_new_then(heard, predicate)
    )


def _new_one_waits(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a new one only lies ready ("got a new sheave on the bench", "new gasket ready to go in")."""
    new = bool(NEW_WORDS & set(heard.norms(part.start - 2, part.start))) and part.end > 0
    behind = heard.norms(max(part.end, predicate.end), predicate.clause.end)
    ready = behind[:2] in (["ready", "to"], ["ready", "for"]) or behind == ["ready"]
    return new and (ready or (predicate.key == "removed" and "bench" in predicate.form.split()))


def _was_new_then(heard: Heard, predicate: Predicate) -> bool:
    """Whether it is told when a part was new ("impeller was new in march", "… two years ago")."""
    past = heard.norms(predicate.start - 1, predicate.start) in (["was"], ["were"])
    behind = heard.norms(predicate.end, predicate.clause.end)
    dated = bool(behind) and (behind[0] in _DATING or "ago" in behind or behind[:1] == ["last"])
    return past and predicate.form in NEW_WORDS and dated


def _worn_off(heard: Heard, predicate: Predicate) -> bool:
    """Whether "the thread's gone on one bolt" tells that something is no longer there."""
    before = heard.norms(predicate.start - 1, predicate.start)
    return "gone" in predicate.form and bool(before) and before[0] in _WEARS_OFF


def _broken_off(predicate: Predicate, part: NamedPart) -> bool:
    """Whether what "snapped in the casing" can only have broken: a circlip snaps in, a stud does not."""
    rigid = part.parts[0].split("_")[-1].removesuffix("s") in _RIGID
    return predicate.form in ("snapped in", "snapped on") and rigid


def _scrap_at(heard: Heard, predicate: Predicate) -> bool:
    """Whether a value is told at which something is scrap ("… twenty six, forty and it's junk")."""
    at = predicate.start
    while at and heard.tokens[at - 1].norm in _AND_IT_IS:
        at -= 1
    joined = "and" in heard.norms(at, predicate.start)
    first = at
    while first and is_number_word(heard.tokens[first - 1]):
        first -= 1
    value = any(is_number_word(token) for token in heard.tokens[:first])
    return predicate.key == "scrapped" and joined and first < at and value


def _of_a_place(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether "the same" is said of another place ("rings are in, … and the other end's the same")."""
    if predicate.key != "reused" or "same" not in predicate.form.split() or part.end >= predicate.start:
        return False
    places = heard.mentions.of("position")
    before = heard.norms(predicate.start - 1, predicate.start)
    counted = before and before[0] in ONES and part.start == part.end
    return bool(before and before[0] in _PLACES) or counted or any(m.end == predicate.start for m in places)


def _of_no_part(heard: Heard, predicate: Predicate) -> bool:
    """Whether "will do for now", "uses it again" says nothing of a part that it names as its own subject.

    "Casing bolts ninety will do for now" judges a value; "customer uses it again" tells of somebody else.
    """
    words = predicate.form.split()
    before = heard.norms(max(predicate.clause.start, predicate.start - 1), predicate.start)
    if words[:1] == ["uses"]:
        return before not in (["i"], ["we"], ["and"], ["so"], [])
    if words[:2] not in (["will", "do"], ["'ll", "do"]) or len(words) < 3:
        return False
    own = [m for m in heard.mentions.of("part", "other_part") if m.end == predicate.start]
    said = set(heard.norms(predicate.clause.start, predicate.start))
    lead = heard.norms(own[0].start - 2, own[0].start) if own else []
    placed = not _BEHIND.isdisjoint(lead)
    return (not own and before not in (["it"], ["they"], ["he"], ["she"])) or placed or bool(_WISHING & said)


_DATING = frozenset({"in", "last", "this", "only", "when", "then", "since", "at", "back", "before"})
_PLACES = frozenset({"end", "side", "ends", "sides"})
_BEHIND = frozenset({"on", "in", "of", "for", "at", "to", "with"})
_AND_IT_IS = frozenset({"and", "it", "'s", "is", "they", "'re", "are", "that", "then", ","})
_THEY_ARE = (["it", "'s"], ["it", "is"], ["they", "'re"], ["they", "are"])
_WISHING = frozenset({"hopefully", "hope", "hopes", "doubt", "doubts", "if", "way", "not"})


def _only_tells_apart(heard: Heard, predicate: Predicate) -> bool:
    """Whether a "new" only tells apart ("new style seal") or compares ("near enough new", "good as new")."""
    if predicate.form != "new":
        return False
    before = heard.norms(predicate.start - 2, predicate.start)
    opens = before[-1:] in ([], [","], ["and"], ["but"]) or heard.tokens[predicate.start - 1].norm.isdecimal()
    if opens and heard.norms(predicate.end, predicate.end + 2) in _THEY_ARE:
        # "New it's eighteen" tells what a new one measures.
        return longest_quantity(heard.tokens, predicate.end + 2) is not None
    compared = before[-1:] in (["as"], ["like"], ["nearly"], ["almost"]) or before in _NEAR_NEW
    return compared or heard.norms(predicate.end, predicate.end + 1) in (["style"], ["type"])


def _only_tells_when(heard: Heard, predicate: Predicate) -> bool:
    """Whether "going back with fifty two", "the pack that come out of there mikes at …" only says when
    something was measured."""
    if predicate.form.split()[0] not in _MOVING:
        return False
    if heard.norms(predicate.start - 1, predicate.start) in (["that"], ["which"], ["what"]):
        return predicate.form.split()[0] in ("come", "came", "comes")
    at = predicate.end
    if heard.norms(at, at + 1)[:1] and heard.tokens[at].norm not in _MEASURING:
        return False
    return longest_quantity(heard.tokens, at + 1) is not None


def _only_lies(heard: Heard, predicate: Predicate) -> bool:
    """Whether it is only said where something lies ("kept on the stands", "keep it on the shelf")."""
    if predicate.key != "reused" or not _STAYING & set(predicate.form.split()):
        return False
    clause = heard.clause_at(predicate.start)
    behind = heard.norms(
        predicate.start + 1, min(max(clause.end, predicate.end + 4), predicate.end + _PLACE_REACH)
    )
    named = {
        i - predicate.start - 1
        for m in heard.mentions.of("part")
        if m.cost < 1
        for i in range(m.start, m.end)
    }
    for n, word in enumerate(behind):
        if word in _PLACING and any(
            at not in named and place in _PLACES_TO_LIE and place not in _NOT_TO_LIE
            for at, place in enumerate(behind[n + 1 : n + 4], n + 1)
        ):
            return True
    return False


def _of_others(heard: Heard, predicate: Predicate) -> bool:
    """Whether others did it to the whole before ("they washed it down outside")."""
    lead = [word for word in heard.norms(predicate.start - 3, predicate.start) if word not in _AUXILIARIES]
    return lead[-1:] == ["they"] and _has_pronoun(heard, predicate)


def _has_pronoun(heard: Heard, predicate: Predicate) -> bool:
    """Whether a pronoun is what the verb does something to ("washed it down", "wiped off it")."""
    inside = heard.norms(predicate.start + 1, predicate.split[0] if predicate.split else predicate.end)
    behind = heard.norms(predicate.end, predicate.end + 1)
    return bool(_PRONOUNS & {*inside, *behind})


def _to_measure_again(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether something was only wiped for the next try ("I clean it and I measure again")."""
    if predicate.key != "cleaned" or part.end > part.start:
        return False
    end = predicate.split[1] if predicate.split else predicate.end
    behind = heard.norms(end, end + _MEASURE_REACH)
    at = next((n for n, word in enumerate(behind) if word in _MEASURING_AGAIN), None)
    return at is not None and bool({"and", "then", "to"} & set(behind[:at]))


def _only_takes_dirt_away(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether "it" is a chip or dirt that was in the way ("a chip stuck in there, so i wiped it off")."""
    pronoun = part.end <= part.start or part.end <= predicate.start - _REACH_OF_SUBJECT
    return (
        predicate.key in ("cleaned", "removed")
        and pronoun
        and _has_pronoun(heard, predicate)
        and of_loose_bit(heard, predicate.start)
    )


def _did_not_fit(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether the new one was no good ("because new ones are not matching", "new wiper doesn't fit")."""
    if predicate.key != "renewed" or not _NEW & set(heard.norms(predicate.start, predicate.end)):
        return False
    at = part.end if part.start >= predicate.end and part.start - predicate.end <= 2 else predicate.end
    if heard.norms(at, at + 1) in (["one"], ["ones"]):
        at += 1
    behind = heard.norms(at, at + _FIT_REACH)
    verb = next((n for n, word in enumerate(behind) if word not in _HELPING), len(behind))
    if behind[verb : verb + 1] and behind[verb] in _NEGATIONS:
        return bool(_FITTING & set(behind[verb + 1 : verb + 4]))
    linked = verb > 0 and bool(set(behind[:verb]) & COPULAS)
    return linked and bool(_WRONG & set(behind[verb : verb + 3]))


def _only_adjusts(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether one shim of a size goes in or out of a pack ("pulled a three thou shim out")."""
    if predicate.key not in ("removed", "fitted") or part.parts[0].split("_")[-1] not in _SHIMS:
        return False
    for at in range(max(0, part.start - 5), part.start):
        amount = longest_quantity(heard.tokens, at)
        if amount is None or (amount.unit is None and amount.number.scale == "plain"):
            continue
        if amount.end == part.start or heard.norms(amount.end, part.start) in _OF:
            # "Four thou of shim".
            return amount.unit is None or amount.unit.unit != "count"
    return False


def _only_spends_time(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether work, and no part, was put in ("I put in five hours on it")."""
    if part.end > part.start:
        return False
    amount = longest_quantity(heard.tokens, predicate.end)
    return amount is not None and amount.unit is not None and amount.unit.unit in ("min", "s")


def _off_the_heater(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether something warm was only taken off the heater ("heater's at one ten, I took them off early")."""
    return (
        predicate.key == "removed"
        and part.end <= part.start
        and bool(_HEATERS & set(heard.norms(0, len(heard.tokens))))
    )


def _only_reckons(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a number, and no part, is taken away ("one sixty take away one fifty nine")."""
    if predicate.key != "removed" or part.end > part.start:
        return False
    return longest_quantity(heard.tokens, predicate.end) is not None


def _only_runs_so(heard: Heard, predicate: Predicate) -> bool:
    """Whether it only tells how the machine is run ("running it uncoupled now")."""
    loose = predicate.form.split()[0] in ("uncoupled", "disconnected")
    return loose and bool(_RUNNING & set(heard.norms(predicate.start - 2, predicate.start)))


def _only_pours(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether oil or water, and no part, was thrown or put in ("dumped three quarts of oil in her").

    A part that is named with it is what it is said of ("bearings came out, oil was black").
    """
    if predicate.key not in ("scrapped", "fitted", "removed") or part.end > part.start:
        return False
    behind = heard.norms(predicate.end, predicate.end + _MEASURE_REACH)
    at = next((n for n, word in enumerate(behind) if word in _LIQUIDS), None)
    # "In, soaked in oil".
    return at is not None and not {"in", "with", "on", "by"} & set(behind[:at])


def _only_carried(heard: Heard, predicate: Predicate) -> bool:
    """Whether something is only carried about or put by ("the key's in my pocket")."""
    near = heard.norms(predicate.start, predicate.end + _FIT_REACH - 2)
    carried = any(owner in _OWNERS and place in _ABOUT_ONE for owner, place in pairwise(near))
    return predicate.key == "fitted" and carried


def _only_held_so(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether somebody is told to hold something as it is ("keep it there, I'll come and see")."""
    if predicate.key != "reused" or predicate.form.split()[0] != "keep" or part.end > part.start:
        return False
    behind = heard.norms(predicate.start + 1, predicate.end + 3)
    return any(so in _SO and after not in COPULAS for so, after in pairwise([*behind, ""]))
