"""Parts named in an utterance: which of the sheet's, how many, and those that the sheet has not.

Parts named together ("inboard bearing and outboard bearing") are one group; the tail of several
names ("bearings") is all of them in the plural and one that has to be asked about in the singular.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from extract.heard import Heard
from extract.mentions import Mention
from extract.number_words import ONES, TEENS, TENS
from extract.opposite_parts import opposite_pair
from extract.own_verbs import has_own_verb, told_of_alone
from extract.part_owners import DETERMINERS, of_owner, owned_by
from extract.position_runs import positions_beside
from extract.quantity_arcs import longest_quantity
from extract.unlisted_names import HOUSEHOLD, PART_HEADS
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

_JOINS = frozenset({"and", ",", "&", "plus", "the", "both", "new", "old", "a", "an", "my", "its", "with"})
_ADJECTIVES = word_set("part_names.adjectives")
#: What parts have and what is no part by itself ("the inner edge").
FEATURES = word_set("reference.features")
_FASTENERS = word_set("part_names.fasteners")
_PLACING = frozenset({"in", "on", "into", "onto", "under", "round", "to"})
_SINGULAR = frozenset({"is", "'s", "was", "has", "went", "goes"})
_TOLD_APART = frozenset({"the", "my", "our", "its", "that", "this", "these", "those"})
_PLURAL_QUANTIFIERS = frozenset({"all", "both", "each", "every"})


@dataclass(frozen=True, slots=True)
class NamedPart:
    """A group of parts named together at tokens ``start`` to before ``end``."""

    parts: tuple[str, ...]
    start: int
    end: int
    unlisted: bool = False
    quantity: int | None = None
    doubt: tuple[str, ...] = ()
    """Parts among which nothing decides; ``parts`` holds the first."""
    repairs: tuple[str, ...] = ()
    place: str | None = None
    """A position named right before it ("drive end sleeve")."""
    called: str = ""


def named_parts(sheet: JobSheet, heard: Heard, focus: str | None) -> list[NamedPart]:
    """Return the parts that an utterance names, in order."""
    singles = [_one(sheet, heard, mention, focus) for mention in _part_mentions(heard)]
    groups: list[NamedPart] = []
    for part in singles:
        if groups and _joined(heard, groups[-1], part):
            groups[-1] = _together(groups[-1], part)
            if len(groups) > 1 and _opens_list(heard, groups[-2], groups[-1]):
                groups[-2:] = [_together(groups[-2], groups[-1])]
        else:
            groups.append(part)
    return groups


def _together(first: NamedPart, second: NamedPart) -> NamedPart:
    return NamedPart(
        tuple(dict.fromkeys((*first.parts, *second.parts))),
        first.start,
        second.end,
        first.unlisted and second.unlisted,
        first.quantity,
        first.doubt or second.doubt,
        (*first.repairs, *second.repairs),
        first.place,
        first.called,
    )


def _opens_list(heard: Heard, first: NamedPart, joined: NamedPart) -> bool:
    """Whether a part stands first in a list told without commas ("old pins old bushes and old boots")."""
    at = first.start
    while at and heard.tokens[at - 1].norm in DETERMINERS | {"both", "all"}:
        at -= 1
    clause = heard.clause_at(first.start)
    if any(clause.start <= m.start < at for m in heard.mentions.of("action", "condition")):
        # "Binned the seal, the sleeve and the shaft are good": a verb has the first.
        return False
    between = heard.norms(first.end, joined.start)
    if not between:
        # "Pins bushes and boots"; "impeller bolt and washer" may be one name, but two are not "all" of them.
        of_all = len(joined.parts) == 2 and "all" in heard.norms(joined.end, joined.end + 2)
        return of_all or all(heard.tokens[part.end - 1].norm.endswith("s") for part in (first, joined))
    alike = between == heard.norms(first.start - 1, first.start)
    return alike and between in (["old"], ["the"], ["both"], ["my"])


_TO_FIGURE = word_set("part_names.to_figure")
_LARGEST_COUNT = 16
_SPEECH = word_set("part_names.speech")
_NOT_IN_NAMES = word_set("part_names.not_in_names")


def unlisted_subject(heard: Heard, start: int, end: int) -> NamedPart | None:
    """Return the part that no list has, named by tokens ``start`` to before ``end`` ("suction elbow")."""
    words = heard.norms(start, end)
    while words and (words[0] in DETERMINERS or words[0] in _SPEECH):
        start, words = start + 1, words[1:]
    if len(words) > 2 and words[-2] in ("number", "no") and (words[-1].isdecimal() or words[-1] in ONES):
        end, words = end - 2, words[:-2]
    while words and words[-1] in ("'s", "both", "all", "also", "just", "really", "badly", "pretty"):
        end, words = end - 1, words[:-1]
    if not 1 <= len(words) <= 4 or words[-1] not in PART_HEADS:
        return None
    if not all(word.isalpha() and word not in _NOT_IN_NAMES for word in words) or HOUSEHOLD & set(words):
        return None
    name = "_".join(words)
    return NamedPart((name,), start, end, True, None, (), (), None, " ".join(words))


def unlisted_place(heard: Heard, at: int) -> NamedPart | None:
    """Return the unlisted part that a finding right before is on ("hairline on the torque arm lug")."""
    lead = heard.norms(at, at + 2)
    if lead[:1] not in (["on"], ["in"], ["round"], ["across"], ["through"]) or lead[1:] != ["the"]:
        return None
    end = at + 2
    while end < len(heard.tokens) and end - at < 6 and heard.tokens[end].norm not in PART_HEADS:
        end += 1
    places = {i for m in heard.mentions.of("position") for i in range(m.start, m.end)}
    known = _ADJECTIVES | FEATURES
    told_apart = [i for i in range(at + 2, end) if i not in places and heard.tokens[i].norm not in known]
    if not told_apart or any(m.start <= end and at + 2 < m.end for m in heard.mentions.of("part", "item")):
        return None
    return unlisted_subject(heard, at + 2, end + 1)


def _part_mentions(heard: Heard) -> list[Mention]:
    """Return part mentions that do not overlap, the longer and the listed first."""
    chosen: list[Mention] = []
    places = {(m.start, m.end) for m in heard.mentions.of("position")}
    for mention in sorted(
        heard.mentions.of("part", "other_part"), key=lambda m: (-(m.end - m.start), m.kind != "part", m.cost)
    ):
        if mention.kind == "other_part" and (mention.start, mention.end) in places:
            continue
        if heard.norms(mention.start - 2, mention.start) in (["like", "a"], ["like", "an"]):
            # "Like a spider web" names no spider.
            continue
        if not any(mention.overlaps(other) for other in chosen):
            chosen.append(mention)
    return sorted(chosen, key=lambda m: m.start)


def _one(sheet: JobSheet, heard: Heard, mention: Mention, focus: str | None) -> NamedPart:
    start = _name_start(heard, mention) if mention.kind == "other_part" else mention.start
    quantity = _quantity_before(heard, start)
    place = _place_before(heard, mention)
    if mention.kind == "other_part":
        name = _as_called(heard, mention, start)
        return NamedPart(
            (name,), start, mention.end, True, quantity, (), mention.repairs, place, mention.form
        )
    keys = mention.keys
    if len(keys) == 1 and (other := of_owner(sheet, heard, mention)) is not None:
        keys = (other,)
    if len(keys) > 1:
        return _of_several(heard, mention, focus, quantity, place)
    return NamedPart(
        keys, mention.start, mention.end, False, quantity, (), mention.repairs, place, mention.form
    )


def _as_called(heard: Heard, mention: Mention, start: int) -> str:
    """Return the name of a part off the sheet: the words that it was called by, mended where misheard."""
    own = mention.form.split() if mention.repairs else heard.norms(mention.start, mention.end)
    words = [word for word in (*heard.norms(start, mention.start), *own) if word[0].isalnum()]
    return "_".join(words)


def _of_several(
    heard: Heard, mention: Mention, focus: str | None, quantity: int | None, place: str | None
) -> NamedPart:
    """Decide which parts a shared tail means: those of a position named beside, all, or the one in focus."""
    beside = positions_beside(heard, mention)
    keys = mention.keys
    fitting = tuple(key for key in keys if any(goes_with(key, position) for position in beside))
    noun = heard.tokens[mention.end - 1].norm
    plural = noun.endswith("s") and not noun.endswith("ss")
    before = heard.norms(mention.start - 3, mention.start)
    chosen: tuple[str, ...]
    two = plural and not {"both", "two"}.isdisjoint(before)
    if two and len(keys) > 2 and (not fitting or before[-1:] == ["both"]):
        # Two of more: those at opposite places, or a question.
        pair = opposite_pair(keys)
        if pair is None:
            return _undecided(mention, keys, quantity, place)
        chosen = pair
    elif ("both" in before and len(keys) == 2) or (
        plural and _PLURAL_QUANTIFIERS & set(before) and not _place_before(heard, mention)
    ):
        chosen = keys
    elif fitting:
        chosen = fitting if plural else fitting[:1]
    elif (owned := owned_by(heard, mention)) is not None:
        chosen = (owned,)
    elif noun in _FASTENERS and not _PLURAL_QUANTIFIERS & set(before):
        # Bolts of several assemblies: those of what was talked about, or a question.
        kin = focus if focus in keys else _kin(heard, mention)
        if kin is None:
            return _undecided(mention, keys, quantity, place)
        chosen = (kin,)
    elif plural or _PLURAL_QUANTIFIERS & set(before):
        chosen = keys
    elif focus in keys:
        chosen = (focus,)
    elif (kin := _kin(heard, mention)) is not None:
        chosen = (kin,)
    else:
        return _undecided(mention, keys, quantity, place)
    return NamedPart(
        chosen, mention.start, mention.end, False, quantity, (), mention.repairs, place, mention.form
    )


def _undecided(mention: Mention, keys: tuple[str, ...], quantity: int | None, place: str | None) -> NamedPart:
    return NamedPart(
        keys[:1], mention.start, mention.end, False, quantity, keys, mention.repairs, place, mention.form
    )


def _kin(heard: Heard, mention: Mention) -> str | None:
    """Return the part that goes with one named before ("impeller goes back on with a new bolt")."""
    named = {word for m in heard.mentions.of("part") if m.end <= mention.start for word in m.key.split("_")}
    kin = [key for key in mention.keys if named & set(key.split("_")[:-1])]
    return kin[0] if len(kin) == 1 else None


def goes_with(part: str, position: str) -> bool:
    """Whether a part's name holds a position's ("non_drive_end_bearing" holds "non_drive_end")."""
    if not part.startswith(position) and f"_{position}" not in part:
        return False
    return part.startswith("non_") == position.startswith("non_")


def _joined(heard: Heard, first: NamedPart, second: NamedPart) -> bool:
    between = heard.norms(first.end, second.start)
    if not between or len(between) > 4 or "with" in between:
        return False
    if measured_behind(heard, second.end):
        # "New gasket and casing nuts sixty foot pounds".
        return False
    if "new" in between[:-1]:
        # "Seal and o rings new, impeller and sleeve back on".
        return False
    if between[-1] == "new" and heard.norms(first.start - 1, first.start) != ["new"]:
        # "Sealant on the gasket and new seals": only these are new.
        return False
    if between[-1] in (*_TOLD_APART, "old") and has_own_verb(heard, second.end) and _is_new(heard, first):
        # "New gasket and the casing goes back on", "a new nut and the old key's going back in".
        return False
    if between == [","] and _is_new(heard, first) and told_of_alone(heard, second.end):
        # "New seal, impeller's back on".
        return False
    if between == [",", "both"] and heard.norms(first.start - 1, first.start) == ["new"]:
        # "New seals, both shafts" says where.
        return False
    verb = (heard.norms(second.end, second.end + 1) or [""])[0]
    if set(second.parts) <= set(first.parts) and verb in _SINGULAR:
        # "New bush in the arm and the arm goes back".
        return False
    if {"not", "n't"} & set(heard.norms(first.start - 2, first.start)):
        # "Not the seat, the carbon".
        return False
    if _in_place(heard, first) and verb in _SINGULAR:
        # "Grease in the bush and the seal is new", "chipped on the face and the seal is heat checked".
        return False
    return all(word in _JOINS for word in between) and ("and" in between or "," in between or "&" in between)


def _is_new(heard: Heard, part: NamedPart) -> bool:
    """Whether "new" stands right before a part's name, or a place before it ("new discharge seat")."""
    lead = heard.norms(part.start - 2, part.start)
    return "new" in lead or "brand" in lead


def _in_place(heard: Heard, part: NamedPart) -> bool:
    """Whether a part only says where a consumable went or a finding is ("grease in the bush")."""
    lead = [i for i in range(max(0, part.start - 3), part.start) if heard.tokens[i].norm in _PLACING]
    return bool(lead) and any(m.end == lead[-1] for m in heard.mentions.of("consumable", "condition"))


def measured_behind(heard: Heard, at: int) -> bool:
    """Whether a figure that counts nothing stands behind a part ("casing bolts at eighty eight")."""
    led = heard.norms(at, at + 1) in (["at"], ["to"], ["torqued"], ["set"], ["done"], ["are"], ["is"])
    while heard.norms(at, at + 1)[:1] and heard.tokens[at].norm in _TO_FIGURE and at < len(heard.tokens):
        at += 1
    amount = longest_quantity(heard.tokens, at)
    if amount is None:
        return False
    if amount.unit is not None:
        return amount.unit.unit != "count"
    return led or (amount.value is not None and amount.value > _LARGEST_COUNT)


def _name_start(heard: Heard, mention: Mention) -> int:
    """Return where the name of an unlisted part begins: nouns before a known one belong to it."""
    start = mention.start
    taken = {i for m in heard.mentions.all if m.kind != "photo" for i in range(m.start, m.end)}
    at = start
    while at > 0 and start - at < 2 and at - 1 not in taken and _is_modifier(heard.tokens[at - 1].norm):
        at -= 1
    if at == start:
        return start
    if heard.norms(at - 2, at) in (["like", "a"], ["like", "an"]):
        # "Leaking like a basket carbon's broke".
        return start
    opens = at == 0 or heard.tokens[at - 1].norm in DETERMINERS or heard.clause_at(at).start == at
    return at if opens else start


def _is_modifier(norm: str) -> bool:
    return (
        norm.isalpha()
        and len(norm) > 2
        and norm not in _ADJECTIVES
        and norm not in _NOT_IN_NAMES
        and norm not in DETERMINERS
        and norm not in _SPEECH
        and not norm.endswith(("ed", "ing", "ly"))
    )


def _quantity_before(heard: Heard, start: int) -> int | None:
    """Return the count that stands before a part ("all eight casing bolts", "two of the bolts")."""
    at = start - 1
    while (
        at >= 0
        and start - at <= 4
        and heard.tokens[at].norm in ("new", "old", "of", "the", "those", "these", "my", "them", "'em")
    ):
        at -= 1
    if at < 0:
        return None
    norm = heard.tokens[at].norm
    value = ONES.get(norm) or TEENS.get(norm) or TENS.get(norm)
    if norm in ("couple", "pair"):
        value = 2
    if value is None and norm.isdecimal() and len(norm) <= 2:
        value = int(norm)
    if (
        value is None
        or value < 2
        or at in heard.walls
        or (at and heard.tokens[at - 1].norm in ("point", "number"))
    ):
        return None
    return value


def _place_before(heard: Heard, mention: Mention) -> str | None:
    for position in heard.mentions.of("position"):
        if position.end == mention.start and not heard.tokens[position.start].norm.isdecimal():
            return heard.words(position.start, position.end)
    return None


def parts_in(parts: Sequence[NamedPart], start: int, end: int) -> list[NamedPart]:
    """Return the groups that lie within a run of tokens."""
    return [part for part in parts if start <= part.start and part.end <= end]
