"""What is said of parts: findings and actions in an utterance, and whether each is meant.

A word such as "fine", "hard", "fit" or "out" says something of a part only in the right company.
Denied, planned, supposed and asked ones are marked; the rooms for conditions and part actions take
those that are left.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from extract.clauses import Clause
from extract.heard import Heard
from extract.mentions import Mention

COPULAS = frozenset("is 's are 're was were be been being 'm am".split())
LOOKS = frozenset(
    "look looks looked looking seem seems seemed feel feels felt came come comes went gone go goes stayed stays turned got "
    "gets has have had all still both in too just now actually quite mostly really very pretty fairly nice badly also "
    "completely totally well slightly lightly heavily definitely perfectly otherwise reasonably nicely only already always "
    "up out a bit of the little kind sort probably again much more so as measured checked tested not n't isn't wasn't "
    "aren't weren't ain't good and nearly almost".split()
)
_STATES = frozenset(
    "good fine okay ok perfect alright sound mint excellent decent spotless great hard serviceable brittle seized frozen".split()
) | {"all right"}
_OF_STATE_WORDS = frozenset({"good", "hardened"})
_NOT_AFTER_STATE = frozenset(
    "fit job idea one ones morning clearance reading readings deal bit wash clean thing enough day news question point "
    "value number afternoon as luck look way time to work up against on tuning measure lad man mate old grip".split()
)
_CRACK_VERB_NEXT = frozenset("on open it loose the off them that".split())
_CUT_SHORT = frozenset("case line pin coupling ring washer the it shaft bush difference".split())
#: Marks named again ("that groove") are no new finding.
_MARKS = frozenset(
    "groove grooves crack cracks chip chips scratch scratches dent dents nick nicks pit pits gouge rust scale".split()
)
_OF_A_PART = frozenset("on in of round around at across along is 's was are".split())
#: Others did it; what they did is no action of this rebuild.
_OTHERS = frozenset("whoever somebody someone who they'd anybody nobody".split())
#: "The new seal" was renewed only where it is said to go in.
_FITTING = frozenset("in on fitted going goes went pressed seated installed slid up home dropped".split())
_LATE_FUTURE = frozenset({"tomorrow", "next week", "later", "later on", "not yet", "soon", "on order"})
_FIT_BEFORE = frozenset(
    "a an nice slide sliding push press loose tight good snug interference slip shrink clearance transition running bad "
    "poor perfect impeller bearing drive wringing hand best shoulder that's".split()
)
_ADJECTIVE_CLEAN_BEFORE = frozenset(
    "is 's are 're was were look looks came all nice and both it's wiped spotlessly squeaky nicely be run runs fairly pretty".split()
)
_ACTIVE_SUBJECTS = frozenset("i we they he she you i've we've".split())


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
    found = [*_split_phrases(heard)]
    pictured = _pictured(heard)
    for mention in _longest(heard.mentions.of("condition", "action")):
        if any(p.start < mention.end and mention.start < _end(p) for p in found) or mention.start in pictured:
            continue
        for key in mention.keys:
            if _meant(heard, mention, key):
                found.append(
                    _predicate(
                        heard, mention.kind, key, mention.start, mention.end, mention.form, mention.repairs
                    )
                )
                break
    return sorted(found, key=lambda p: p.start)


def _pictured(heard: Heard) -> set[int]:
    """Return the tokens that say what a picture is asked of: they state nothing ("a picture of the crack")."""
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
        kind, key, start, end, clause, form, _denied(heard, clause, start), _mood(heard, clause, start, kind),
        _hedged(heard, clause, start), split, repairs,
    )  # fmt: skip


# -- how it is meant ---------------------------------------------------------------------------


def _denied(heard: Heard, clause: Clause, at: int) -> bool:
    """Whether a negation before it in its clause still holds."""
    negations = [m for m in heard.mentions.cues("negation") if clause.start <= m.start < at]
    if not negations:
        return False
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


# -- whether the word is meant at all -----------------------------------------------------------


def _meant(heard: Heard, mention: Mention, key: str) -> bool:
    words = heard.norms(mention.start, mention.end)
    before = heard.norms(mention.start - 3, mention.start)
    following = heard.norms(mention.end, mention.end + 2)
    last = before[-1] if before else ""
    following_word = following[0] if following else ""
    if mention.kind == "condition":
        return _condition_meant(heard, mention, key, words, last, following_word)
    return _action_meant(heard, mention, key, words, before, following)


def _condition_meant(
    heard: Heard, mention: Mention, key: str, words: list[str], last: str, following: str
) -> bool:
    word = " ".join(words)
    if word in _STATES:
        return following not in _NOT_AFTER_STATE and _state_said(heard, mention)
    if key == "good":
        return following not in _NOT_AFTER_STATE and not _of_a_person(heard, mention.start)
    if word == "crack" and following in ("test", "tested", "check", "checked", "detection"):
        return False
    if word in ("crack", "cracked", "cracks") and following in _CRACK_VERB_NEXT:
        return following in ("the", "on") and last in ("a", "of", "hairline", "any", "is", "'s")
    if word == "split" and following in _CUT_SHORT:
        return False
    if word in ("tear", "tears", "rip") and following in ("down", "off", "apart", "into", "it"):
        return False
    if word in ("groove", "grooves") and last in ("deep", 
        "ring",
        "rings",
        "circlip",
        "key",
        "oil",
        "seal",
        "grease",
        "clip",
    ):
        return False
    if word in ("scale", "scaled") and (
        last in ("the", "dial", "full", "gauge", "of a", "a") and word == "scale"
    ):
        return False
    if word in ("build up", "buildup"):
        return last in (
            "of",
            "some",
            "a",
            "bit",
            "with",
            "no",
            "has",
            "got",
            "heavy",
            "carbon",
            "scale",
            "any",
            "the",
            "lime",
        )
    if word == "wear" and following in ("gloves", "your", "a", "the", "eye", "goggles"):
        return False
    if word in _MARKS and last in ("that", "this", "the", "those", "these") and following not in _OF_A_PART:
        return False
    if word in ("scratch", "crack", "chip", "nick", "tear", "dent") and following in ("that", "it", "this"):
        return False
    return not (word in ("stretch", "stretched") and (following in ("of", "my", "your") or last == "to"))


def _of_a_person(heard: Heard, at: int) -> bool:
    """Whether the one said to be so is a person ("we're in good shape")."""
    clause = heard.clause_at(at)
    before = heard.norms(clause.start, at)
    return any(
        word in ("i", "we", "you", "he", "she") and following in COPULAS
        for word, following in zip(before, before[1:], strict=False)
    )


def _state_said(heard: Heard, mention: Mention) -> bool:
    """Whether "good", "hard", "fine" is said of something: after a verb of state, or right after a part."""
    at = mention.start - 1
    steps = 0
    while at >= 0 and steps < 5:
        norm = heard.tokens[at].norm
        if norm in COPULAS or norm in ("look", "looks", "looked", "looking", "seem", "seems", "feel", "feels", "felt", "gone",
                                       "went", "came", "comes", "checked", "tested", "isn't", "wasn't", "aren't", "weren't"):  # fmt: skip
            subject = heard.norms(at - 1, at)
            return not (
                subject and subject[0] in ("that", "i", "we", "you", "he", "she", "what", "there", "this")
            )
        near = [m for m in heard.mentions.of("part", "other_part") if m.end == at + 1]
        if near:
            lead = heard.norms(near[0].start - 2, near[0].start)
            return steps <= 1 and not {"on", "in", "of", "from", "to", "at"} & set(lead)
        if norm not in LOOKS:
            return False
        at -= 1
        steps += 1
    return False


def _action_meant(
    heard: Heard, mention: Mention, key: str, words: list[str], before: list[str], following: list[str]
) -> bool:
    word = " ".join(words)
    last = before[-1] if before else ""
    after = following[0] if following else ""
    clause = heard.clause_at(mention.start)
    if _OTHERS & set(heard.norms(clause.start, mention.start)) or last in ("or", "than") or after == "before":
        return False
    if "you" in heard.norms(clause.start, mention.start) and last not in ("and", "see", "know"):
        return False
    if word in ("came out", "comes out", "come out", "coming out", "came off") and after in ("of", "at", "to", "as", "clear", "a"):
        return after == "of" and heard.norms(mention.end + 1, mention.end + 2) in (["the"], ["its"]) and key == "removed" and _of_machine(heard, mention)
    if word in ("went in", "going in", "goes in", "go in") and after in ("the", "a") or after == "like":
        return False
    if word in ("pulling", "pulled") and after == "on":
        return False
    if after == "please" and word == "new" or "please" in following:
        return False
    if word == "new" and last in ("the", "this", "that", "your") and not _FITTING & set(heard.norms(mention.end, clause.end)):
        return False
    if word == "clean":
        return _clean_is_verb(heard, mention, last, after)
    if word in ("fit", "fitting"):
        return (
            last not in _FIT_BEFORE
            and after not in ("tolerance", "is", "was", "'s", "like", "between", "good")
            and last not in ("'s", "is")
        )
    if word == "seated" or word == "kept" or word == "keeping":
        return after not in ("an", "saying", "going", "getting")
    if (
        len(words) == 2 and words[0] in COPULAS and words[1] in ("out", "off", "in", "on")
    ) or word == "out now":
        return _place_word_ends(heard, mention, word, after)
    if key == "removed" and word in ("pulled", "pulling"):
        return after not in ("to", "up", "it", "them", "down", "tight", "through") and not _torque_in_clause(
            heard, mention
        )
    if (
        word in ("bin", "scrap", "junk")
        and last in ("the", "from", "a", "of", "that")
        and after not in ("the", "it", "that", "them", "those")
    ):
        return word == "scrap" and last not in ("the", "from", "a", "of")
    if word in ("changed", "washed", "saving", "save", "flushed"):
        return after not in ("my", "to", "your", "mind", "time", "some", "a")
    if word == "go on" and not (last in ("they", "it", "that", "these") or heard.mentions.of("part") and last):
        return False
    if word in ("going on", "went on", "goes on", "go on"):
        return last not in ("what", "'s") or heard.norms(mention.start - 2, mention.start)[:1] != ["what"]
    if word in ("back in", "back on"):
        return after not in ("a", "the", "my", "march", "june", "july") and last not in (
            "i",
            "'m",
            "am",
            "be",
        )
    if word in ("new", "new one") and last in ("the", "than", "a") and after in ("one", "ones"):
        return last == "a"
    if word == "new" and after in ("one", "guy", "lad", "reading", "figure", "bloke", "boy", "to", "for"):
        return after == "one" or after == "ones"
    if after == "or" and len(words) == 1:
        return False
    return not (
        word in ("a clean", "a wipe", "a wash")
        and (not _given(heard, mention.start) or after in ("out", "mark"))
    )


def _of_machine(heard: Heard, mention: Mention) -> bool:
    """Whether a part came "out of the casing", not a machine "out of the water house"."""
    return any(0 <= m.start - mention.end <= 3 for m in heard.mentions.of("part", "other_part"))


def _clean_is_verb(heard: Heard, mention: Mention, last: str, after: str) -> bool:
    if last in _ACTIVE_SUBJECTS or last in ("'ve", "and", "to"):
        return after not in ("and", "")
    if last in _ADJECTIVE_CLEAN_BEFORE:
        return False
    if any(m.end == mention.start for m in heard.mentions.of("part", "other_part")):
        return False
    return after in (
        "the",
        "that",
        "it",
        "them",
        "up",
        "both",
        "all",
        "out",
        "off",
        "with",
        "those",
        "down",
    ) or (after == "and" and mention.start <= 2)


def _given(heard: Heard, at: int) -> bool:
    return any(
        word in ("give", "given", "gave", "giving", "had", "got", "gets", "needs")
        for word in heard.norms(at - 4, at)
    )


def _place_word_ends(heard: Heard, mention: Mention, word: str, after: str) -> bool:
    """Whether "is out" speaks of a part's place: "out of round", "off centre", "in spec" do not."""
    clause = heard.clause_at(mention.start)
    if heard.tokens[clause.start].norm in ("when", "if", "once", "until", "till", "before", "after", "while"):
        return False
    if after in ("of", "by", "on", "to", "the", "a", "spec", "tolerance", "range", "good", "line", "true", "centre", "center",
                 "at", "there", "here", "order", "decent", "great", "fair", "poor", "limits", "two", "this", "it"):  # fmt: skip
        return after in ("at", "there", "of") and word.endswith("out") and after == "there"
    before = heard.norms(mention.start - 1, mention.start)
    return not (before and before[0] in ("what", "there", "that", "i", "we", "you", "he", "she"))


def _torque_in_clause(heard: Heard, mention: Mention) -> bool:
    clause = heard.clause_at(mention.start)
    words = set(heard.norms(clause.start, clause.end))
    return bool(words & {"newton", "foot", "inch", "pounds", "torque", "wrench"})


# -- phrases with their part in the middle -----------------------------------------------------

_SPLIT: tuple[tuple[str, str, tuple[str, ...], tuple[tuple[str, ...], ...]], ...] = (
    ("action", "reused", ("put", "putting", "stick", "sticking"), (("back", "in"), ("back", "on"), ("back",))),
    ("action", "reused", ("use", "using", "used", "run", "running"), (("again",), ("once", "more"))),
    ("action", "reused", ("use", "using", "used", "fitting", "fitted"), (("old", "one"), ("old", "ones"))),
    ("action", "reused", ("leave", "leaving", "left"), (("in", "place"), ("where", "it", "is"), ("in", "there"))),
    ("action", "renewed", ("put", "putting", "fit", "fitted", "fitting", "install", "installed", "got"), (("new", "one"), ("new", "ones"))),
    ("action", "renewed", ("swapped", "swapping", "changed", "changing", "change", "swap"), (("out",), ("for", "a", "new", "one"), ("over",))),
    ("action", "removed", ("took", "taken", "taking", "take", "pulled", "got", "lifted", "slid", "drew", "knocked", "pressed"), (("off",), ("out",))),
    ("action", "cleaned", ("give", "given", "gave", "giving"), (("a", "clean"), ("a", "good", "clean"), ("a", "wipe"), ("a", "wash"), ("a", "quick", "clean"), ("a", "scrub"))),
    ("action", "scrapped", ("threw", "thrown", "throw", "throwing", "chucked", "chuck", "chucking", "tossed", "tossing", "binned", "slung"), (("out",), ("away",), ("in", "the", "bin"), ("in", "the", "scrap"), ("in", "the", "skip"))),
    ("action", "scrapped", ("goes", "going", "went", "go", "put", "gone"), (("in", "the", "scrap"), ("in", "the", "bin"), ("in", "the", "scrap", "bin"), ("in", "the", "skip"), ("for", "scrap"), ("to", "scrap"))),
    ("action", "saved", ("set", "put", "setting", "putting", "kept", "keep", "keeping"), (("aside",), ("to", "one", "side"), ("for", "the", "customer"), ("for", "the", "engineer"), ("for", "analysis"), ("for", "inspection"), ("as", "a", "spare"))),
    ("action", "saved", ("bagged", "bag", "tagged"), (("up",), ("and", "tagged"))),
    ("condition", "even_wear", ("wear", "track", "contact", "pattern"), (("is", "even"), ("'s", "even"), ("are", "even"), ("looks", "even"), ("is", "nice", "and", "even"), ("is", "pretty", "even"), ("'s", "nice", "and", "even"), ("is", "nice", "even"))),
    ("condition", "uneven_wear", ("wear", "track", "contact", "pattern"), (("is", "uneven"), ("'s", "uneven"), ("is", "not", "even"), ("is", "heavier", "on", "one", "side"), ("is", "all", "on", "one", "side"), ("'s", "not", "even"), ("is", "all", "one", "side"), ("is", "one", "sided"))),
    ("condition", "even_wear", ("worn", "wearing"), (("evenly",), ("even",))),
    ("condition", "uneven_wear", ("worn", "wearing"), (("unevenly",), ("on", "one", "side"), ("to", "one", "side"))),
)  # fmt: skip
_LONGEST_GAP = 6


def _split_phrases(heard: Heard) -> Iterator[Predicate]:
    norms = [token.norm for token in heard.tokens]
    taken: set[int] = set()
    blocked = {
        i for m in heard.mentions.of("command", "step", "item") if m.cost < 1 for i in range(m.start, m.end)
    }
    for kind, key, heads, tails in _SPLIT:
        for i, norm in enumerate(norms):
            if norm not in heads or i in taken or i in blocked:
                continue
            tail = _tail_after(heard, norms, i + 1, tails)
            if tail is None or not _gap_is_object(heard, i + 1, tail[0], kind):
                continue
            if norms[tail[1] : tail[1] + 1] == ["of"] and norms[tail[1] - 1] == "out":
                continue
            taken.update((i, *range(*tail)))
            yield _predicate(
                heard, kind, key, i, i + 1, f"{norm} … {' '.join(norms[tail[0] : tail[1]])}", (), tail
            )


def _tail_after(
    heard: Heard, norms: list[str], start: int, tails: tuple[tuple[str, ...], ...]
) -> tuple[int, int] | None:
    for at in range(start, min(start + _LONGEST_GAP, len(norms))):
        for words in sorted(tails, key=len, reverse=True):
            if tuple(norms[at : at + len(words)]) == words:
                return at, at + len(words)
        if norms[at] in (".", "?", "!", ";", "but", "so", "because"):
            return None
    return None


def _gap_is_object(heard: Heard, start: int, end: int, kind: str) -> bool:
    """Whether what stands in the middle can be the part: a part, a pronoun, a determiner, an "old one"."""
    if start == end:
        return kind == "condition" or True
    words = heard.norms(start, end)
    if kind == "condition":
        return not any(word in ("but", "and", "so", "i", "we") for word in words)
    if any(m.start >= start and m.end <= end for m in heard.mentions.of("part", "other_part")):
        return True
    allowed = {"it", "them", "that", "those", "these", "this", "the", "a", "old", "ones", "one", "all", "both", "same", "in",
               "on", "of", "new", "brand", "my", "back", "lot", "good", "some", "each", "two", "straight"}  # fmt: skip
    return all(word in allowed for word in words)
