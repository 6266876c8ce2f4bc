"""Whether a word names a finding or an action at all, in the company that it keeps.

"Fine" is a finding after "the shaft is" and nothing in "fine thread"; "clean" is done to a part or
only says how it is. What neighbours decide alone stands in ``senses.yaml``; what needs the clause,
the parts or the subject is decided here.
"""

from __future__ import annotations

from extract.heard import Heard
from extract.loose_bits import lies_loose
from extract.mentions import Mention
from extract.new_arrivals import lies_there, not_fitted_yet, said_to_go_in
from extract.numbers import is_number_word
from extract.pipeline import DEGREES
from extract.quantity_arcs import longest_quantity
from extract.senses import senses_allow
from extract.state_sense import (
    ACTIVE_SUBJECTS,
    COPULAS,
    of_a_person,
    of_degree,
    said_to_be,
    state_said,
)
from extract.word_sets import word_set

_OPENING = frozenset({"", "and", "all", "right", "okay", "righto", ",", ".", "so", "now", "then"})
_PULLED = frozenset({"'s", "is", "are", "pulled", "out", "'re"})
_MAINS = frozenset({"plug", "plugs", "fuse", "fuses"})
_ISOLATED = frozenset(
    {"locked", "tagged", "lock", "tag", "isolated", "breaker", "isolator", "mains", "dead", "lockout"}
)
_BEFORE_MAINS: tuple[list[str], ...] = ([], ["the"], ["and"], [","])
_STATES = word_set("predicates.states") | {"all right"}
_NOT_AFTER_STATE = word_set("predicates.not_after_state")
#: Others did it; what they did is no action of this rebuild.
_OTHERS = word_set("predicates.others")
NEW_WORDS = frozenset({"new", "brand new", "fresh"})
_ADJECTIVE_CLEAN_BEFORE = word_set("predicates.adjective_clean_before")
_CLEAN_OBJECTS = word_set("predicate_sense.clean_objects")
_TORQUE_WORDS = frozenset({"newton", "foot", "inch", "pounds", "torque", "wrench"})
_FAST = frozenset({"up", "solid", "tight"})
_PLACES = frozenset({"out", "off", "in", "on"})
_STATE_NOUNS = frozenset({"shape", "nick", "condition", "order", "state", "fettle", "trim", "pieces", "bits"})
_SEARCHING = word_set("predicate_sense.searching")
_GIVEN = word_set("predicate_sense.given")
#: Damage that can be dressed out, the verbs that say so, and what shows that it was known before.
_MOVING = frozenset({"went", "goes", "going", "gone", "go", "is", "was", "'s"})
_MENDABLE = word_set("predicate_sense.mendable")
_MENDING = word_set("predicate_sense.mending")
_DEFINITE = frozenset({"the", "that", "those", "them", "these", "all", "out", "its"})
_OBJECTS = frozenset({"it", "them", "'em", "that", "this", "those", "these", "her", "him", "the", "my"})
_TAKING = frozenset({"using", "use", "used", "keeping", "putting", "fitting", "refitting", "reusing"})
_CLAUSE_SUBJECTS = frozenset({"it", "they", "that", "this", "these", "those", "i", "we", "he", "she"})
_CHOICES = word_set("predicate_sense.choices")
_NOT_LEFT = word_set("predicate_sense.not_left")
#: What may follow "she'll do"; "she'll do the job card" is none.
_AFTER_VERDICT = word_set("predicate_sense.after_verdict") | {""}
_MEASURES = frozenset({"gives", "gave", "measures", "measured", "mikes", "miked", "mics", "reads", "weighs"})
_THROWING = frozenset({"chuck", "toss", "throw", "sling", "lob"})
_OVER_THERE = (["over"], ["here"], ["there"], ["across"])
_APPEARING = word_set("predicate_sense.appearing")


def is_meant(heard: Heard, mention: Mention, key: str) -> bool:
    """Tell whether a condition's or action's phrase is meant as one."""
    words = _plain(heard, mention)
    before = (heard.norms(mention.start - 1, mention.start) or [""])[0]
    after = (heard.norms(mention.end, mention.end + 1) or [""])[0]
    if words[0] == "new" and heard.norms(mention.start - 2, mention.start) == ["for", "a"]:
        # "That's high for a new one".
        return False
    if words[0] in _THROWING and heard.norms(mention.end, mention.end + 2)[-1:] in _OVER_THERE:
        # "Chuck it over there", said to a mate.
        return False
    if len(words) == 3 and words[0] in COPULAS and words[2] in _PLACES:
        # "Are all out" is what "are out" is.
        words = [words[0], words[2]]
    if _begins_anew(heard, mention, words, after):
        after = ""
    part_follows = any(0 <= m.start - mention.end <= 3 for m in heard.mentions.of("part", "other_part"))
    if not senses_allow(mention.kind, words, before, after, part_follows):
        return False
    if mention.kind == "condition" and lies_loose(heard, mention.start, mention.end):
        return False
    if mention.kind == "condition":
        return _condition_meant(heard, mention, key, " ".join(words), after)
    return _action_meant(heard, mention, key, words, before, after)


def _begins_anew(heard: Heard, mention: Mention, words: list[str], after: str) -> bool:
    """Whether the word behind is no neighbour: something new begins there, or it tells where the part is."""
    at = mention.end
    if after == "a" and heard.norms(at + 1, at + 2) in (["hundred"], ["thousand"]):
        # "Back on, a hundred and forty on the nut".
        return True
    if after in ("the", "its") and words in (["back", "in"], ["back", "on"]):
        # "Wire brushed and back in the body".
        return any(m.start == at + 1 for m in heard.mentions.of("part", "other_part"))
    if after in ("i", "we") and _TAKING & set(heard.norms(at + 1, at + 4)):
        # "Same one I am using".
        return True
    # "The barrel was cracked it's only scratched".
    clause_begins = after in _CLAUSE_SUBJECTS and heard.clause_at(at).start == at
    return (mention.kind == "condition" or words[-1] in _PLACES) and clause_begins


def _plain(heard: Heard, mention: Mention) -> list[str]:
    """Return the words of a phrase without those of degree that are none of its own."""
    words = heard.norms(mention.start, mention.end)
    own = mention.form.split()
    return words if len(words) <= len(own) else [w for w in words if w not in DEGREES or w in own]


def _condition_meant(heard: Heard, mention: Mention, key: str, word: str, after: str) -> bool:
    lead = heard.norms(mention.start - 2, mention.start)
    if lead[1:] == ["for"] and _SEARCHING & set(
        heard.norms(heard.clause_at(mention.start).start, mention.start)
    ):
        # "Check the impellers for cracks" finds none.
        return False
    if (
        key == "deposits"
        and lead[:1]
        and lead[0] in ("under", "through", "beneath", "below")
        and lead[1:] == ["the"]
    ):
        # "Hard to say under the muck".
        return False
    if word == "nick" and "in" in heard.norms(mention.start - 4, mention.start) and lead[1:] != ["a"]:
        # "In much better nick".
        return False
    if after == "to" and heard.norms(mention.end + 1, mention.end + 2) in (["me"], ["us"], ["my"]):
        # "Looks alright to me".
        after = ""
    if after == "clean" and _CLEAN_OBJECTS & set(heard.norms(mention.end + 1, mention.end + 2)):
        # "Look good, clean them up": something is told to be done.
        after = ""
    if word == "cut" and any(
        m.end == mention.start and heard.norms(m.start - 1, m.start) == ["new"]
        for m in heard.mentions.of("part", "other_part")
    ):
        # "New gasket cut and stuck down" was cut from the sheet.
        return False
    if key != "deposits" and _of_consumable(heard, mention):
        return False
    if key in _MENDABLE and _made_good(heard, mention):
        return False
    if mention.repairs and " " not in word and after not in _FAST and not state_said(heard, mention):
        # "Warn" is "worn" only where a state is told.
        return False
    if word in _STATES:
        return after not in _NOT_AFTER_STATE and state_said(heard, mention)
    if key == "good" and of_degree(heard, mention):
        return False
    if key == "good" and word.split()[0] in ("hardly", "barely", "nothing", "no", "not"):
        # "Hardly a mark on the shaft".
        return True
    if key == "good":
        return after not in _NOT_AFTER_STATE and not of_a_person(heard, mention.start)
    return True


def _of_consumable(heard: Heard, mention: Mention) -> bool:
    """Whether grease or the like is the subject ("grease is all dried up in the bush")."""
    clause = heard.clause_at(mention.start)
    leading = [m for m in heard.mentions.of("consumable") if clause.start <= m.start < mention.start]
    if not leading or any(
        leading[0].end <= m.start < mention.start for m in heard.mentions.of("part", "other_part")
    ):
        return False
    first = clause.start
    while heard.tokens[first].norm in ("and", "but", "the", "all", "old", ",", "that", "so"):
        first += 1
    following = heard.norms(leading[0].end, leading[0].end + 1)
    return leading[0].start == first and bool(following) and following[0] in COPULAS | {"has", "had", "have"}


def _made_good(heard: Heard, mention: Mention) -> bool:
    """Whether damage told of before was taken away ("dressed the chip"): nothing is found anew."""
    lead = heard.norms(max(heard.clause_at(mention.start).start, mention.start - 5), mention.start)
    verbs = [n for n, word in enumerate(lead) if word in _MENDING]
    return bool(verbs) and bool(_DEFINITE & set(lead[verbs[-1] + 1 :]))


def _of_the_machine(heard: Heard, mention: Mention, key: str, before: str) -> bool:
    """Whether it is the machine that is bolted up ("bolted up and running") or unplugged, and no part."""
    bolted = heard.norms(mention.start, mention.end) == ["bolted", "up"] and before in _OPENING
    return bolted or _unplugged(heard, mention, key)


def _unplugged(heard: Heard, mention: Mention, key: str) -> bool:
    """Whether a plug pulled is the mains of the machine ("plug's pulled, locked and tagged")."""
    lead = [word for word in heard.norms(mention.start - 3, mention.end) if word not in _PULLED]
    if key != "removed" or not lead or lead[-1] not in _MAINS or lead[-2:-1] not in _BEFORE_MAINS:
        return False
    return not _ISOLATED.isdisjoint(token.norm for token in heard.tokens)


def _action_meant(
    heard: Heard, mention: Mention, key: str, words: list[str], before: str, after: str
) -> bool:
    word = " ".join(words)
    if key == "scrapped" and any(m.inside(mention) for m in heard.mentions.of("part")):
        # "A ding in the barrel" of a pump that has a barrel.
        return False
    if not _done_here(heard, mention, words, before, after) or _of_the_machine(heard, mention, key, before):
        return False
    if "new" in words and len(words) > 1 and lies_there(heard, mention):
        return False
    if words[0] in ("leave", "leaving") and len(words) == 2:
        return before not in _NOT_LEFT and _will_do(heard, mention, after)
    if words[0] in COPULAS and words[1:2] == ["the"] and words[-1] in ("one", "ones", "part", "original"):
        # "The nut is the old one", not "this is the old one".
        if before in _OBJECTS and (
            heard.mentions.cues("correction") or "no" in heard.norms(0, mention.start)
        ):
            # "I said it was new, that's wrong, it's the old one".
            return True
        if before in ("rest", "others", "remainder"):
            return True
        own = heard.mentions.of("part", "other_part")
        return any(m.end == mention.start or heard.norms(m.end, mention.start) == ["itself"] for m in own)
    if words[-2:] == ["'ll", "do"]:
        return _will_do(heard, mention, after)
    if word in ("new", "fresh", "brand new"):
        return _new_is_action(heard, mention, before)
    if word == "clean":
        return _clean_is_verb(heard, mention, before, after)
    if len(words) == 2 and words[0] in COPULAS and words[1] in _PLACES:
        if "way" in heard.norms(mention.end + 1, mention.end + 2) or after == "order":
            # "New chain's on its way".
            return False
        if words[1] == "in" and _STATE_NOUNS & set(heard.norms(mention.end, mention.end + 4)):
            # "The seat is in better shape".
            return False
        amount = longest_quantity(heard.tokens, mention.end)
        if amount is not None and amount.unit is not None and amount.unit.unit != "count":
            # "Is out two thou" measures.
            return False
        clause = heard.clause_at(mention.start)
        opener = heard.tokens[clause.start].norm
        return opener not in ("when", "if", "once", "until", "till", "before", "after", "while")
    if key == "removed" and words[0] in ("pulled", "pulling"):
        return not _torque_in_clause(heard, mention)
    if "back" in words and {"all", "it"} <= set(heard.norms(mention.start - 3, mention.end)):
        # All is back in: the machine, not a part of it.
        return False
    if words[0] in _MOVING and any(m.end == mention.start for m in heard.mentions.of("consumable")):
        # "Thread locker went on the rods".
        return False
    if word == "go on":
        if after == "and":
            # "Go on and use it".
            return False
        return before in ("they", "it", "that", "these") or bool(heard.mentions.of("part") and before)
    if word in ("going on", "went on", "goes on"):
        return heard.norms(mention.start - 2, mention.start)[:1] != ["what"]
    return word not in ("a clean", "a wipe", "a wash") or _given(heard, mention.start)


def _done_here(heard: Heard, mention: Mention, words: list[str], before: str, after: str) -> bool:
    """Whether it is said of this rebuild, not of others, not as a choice or a comparison."""
    clause = heard.clause_at(mention.start)
    lead = heard.norms(clause.start, mention.start)
    if _OTHERS & set(lead) or before in ("or", "than") or after in ("before", "like"):
        return False
    if "you" in lead and before not in ("and", "see", "know") and "told" not in lead:
        return False
    manner = heard.norms(mention.start - 2, mention.start)
    if manner[:1] and manner[0] in ("as", "how", "way") and manner[-1] in ("it", "they", "he", "she"):
        # "Went back as they came out" tells how, not what.
        return False
    if "please" in heard.norms(mention.end, mention.end + 2):
        return False
    if after == "or":
        return len(words) > 1
    return not _one_of_two(heard, mention.end)


def _one_of_two(heard: Heard, end: int) -> bool:
    """Whether it is one of two choices that nobody has made yet ("keep it or change it")."""
    behind = heard.norms(end, end + 7)
    at = behind.index("or") if "or" in behind else 0
    named = {i - end for m in heard.mentions.of("part", "other_part") for i in range(m.start, m.end)}
    if not at or not all(n in named or word in _OBJECTS for n, word in enumerate(behind[:at])):
        return False
    following = (heard.norms(end + at + 1, end + at + 2) or [""])[0]
    return following in _CHOICES or any(m.start == end + at + 1 for m in heard.mentions.of("action"))


def _will_do(heard: Heard, mention: Mention, after: str) -> bool:
    """Whether "she'll do" is the verdict on a part just judged, not on a figure or on a day's work."""
    judged = [m for m in heard.mentions.of("condition", "part") if m.end <= mention.start]
    figures = any(token.norm[0].isdecimal() or is_number_word(token) for token in heard.tokens)
    return bool(judged) and not figures and after in _AFTER_VERDICT


def _new_is_action(heard: Heard, mention: Mention, before: str) -> bool:
    if before in _APPEARING or (
        before == "brand" and set(heard.norms(mention.start - 2, mention.start - 1)) & _APPEARING
    ):
        # "Looks brand new", "feels like new", "as new".
        return False
    if before == "'s" and set(heard.norms(mention.end, mention.end + 3)) & _MEASURES:
        # "First bowl's new ring gives me fourteen".
        return False
    clause = heard.clause_at(mention.start)
    items = [m for m in heard.mentions.of("item") if m.start == mention.end and m.cost < 1]
    # "New rings of packing" counts pieces of a part.
    measured = any(m.form.split()[1:2] != ["of"] for m in items)
    parts = [m for m in heard.mentions.of("part", "other_part") if m.start >= clause.start]
    if measured and before not in COPULAS and not any(m.start <= mention.end for m in parts):
        # "New ring bores, drive end …" tells of what is measured, of no part talked about before.
        return False
    if before in ("the", "this", "that", "your"):
        return said_to_go_in(heard.norms(mention.end, clause.end))
    if not_fitted_yet(heard, clause, mention):
        return said_to_go_in(heard.norms(mention.end, len(heard.tokens)))
    return True


def _clean_is_verb(heard: Heard, mention: Mention, before: str, after: str) -> bool:
    if before == "and" and said_to_be(heard, mention.start - 1):
        # "All straight and clean".
        return False
    if before in ACTIVE_SUBJECTS or before in ("'ve", "and", "to"):
        return after not in ("and", "")
    if before in _ADJECTIVE_CLEAN_BEFORE:
        return False
    if any(m.end == mention.start for m in heard.mentions.of("part", "other_part")):
        return False
    return after in _CLEAN_OBJECTS or (after == "and" and mention.start <= 2)


def _given(heard: Heard, at: int) -> bool:
    """Whether something was given "a clean", "a wipe"."""
    return bool(_GIVEN & set(heard.norms(at - 4, at)))


def _torque_in_clause(heard: Heard, mention: Mention) -> bool:
    clause = heard.clause_at(mention.start)
    return bool(_TORQUE_WORDS & set(heard.norms(clause.start, clause.end)))
