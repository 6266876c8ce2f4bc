"""The words that govern a value: a reading is sure only where each of them is understood.

"Yesterday on pump fourteen the offset was eleven" has an item and a value and is no reading of this
job. No list of cues holds every way of saying such a thing, so it is turned round: what may stand
between what is measured and its value, and right behind the value, is listed in
``governing_words.yaml``; any other word of the clause that neither the sheet nor the trade knows makes
a question of the reading.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Sequence
from functools import cache
from pathlib import Path

from extract.bystanders import only_where, stands_by
from extract.heard import Heard
from extract.mentions import Mention
from extract.number_cues import cue_words
from extract.number_words import NUMBER_WORDS
from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.sheet_phrases import WEAK
from extract.sounding import sound_of
from extract.which_one import BY_WHICH, WHICH_ONE
from extract.word_sets import word_set
from shared.data_files import read_data

_THREAD = re.compile(r"m\d{1,2}")
_FILE = Path(__file__).with_name("governing_words.yaml")
#: Mentions that tell what is spoken of; other cues say how, and are weighed where they belong.
_KNOWN = (
    "item", "position", "part", "other_part", "cue", "action", "condition", "consumable", "step", "command",
)  # fmt: skip
#: "I was hoping for two thou": cues that part talk weighs, and no reading does.
_NEVER_OF_VALUES = frozenset({"undone", "undone_idiom", "private"})
#: "Make that last one sixteen", "two ought to be twenty" put right what stands there.
_OF_CORRECTIONS = frozenset(
    {"last", "previous", "oughta", "ought", "earlier", "ago", "while", "told", "tell", "wrote", "written"}
    | {"wrong", "wrongly", "false", "bad", "badly", "seeing", "saw", "misread", "misheard", "mixed"}
    | word_set("corrections.owning_up")
)
#: Balancing is done elsewhere and comes back on paper.
_OF_BALANCING = frozenset(
    {"according", "sheet", "slip", "card", "ticket", "report", "certificate", "balancer", "balancers"}
)
#: "Third a hair more, point five five"; behind a number they tell a difference.
_COMPARING = frozenset(
    {"more", "less", "higher", "lower", "bigger", "smaller", "tighter", "looser", "better", "worse"}
)
_MACHINES = frozenset({"pump", "unit", "machine", "fan", "blower", "gearbox"})
_FIGURES = frozenset({"reading", "readings", "figure", "figures", "number", "value", "record", "setting"})
_REMARKS = frozenset({"tells", "explains", "means", "makes", "accounts", "proves", "figures", "surprises"})
#: Behind these a name begins anew; behind a preposition or an owner what was said before governs it.
_APART = word_set("governing_words.apart") | {",", "."}
_LEADING_ON = word_set("governing_words.leading_on")
#: So many words behind a value may still be about it.
_REACH_BEHIND = 3


@cache
def plain_words() -> frozenset[str]:
    """Return the words that change nothing of a value."""
    data: dict[str, str] = read_data(_FILE)
    labels = cue_words("strong_label_nouns") | cue_words("weak_label_nouns")
    return frozenset(word for words in data.values() for word in words.split()) | labels


def doubt_strange_words(
    heard: Heard, drafts: Sequence[ReadingDraft], words_of: Callable[[str], frozenset[str]]
) -> None:
    """Ask about each sure reading whose clause has a word that nobody knows beside its value.

    ``words_of`` gives the words that an item is called by.
    """
    if not any(draft.sure for draft in drafts):
        return
    known = {i for m in heard.mentions.of(*_KNOWN) if not _of_part_talk(m) for i in range(m.start, m.end)}
    known |= {i for draft in drafts for i in range(draft.start, draft.end)} | heard.walls
    for draft in drafts:
        if not draft.sure or draft.value is None:
            continue
        names = words_of(draft.item)
        placeless = draft.position is None
        own = _known_of(draft)
        named_at = _named_by_itself(heard, draft, known)
        strange = [
            heard.tokens[i].norm
            for i in _governing(heard, draft, drafts)
            if _numbered_machine(heard, i, drafts)
            or (
                i not in known
                and i >= named_at
                and _strange(heard, i)
                and heard.tokens[i].norm not in own
                and not stands_by(heard, i, draft.start)
                and not (placeless and only_where(heard, i))
                and not (heard.tokens[i].norm in _COMPARING and i < draft.start)
                and not _is_name(heard.tokens[i].norm, names)
                and not _of_next_number(heard, i, draft.end)
            )
        ]
        if strange:
            draft.ask(
                f"said with words that are not understood: {', '.join(strange)}",
                value_candidate(draft.value, draft.unit),
            )


def _governing(heard: Heard, draft: ReadingDraft, drafts: Sequence[ReadingDraft]) -> list[int]:
    """Return the tokens of the value's clause from the value before up to the words behind it.

    Behind a value put right stands why it was wrong; that needs no understanding.
    """
    clause = heard.clause_at(draft.start)
    before = [other.end for other in drafts if other.end <= draft.start]
    behind = [other.start for other in drafts if other.start >= draft.end]
    start = max([clause.start, *before])
    reach = 0 if draft.corrects is not None else _REACH_BEHIND
    end = min([clause.end, draft.end + reach, *behind, *_remark(heard, draft.end, clause.end)])
    return [*range(start, draft.start), *range(draft.end, end)]


def _named_by_itself(heard: Heard, draft: ReadingDraft, known: Container[int]) -> int:
    """Return where an item named in full stands right before its value; no matter what was said before it.

    "The lad found it: casing nuts ninety"; not where a strange word leads on to the name ("the dairy's casing
    nuts ninety").
    """
    named = [
        m
        for m in heard.mentions.of("item")
        if draft.item in m.keys and m.cost < WEAK and m.end <= draft.start
    ]
    if not named:
        return 0
    at = max(m.start for m in named)
    between = range(max(m.end for m in named), draft.start)
    plain = all(i in known or not _strange(heard, i) for i in between)
    lead = heard.norms(at - 1, at)
    apart = bool(lead) and lead[0] in _APART and not _LEADING_ON.intersection(heard.norms(0, at))
    return at if plain and apart else 0


def _of_next_number(heard: Heard, i: int, end: int) -> bool:
    """Whether "about" behind a value is of the number that follows it ("thirty psi dropped about half")."""
    roughly = heard.norms(i, i + 1) in (["about"], ["around"])
    return i >= end and roughly and longest_quantity(heard.tokens, i + 1) is not None


def _remark(heard: Heard, start: int, end: int) -> list[int]:
    """Return where a remark on the value begins behind it ("nine, which tells you something")."""
    norms = heard.norms(start, end)
    return [
        start + at for at, word in enumerate(norms[:-1]) if word == "which" and norms[at + 1] in _REMARKS
    ][:1]


def _is_name(norm: str, names: frozenset[str]) -> bool:
    """Whether a word is one of the names, in another number or spelled as it sounds."""
    if norm in names or norm.removesuffix("s") in names or f"{norm}s" in names:
        return True
    return len(norm) > 3 and sound_of(norm) in {sound_of(name) for name in names if len(name) > 3}


def _of_part_talk(mention: Mention) -> bool:
    """Whether only part talk weighs a cue; what was forgotten to be said is said now."""
    return mention.key in _NEVER_OF_VALUES and not mention.form.startswith("forg")


def _known_of(draft: ReadingDraft) -> frozenset[str]:
    """Return the words that are plain only beside such a reading."""
    known = _OF_CORRECTIONS if draft.corrects is not None else frozenset()
    if BY_WHICH in draft.rule:
        # "Original shim pack" is the one that was in there, where the sheet wants both.
        known |= WHICH_ONE
    return known | _OF_BALANCING if draft.unit == "g" else known


def _numbered_machine(heard: Heard, i: int, drafts: Sequence[ReadingDraft]) -> bool:
    """Whether a machine is told from others by its number ("on pump fourteen"), maybe another one."""
    if heard.tokens[i].norm not in _MACHINES or i + 1 >= len(heard.tokens):
        return False
    at = i + 1 + (heard.tokens[i + 1].norm in ("number", "no"))
    numbered = at < len(heard.tokens) and is_number_word(heard.tokens[at])
    return numbered and not any(draft.start <= at < draft.end for draft in drafts)


def _strange(heard: Heard, i: int) -> bool:
    norm = heard.tokens[i].norm
    if norm == "old":
        # "The old ones" are parts, "the old reading" is what was.
        return bool(_FIGURES & set(heard.norms(i + 1, i + 3)))
    if _THREAD.fullmatch(norm):
        return False
    return len(norm) > 1 and norm[0].isalpha() and norm not in NUMBER_WORDS and norm not in plain_words()
