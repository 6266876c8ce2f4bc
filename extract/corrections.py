"""Where a speaker puts something right, and what with: the utterance cut at the words that say so.

"Vane four seventeen, no, make that sixteen" is two runs; the second corrects the first. What a
correction refers to (the same breath, the value before, a position named anew) is worked out by the
reading room with the ledger in hand.
"""

from __future__ import annotations

from dataclasses import dataclass

from extract.heard import Heard
from extract.mentions import Mention
from extract.numbers import is_number_word
from extract.quantity_arcs import Quantity, longest_quantity, quantities_ending_at
from extract.spoken_units import unit_names_at
from extract.values_taken_back import said_instead
from extract.word_sets import word_set

#: Cues that only sometimes correct: an apology, a thought, a surprise.
_WEAK = frozenset(
    {
        "sorry",
        "actually",
        "rather",
        "wrong",
        "oops",
        "i lie",
        "whoops",
        "pardon",
        "excuse me",
        "or rather",
        "no no",
        "i mean",
        "beg your pardon",
        "beg pardon",
        "i beg your pardon",
    }
)
_GO_BACK = frozenset({"go back to", "back to", "going back to"})
_BEFORE_WAS = frozenset({"that", "it", "the", "this", "one", ",", "no", "i", "said", "number"})
_NOES = frozenset({"no", "nah", "naw", "nope"})
#: Stand between "no" and what is right ("no man the inboard is …").
_ADDRESSED = word_set("corrections.addressed")
#: What somebody says of himself who misread.
_OWNING_UP = word_set("corrections.owning_up")
_SLIP_REACH = 6
_MAKE = frozenset({"make it", "make that", "change it to", "change that", "change the"})
#: These halt; they take back only where "that was …" follows, or they stand between two figures.
_HALTS = frozenset({"hold up", "hold on", "hang on", "wait", "back up", "i make it"})
_TIMES = frozenset({"s", "min", "h"})
_SETTLES = (
    ("call", "it"),
    ("calling", "it"),
    ("i", "'ll", "call", "it"),
    ("call", "that"),
    ("i", "'m", "calling", "it"),
    ("well", "more", "like"),
    ("more", "like"),
    ("well", ","),
    ("well",),
    ("or", "rather"),
    ("or", "more", "like"),
)
_SETTLE_STARTS = frozenset(words[0] for words in _SETTLES)
#: "An eighth, well, one twenty eight": these settle only where they stand between two values.
_REFINING = frozenset({"well", "more", "or"})


@dataclass(frozen=True, slots=True)
class Run:
    """Tokens ``start`` to before ``end``, and whether they put something right."""

    start: int
    end: int
    corrects: bool = False
    weak: bool = False
    goes_back: bool = False
    settles: bool = False
    """Only settles an approximate value of the same breath ("a bit under thirty, call it 29")."""
    cue: str = ""
    unsaid: bool = False
    """Puts right what it does not name ("no, I was pushing on it, it's three")."""


def runs_of(heard: Heard) -> tuple[Run, ...]:
    """Cut an utterance at its corrections; one run where there is none."""
    cuts = _cuts(heard)
    runs: list[Run] = []
    start = 0
    before = Run(0, 0)
    for cut in cuts:
        if cut.start > start or (not runs and cut.start > 0):
            runs.append(
                Run(
                    start,
                    cut.start,
                    before.corrects,
                    before.weak,
                    before.goes_back,
                    before.settles,
                    before.cue,
                    before.unsaid,
                )
            )
            before = cut
        elif before.cue:
            # Cues in a row ("no, hang on, make that") count as one; the strongest word decides.
            before = Run(
                0,
                0,
                True,
                before.weak and cut.weak,
                before.goes_back or cut.goes_back,
                False,
                f"{before.cue} {cut.cue}",
            )
        else:
            before = cut
        start = max(start, cut.end)
    runs.append(
        Run(
            start,
            len(heard.tokens),
            before.corrects,
            before.weak,
            before.goes_back,
            before.settles,
            before.cue,
            before.unsaid,
        )
    )
    return tuple(run for run in runs if run.end > run.start or run.corrects)


def says_wrong(heard: Heard) -> bool:
    """Whether a value is said to be wrong ("thirty three, not thirteen"; "ought to be thirty three")."""
    wrong = any(barred.reason == "said to be wrong" for barred in heard.barred)
    return wrong or bool(said_instead(heard.tokens, heard.mentions))


def _cuts(heard: Heard) -> list[Run]:
    cuts = [_cut(heard, mention) for mention in heard.mentions.cues("correction") if _counts(heard, mention)]
    cuts += _bare_no(heard)
    cuts += _settling(heard)
    cuts += _opened_with_no(heard) if not cuts else []
    ordered: list[Run] = []
    for cut in sorted(cuts, key=lambda c: (c.start, -c.end)):
        if ordered and cut.start < ordered[-1].end:
            continue
        ordered.append(cut)
    return ordered


def _cut(heard: Heard, mention: Mention) -> Run:
    return Run(
        mention.start,
        mention.end,
        True,
        mention.form in _WEAK,
        mention.form in _GO_BACK,
        False,
        heard.words(mention.start, mention.end),
    )


def _counts(heard: Heard, mention: Mention) -> bool:
    """Whether a cue word corrects here: "i make it forty" and "going back to the customer" do not."""
    before = heard.norms(mention.start - 1, mention.start)
    following = heard.norms(mention.end, mention.end + 1)
    if (
        mention.form in _MAKE
        and before
        and before[0] in ("i", "to", "can", "we", "you", "'ll", "would", "and", "will")
    ):
        return False
    if mention.form in _HALTS:
        return _takes_back(heard, mention)
    if mention.form in _GO_BACK:
        return _position_or_item_follows(heard, mention.end)
    if mention.form in ("wrong", "rather", "not right"):
        return bool(following) and mention.start > 0
    clause = heard.clause_at(mention.start)
    return clause.mood in ("stated", "question", "future")


def _takes_back(heard: Heard, mention: Mention) -> bool:
    """Whether what follows a halt says what was right ("hold up that was seventy one")."""
    if mention.form == "i make it":
        return heard.norms(mention.start - 1, mention.start) in (["no"], ["wait"], ["on"])
    if _replaces_figure(heard, mention):
        return True
    clause = heard.clause_at(min(mention.end, len(heard.tokens) - 1))
    words = heard.norms(mention.end, mention.end + 6)
    was = next((at for at, word in enumerate(words) if word in ("was", "were")), None)
    if was is None or clause.mood == "question":
        return False
    return all(
        word in _BEFORE_WAS
        or is_number_word(heard.tokens[mention.end + at])
        or _in_place(heard, mention.end + at)
        for at, word in enumerate(words[:was])
    )


def _replaces_figure(heard: Heard, halt: Mention) -> bool:
    """Whether a halt stands between two figures and nothing follows ("sixteen, hang on, seventeen").

    "Hang on five minutes" asks for time.
    """
    at = halt.end
    while heard.norms(at, at + 1) and heard.norms(at, at + 1)[0] in (",", "it", "that", "'s", "is", "no"):
        at += 1
    right = longest_quantity(heard.tokens, at) if at < len(heard.tokens) else None
    if right is None or (right.unit is not None and right.unit.unit in _TIMES):
        return False
    ends = right.end >= len(heard.tokens) or heard.tokens[right.end].norm in ".,"
    return ends and bool(_ending_at(heard, halt.start))


def _in_place(heard: Heard, at: int) -> bool:
    return any(m.start <= at < m.end for m in heard.mentions.of("position", "item"))


def says_instead(heard: Heard) -> bool:
    """Whether a place, an item or a unit is denied and another one said ("stage five not four")."""
    for i in range(len(heard.tokens) - 1):
        if heard.tokens[i].norm not in ("not", "n't", "wasn't", "isn't"):
            continue
        at = (
            i + 2
            if heard.tokens[i + 1].norm in ("the", "a", "on", "at") and i + 2 < len(heard.tokens)
            else i + 1
        )
        if unit_names_at(heard.tokens, at)[0] or _in_place(heard, at):
            return True
    return bool(said_of_place(heard))


def said_of_place(heard: Heard) -> frozenset[int]:
    """Return the tokens of a place that is taken back for another ("did i say north, that was east")."""
    places = [m for m in heard.mentions.of("position", "item") if m.cost < 1]
    for cue in heard.mentions.cues("wrong_said"):
        first = next((m for m in places if cue.end <= m.start <= cue.end + 4), None)
        if first is None:
            continue
        rest = range(first.end, len(heard.tokens))
        was = next((at for at in rest if heard.tokens[at].norm in ("was", "is", "'s", "meant")), None)
        last = was is not None and any(m.start > was and m.kind == first.kind for m in places)
        valued = was is not None and any(
            longest_quantity(heard.tokens, at) is not None and not _in_place(heard, at)
            for at in range(was, len(heard.tokens))
        )
        if last and not valued:
            return frozenset(range(first.start, first.end))
    return frozenset()


def _position_or_item_follows(heard: Heard, i: int) -> bool:
    starts = {m.start for m in heard.mentions.of("position", "item")}
    return any(at in starts for at in range(i, i + 3)) or longest_quantity(heard.tokens, i) is not None


def _bare_no(heard: Heard) -> list[Run]:
    """Find a "no" that is followed by what is right ("two thirty no thirty two", "no vane three …")."""
    found = []
    covered = {i for m in heard.mentions.cues("correction", "negation_idiom") for i in range(m.start, m.end)}
    starts = {m.start for m in heard.mentions.of("position", "item") if m.cost < 1}
    for i, token in enumerate(heard.tokens):
        if token.norm not in _NOES or i in covered or i + 1 >= len(heard.tokens):
            continue
        at = i + 1
        place = at + (heard.tokens[at].norm == ",")
        addressed = i == 0 or bool(_ending_at(heard, i))
        called = at + (heard.tokens[at].norm == ",")
        if addressed and called + 1 < len(heard.tokens) and heard.tokens[called].norm in _ADDRESSED:
            at = called + 1
        while at < len(heard.tokens) and heard.tokens[at].norm in (
            ",",
            "at",
            "on",
            "the",
            "it",
            "'s",
            "that",
            "um",
            "uh",
            "er",
            ".",
        ):
            at += 1
        number = longest_quantity(heard.tokens, at) if at < len(heard.tokens) else None
        is_value = number is not None and not (number.unit is None and _noun_follows(heard, number.end))
        unit = at <= i + 2 and bool(unit_names_at(heard.tokens, at)[0]) and number is None
        behind = unit_names_at(heard.tokens, at)[1] if unit else at
        behind += heard.norms(behind, behind + 1) == [","]
        if unit and longest_quantity(heard.tokens, behind) is not None:
            # "Thirty foot pounds no newton metres thirty newton metres".
            is_value = True
        if (
            is_value
            or _owns_up(heard, i)
            or (unit and _unit_ends(heard, i))
            or (at in starts and (i == 0 or _named_before(heard, at, i)))
            or (at in starts and heard.tokens[at - 1].norm in ("the", "at", "on"))
            or (place in starts and heard.norms(place, place + 1) in (["at"], ["on"], ["under"]))
            or (place in starts and _same_figure(heard, i, place))
        ):
            found.append(Run(i, i + 1, True, False, False, False, "no"))
    return found


def _owns_up(heard: Heard, i: int) -> bool:
    """Whether words of a slip stand between a figure, a "no" and the right one ("38, no I'm blind, 37")."""
    if not _ending_at(heard, i):
        return False
    at = i + 1
    while at < len(heard.tokens) and heard.tokens[at].norm in _OWNING_UP and at - i <= _SLIP_REACH:
        at += 1
    right = longest_quantity(heard.tokens, at) if at < len(heard.tokens) else None
    return right is not None and (right.end >= len(heard.tokens) or heard.tokens[right.end].norm == ".")


def _same_figure(heard: Heard, i: int, place: int) -> bool:
    """Whether the figure before a "no" is said of the place behind it too ("left ten, no, right ten")."""
    end = max((m.end for m in heard.mentions.of("position", "item") if m.start == place), default=place)
    again = longest_quantity(heard.tokens, end) if end < len(heard.tokens) else None
    if again is None or again.value is None:
        return False
    return any(
        q.value == again.value and (q.unit is None or again.unit is None or q.unit.unit == again.unit.unit)
        for q in _ending_at(heard, i)
    )


def _named_before(heard: Heard, at: int, i: int) -> bool:
    """Whether the place named at a token was named before token ``i`` too ("left two …, no, left three")."""
    places = heard.mentions.of("position")
    keys = {key for m in places if m.start == at and m.cost < 1 for key in m.keys}
    return any(keys & set(m.keys) and m.end <= i for m in places)


def _unit_ends(heard: Heard, i: int) -> bool:
    """Whether a value with a unit ends at a token ("eighty five foot pounds, no, newton metres")."""
    return any(q.unit is not None for q in _ending_at(heard, i))


def _ending_at(heard: Heard, i: int) -> list[Quantity]:
    """Return the values that end at a token, a comma or a full stop apart."""
    i -= heard.norms(i - 1, i) in ([","], ["."])
    return quantities_ending_at(heard.tokens, i)


def _opened_with_no(heard: Heard) -> list[Run]:
    """Find the value at the end of a breath that opens with a "no" and gives a reason before it."""
    opens = heard.norms(0, 1)[0] in _NOES or any(
        m.start == 0 and m.form in _HALTS for m in heard.mentions.cues("correction")
    )
    named = heard.mentions.of("item", "position", "part", "other_part")
    if not opens or named or says_wrong(heard) or len(heard.clauses) < 2:
        return []
    for cue in heard.mentions.cues("right_said"):
        number = longest_quantity(heard.tokens, cue.end)
        behind = heard.norms(number.end, len(heard.tokens)) if number is not None else ["?"]
        if cue.start and set(behind) <= {"."}:
            return [Run(cue.start, cue.end, True, cue=heard.words(cue.start, cue.end), unsaid=True)]
    return []


def _noun_follows(heard: Heard, i: int) -> bool:
    return any(m.start == i and m.kind in ("part", "other_part", "condition") for m in heard.mentions.all)


def _settling(heard: Heard) -> list[Run]:
    found = []
    norms = [t.norm for t in heard.tokens]
    for i in range(1, len(norms)):
        for words in _SETTLES if norms[i] in _SETTLE_STARTS else ():
            end = i + len(words)
            if tuple(norms[i:end]) == words and longest_quantity(heard.tokens, end) is not None:
                if words[0] in _REFINING and not _ending_at(heard, i):
                    continue
                found.append(Run(i, end, True, False, False, True, " ".join(words)))
                break
    return found
