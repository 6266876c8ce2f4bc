"""What a sheet and the trade lexicon can be called aloud, as phrases with a name and a cost.

The full spoken form of a thing costs nothing. Its tail ("gasket" for the casing gasket, "clearance"
for the front clearance) costs something, because several things may share it; which one is meant
shows only with the number, the position and what the talk is about.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from functools import lru_cache
from typing import NamedTuple

from extract.item_verbs import load_item_verbs
from extract.other_machines import other_machines
from extract.position_names import position_forms, position_heads
from extract.spoken_forms import Words, cut_form, other_number, spellings
from extract.step_wordings import step_wordings
from extract.word_sets import word_list, word_set
from shared.job_sheet import JobSheet
from shared.lexicon import load_lexicon
from shared.sheet_entries import words_of

#: Cost of calling a thing by the tail of its name only.
TAIL = 1.0
#: Cost of naming only the part that is measured ("shaft" for the shaft diameter).
STEM = 1.6
_RUNNING_OUT = (
    "out by", "is out by", "'s out by", "was out by", "runs out", "runs out by", "ran out", "ran out by",
)  # fmt: skip
#: Cost of calling a position by its first word only ("drive" for the drive end).
WEAK = 0.6
_PREPOSITIONS = ("of", "on", "at", "for", "in")
#: Words that name no part by themselves; "end" for "drive end" would fit everywhere.
_NO_TAILS = word_set("sheet_phrases.no_tails")
#: Endings that say what is measured; "shaft diameter" is also just "shaft".
_MEASURES = word_set("sheet_phrases.measures")

#: From so many letters on the first word of a name tells its part apart by itself.
_LONG_WORD = 8
#: "Valve sets" are the valves.
_ASSEMBLIES = word_list("sheet_phrases.assemblies")
_VERBS = load_item_verbs()
_KINDS_OF_SCREW = frozenset(
    {"set", "lock", "grub", "jack", "thumb", "machine", "tie", "through", "hold", "eye"}
)
#: "End play" and the like are one noun.
_TWO_WORDS = frozenset({"end", "axial", "radial", "side", "lateral"})
_FASTENERS = frozenset({"bolts", "bolt", "screws", "screw", "nuts", "nut", "studs", "stud"})


class Phrase(NamedTuple):
    """One way of saying one thing."""

    kind: str
    """item, part, other_part, position, condition, action, consumable, photo, step, command, cue."""
    key: str
    """Name of the thing in sheet, contract or cue list."""
    words: Words
    form: str
    """What it is called in full, for the evidence."""
    cost: float


def sheet_phrases(sheet: JobSheet, known: Collection[str] = ()) -> tuple[Phrase, ...]:
    """Return every phrase that the sheet gives, cheapest of each."""
    found: dict[tuple[str, str, Words], Phrase] = {}

    def add(kind: str, key: str, form: str, cost: float = 0.0, inflect: bool = True) -> None:
        for words in spellings(form, inflect=inflect, known=known):
            place = (kind, key, words)
            if place not in found or found[place].cost > cost:
                found[place] = Phrase(kind, key, words, form, cost)

    for key, forms in item_forms(sheet).items():
        for form in forms:
            add("item", key, form)
            for turned in (*_turned(form), *_runs_out(form)):
                add("item", key, turned, 0.2, inflect=False)
            for short in _shortened_forms(form):
                add("item", key, short, 0.3, inflect=False)
    for key, form in verb_forms(sheet):
        add("item", key, form, 0.3, inflect=False)
    for form, keys in _tails(item_forms(sheet)).items():
        for key in keys:
            add("item", key, form, TAIL)
    for key, form in _stems(sheet):
        add("item", key, form, STEM)
    for key, form in _said_of_owner(sheet):
        add("item", key, form, TAIL, inflect=False)
    for key, forms in part_forms(sheet).items():
        for form in forms:
            add("part", key, form)
            words = form.split()
            if len(words) > 1 and not set(words) & set(_PREPOSITIONS):
                # "Seal of the shaft" is the shaft seal.
                for owner in (" ".join(words[:-1]), f"the {' '.join(words[:-1])}"):
                    add("part", key, f"{words[-1]} of {owner}", 0.2, inflect=False)
    for form, keys in _tails(part_forms(sheet)).items():
        for key in keys:
            add("part", key, form, TAIL)
            for whole in _ASSEMBLIES:
                add("part", key, f"{_singular(form)} {whole}", TAIL)
    for key, form in _told_apart(sheet):
        add("part", key, form, 0.5, inflect=False)
    for position in sheet.positions:
        for form in position_forms(sheet, position):
            add("position", position, form, inflect=False)
        for form in position_heads(sheet, position):
            add("position", position, form, WEAK, inflect=False)
    for consumable in sheet.consumables:
        for form in consumable.spoken:
            add("consumable", consumable.name, form)
    for photo in sheet.photos:
        for form in (*photo.spoken, words_of(photo.of)):
            add("photo", photo.of, form)
    for step in sheet.steps:
        for form, cost in step_wordings(step):
            add("step", step.step, form, cost, inflect=False)
    named = {form.split()[-1] for forms in part_forms(sheet).values() for form in forms}
    named |= {form.split()[-1] for forms in item_forms(sheet).values() for form in forms}
    for form in other_machines(sheet, named):
        add("cue", "elsewhere", form, inflect=False)
    return tuple(found.values())


def verb_forms(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """Yield (item, verb) for what is measured by doing it: "heated them to …", "held her … minutes".

    A verb that two items share is nobody's.
    """
    found: dict[str, list[str]] = defaultdict(list)
    for reading in sheet.readings:
        words = {word for form in (*reading.spoken, words_of(reading.item)) for word in form.split()}
        for usual in _VERBS:
            if reading.kind == usual.kind and words & usual.words and not words & usual.without:
                for verb in usual.say:
                    found[verb].append(reading.item)
    for verb, items in found.items():
        if len(items) == 1:
            yield items[0], verb


def _said_of_owner(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """Yield (item, "housing is running at") for what is told of its owner alone."""
    for item, forms in item_forms(sheet).items():
        kind = sheet.measured[item].measured_kind
        for form in forms:
            *owner, noun = form.split()
            for usual in _VERBS:
                if (
                    owner
                    and owner[-1] not in _KINDS_OF_SCREW
                    and noun in usual.of
                    and kind == usual.kind
                    and not usual.without & {*owner}
                ):
                    for said in usual.said_of(" ".join(owner)):
                        yield item, said


def _told_apart(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """Yield "intermediate" for the one intermediate bearing among several: a long word of its own does."""
    taken = {
        word
        for position in sheet.positions
        for form in sheet.spoken_positions(position)
        for word in form.split()
    }
    firsts: dict[str, set[str]] = defaultdict(set)
    nouns: dict[str, set[str]] = defaultdict(set)
    for part, forms in part_forms(sheet).items():
        for form in forms:
            words = form.split()
            if len(words) == 2:
                firsts[words[0]].add(part)
                nouns[words[1]].add(part)
    for part, forms in part_forms(sheet).items():
        for form in forms:
            words = form.split()
            alone = len(words) == 2 and firsts[words[0]] == {part} and len(nouns[words[1]]) > 1
            if alone and len(words[0]) >= _LONG_WORD and words[0] not in taken:
                yield part, words[0]


def _singular(form: str) -> str:
    """Return "valve" for "valves", so that "valve sets" can be said of them."""
    *rest, noun = form.split()
    return " ".join([*rest, other_number(noun) if noun.endswith("s") and not noun.endswith("ss") else noun])


def lexicon_phrases(sheet: JobSheet, known: Collection[str] = ()) -> tuple[Phrase, ...]:
    """Return every phrase of the trade lexicon; its part names that the sheet has are the sheet's."""
    lexicon = load_lexicon()
    own = {
        words
        for forms in part_forms(sheet).values()
        for form in forms
        for words in spellings(form, inflect=True)
    }
    phrases: list[Phrase] = list(fixed_lexicon())
    names = dict(_same_part(sheet))
    for part, forms in lexicon.parts.items():
        for form in forms:
            for words in spellings(form, inflect=True, known=known):
                if words in own:
                    continue
                listed = names.get(part)
                if listed is not None:
                    phrases.append(Phrase("part", listed, words, form, 0.4))
                else:
                    phrases.append(Phrase("other_part", part, words, form, 0.0))
    return tuple(phrases)


@lru_cache(maxsize=1)
def fixed_lexicon() -> tuple[Phrase, ...]:
    """Return the conditions, actions, consumables and commands of the lexicon."""
    lexicon = load_lexicon()
    groups = (
        ("condition", lexicon.conditions),
        ("action", lexicon.actions),
        ("consumable", lexicon.consumables),
        ("command", lexicon.commands),
    )
    return tuple(
        Phrase(kind, key, words, form, 0.0)
        for kind, group in groups
        for key, forms in group.items()
        for form in forms
        for words in spellings(form)
    )


def item_forms(sheet: JobSheet) -> dict[str, tuple[str, ...]]:
    """Return what each measured item is called; a fastener also by the names of its part."""
    found: dict[str, tuple[str, ...]] = {}
    for reading in sheet.readings:
        found[reading.item] = _distinct([*reading.spoken, words_of(reading.item)])
    for fastener in sheet.fasteners:
        forms = [*fastener.spoken, words_of(fastener.item)]
        if fastener.part is not None:
            part = sheet.part_names.get(fastener.part)
            forms += [*(part.spoken if part else ()), words_of(fastener.part)]
        forms += [f"{form} torque" for form in forms if not form.endswith("torque")]
        found[fastener.item] = _distinct(forms)
    return found


def part_forms(sheet: JobSheet) -> dict[str, tuple[str, ...]]:
    """Return what each part is called, its name in words always among it."""
    return {part.part: _distinct([*part.spoken, words_of(part.part)]) for part in sheet.parts}


def _distinct(forms: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(forms))


def _tails(forms: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Return the tails of names that are no full name, with all things that end so."""
    full = {words for group in forms.values() for form in group for words in spellings(form, inflect=True)}
    found: dict[str, list[str]] = defaultdict(list)
    for key, group in forms.items():
        for form in group:
            words = cut_form(form)
            for n in range(1, len(words)):
                tail = words[n:]
                if tail in full or (len(tail) == 1 and tail[0] in _NO_TAILS):
                    continue
                if len(words[n - 1]) == 1:
                    # "rings" does for no "o rings".
                    continue
                if (
                    not tail[0].isalpha()
                    or len(tail[-1]) < 3
                    or tail[0] in (*_PREPOSITIONS, "the", "a", "to")
                ):
                    continue
                if set(words[:n]) & {*_PREPOSITIONS, "between", "behind", "under", "to"}:
                    # The tail of "gap between the halves" is only where.
                    continue
                if (*tail[:-1], other_number(tail[-1])) in full:
                    continue
                text = " ".join(tail)
                if key not in found[text]:
                    found[text].append(key)
    return {form: tuple(keys) for form, keys in found.items()}


def _shortened_forms(form: str) -> Iterator[str]:
    """Yield "held" for "held for", "lift total" for "total lift", "hydro" for "hydrotest"."""
    words = form.split()
    if words[-1] == "hydrotest":
        yield " ".join([*words[:-1], "hydro"])
    if len(words) > 1 and words[-1] in ("for", "at", "to", "of"):
        yield " ".join(words[:-1])
    if len(words) == 2 and all(len(word) > 3 for word in words):
        yield f"{words[1]} {words[0]}"


def _runs_out(form: str) -> Iterator[str]:
    """Yield "shaft is out by" and "shaft runs out" for "shaft runout"."""
    words = form.split()
    if len(words) > 1 and words[-1] in ("runout", "run-out"):
        rest = " ".join(words[:-1])
        for said in _RUNNING_OUT:
            yield f"{rest} {said}"


def item_parts(sheet: JobSheet) -> dict[str, str]:
    """Return the part that each item measures, where its name shows one."""
    found = {fastener.item: fastener.part for fastener in sheet.fasteners if fastener.part is not None}
    forms = {form: part for part, group in part_forms(sheet).items() for form in group}
    for reading in sheet.readings:
        for form in (*reading.spoken, words_of(reading.item)):
            words = form.split()
            heads = [" ".join(words[:n]) for n in range(len(words) - 1, 0, -1)]
            part = next((forms[head] for head in heads if head in forms), None)
            if part is not None:
                found.setdefault(reading.item, part)
    return found


def _stems(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """Yield (reading, name of the part it measures): "shaft" for the shaft diameter, "wheel" with it."""
    parts = part_forms(sheet)
    for reading in sheet.readings:
        for form in (*reading.spoken, words_of(reading.item)):
            words = form.split()
            heads = {" ".join(words[:n]) for n in range(1, len(words)) if words[-1] in _MEASURES}
            heads |= {other_number(head) for head in heads}
            for forms in parts.values():
                if heads & set(forms):
                    for part_form in forms:
                        yield reading.item, part_form
            if len(words) > 2 and words[-1] in _MEASURES:
                # "Brake spring at four and a quarter", of a spring that is no part of the sheet.
                yield reading.item, " ".join(words[:-1])
    for fastener in sheet.fasteners:
        for form in item_forms(sheet)[fastener.item]:
            *head, noun = form.split()
            if len(head) > 1 and noun in _FASTENERS and head[-1] not in _KINDS_OF_SCREW:
                # "Bearing caps forty".
                yield fastener.item, " ".join(head)
                yield fastener.item, other_number(" ".join(head))


def _turned(form: str) -> Iterator[str]:
    """Yield "runout of the motor shaft" for "motor shaft runout"."""
    words = form.split()
    if len(words) < 2 or any(word in _PREPOSITIONS for word in words) or len(words[-1]) < 3:
        return
    # "End play of the worm" as well as "play of the worm end".
    two_nouns = len(words) == 3 and words[1] in _TWO_WORDS
    for n in (len(words) - 1, *([1] if two_nouns else [])):
        owner, what = " ".join(words[:n]), " ".join(words[n:])
        for preposition in _PREPOSITIONS:
            yield f"{what} {preposition} {owner}"
            yield f"{what} {preposition} the {owner}"


def _same_part(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    """Yield (lexicon part, sheet part) where both are one thing: the same name or a shared full name."""
    lexicon = load_lexicon()
    forms = part_forms(sheet)
    spoken: dict[str, set[str]] = defaultdict(set)
    for part, group in forms.items():
        for form in group:
            spoken[form].add(part)
            words = form.split()
            spoken[" ".join([*words[:-1], other_number(words[-1])])].add(part)
    for name, group in lexicon.parts.items():
        if name in forms:
            yield name, name
            continue
        meant = {
            part for form in group for part in spoken.get(form, ()) if len(form.split()) > 1 or len(group) < 3
        }
        if len(meant) == 1:
            yield name, meant.pop()
