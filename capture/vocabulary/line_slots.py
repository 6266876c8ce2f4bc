"""The slots of a line of natural bench talk: what in it belongs to one machine, found word by word.

Names come from the shipped sheets and the trade lexicon; of any other machine an item is known by what
is measured (``throat bush clearance``), a place by its number (``vane six``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from capture.vocabulary.slots import many
from capture.vocabulary.spoken_numbers import NUMBER_WORDS, TENS, UNITS_TO_NINETEEN
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.lexicon import load_lexicon
from shared.units import KIND_OF_UNIT

_SLOT_WORDS = Path(__file__).parent / "slot_words.txt"
#: Words that only number runs of two or more words make a value with.
_WEAK_NUMBERS = frozenset(["one", "oh", "half", "quarter", "point", "thou", "double", "second", "tenth"])
#: Number words that end a length in inches.
_INCH_WORDS = frozenset(["thou", "thousandths", "thousandth", "tenths", "tenth"])
#: Names of parts that are more often little words of any sentence.
_LITTLE_WORDS = frozenset(["can", "off", "in", "g", "s", "min", "lost", "held for", "left", "right", "top",
                           "bottom", "middle", "greased", "drops", "drop", "guard", "wheel"])  # fmt: skip
_FROM_TEN = frozenset([*UNITS_TO_NINETEEN[10:], *TENS[2:]])
_LONGEST = 5


@dataclass(frozen=True)
class Piece:
    """A piece of a line: plain words (``slot`` empty) or a slot, with ``'s`` kept as ``tail``."""

    words: str
    slot: str = ""
    tail: str = ""
    kind: str = ""
    """What a unit or an item measures, where the words tell."""


@cache
def slot_words() -> dict[str, frozenset[tuple[str, ...]]]:
    """Read the lists of words that show slots."""
    lists: dict[str, set[tuple[str, ...]]] = {}
    name = ""
    for line in _SLOT_WORDS.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            name = line[3:].strip()
            lists[name] = set()
        elif line.strip() and not line.startswith("#"):
            lists[name].add(tuple(line.split()))
    return {name: frozenset(phrases) for name, phrases in lists.items()}


@cache
def _slot_phrases() -> dict[tuple[str, ...], str]:
    """Return what is a slot: names on the shipped sheets and in the trade lexicon, by words."""
    lexicon = load_lexicon()
    phrases: dict[str, str] = {}
    items: set[str] = set()
    for forms in lexicon.parts.values():
        phrases |= dict.fromkeys(forms, "part")
    for forms in lexicon.consumables.values():
        phrases |= dict.fromkeys(forms, "cons")
    for forms in lexicon.units.values():
        phrases |= dict.fromkeys(forms, "unit")
    for sheet_id in shipped_sheet_ids():
        sheet = load_job_sheet(sheet_id)
        phrases |= {form: "part" for part in sheet.parts for form in part.spoken}
        items |= {form for entry in sheet.measured.values() for form in entry.spoken}
        phrases |= {
            form: "pos"
            for position in sheet.positions
            for form in sheet.spoken_positions(position)
            if form not in NUMBER_WORDS
        }
    # The same words can name a part and what is measured of it: the line decides (see pieces_of).
    phrases |= {form: "either" if phrases.get(form) == "part" else "item" for form in items}
    found = {tuple(p.split()): slot for p, slot in phrases.items() if p not in _LITTLE_WORDS}
    for phrase in slot_words()["place"]:
        found.setdefault(phrase, "place")
    for phrase in slot_words()["measured"]:
        found.setdefault(phrase, "measured")
    return found


@cache
def _kinds_of_units() -> dict[str, str]:
    return {
        form: KIND_OF_UNIT[unit] or unit for unit, forms in load_lexicon().units.items() for form in forms
    }


@cache
def _name_words() -> frozenset[str]:
    """Return the words of which names of items are made, beside what is measured."""
    named = ("part", "pos", "item", "either")
    words = {word for phrase, slot in _slot_phrases().items() if slot in named for word in phrase}
    little = {word for (word,) in slot_words()["little"]}
    return frozenset(words - little - NUMBER_WORDS)


_MOST_BEFORE = 2


def pieces_of(line: str) -> tuple[Piece, ...]:
    """Split a line into plain words and slots (part, parts, item, pos, cons, value, count, unit)."""
    words = line.split()
    pieces: list[Piece] = []
    at = 0
    while at < len(words):
        piece, taken = _piece_at(words, at, pieces)
        if piece.slot == "measured":
            piece = _whole_item(piece, pieces)
        pieces.append(piece)
        at += taken
    pieces = _values_and_counts(pieces)
    measured = any(piece.slot == "value" for piece in pieces)
    return tuple(_decided(piece, measured) for piece in pieces)


def _piece_at(words: list[str], at: int, before: list[Piece]) -> tuple[Piece, int]:
    placed = _numbered_place(words, at)
    if placed:
        return Piece(" ".join(words[at : at + placed]), "pos"), placed
    run = _number_run(words, at)
    if run:
        said = words[at : at + run]
        return Piece(" ".join(said), "value", kind="length" if _INCH_WORDS & set(said) else ""), run
    length, slot, tail = _phrase_at(words, at)
    said_words = " ".join(words[at : at + length]).removesuffix(tail)
    if slot == "unit" and not (before and before[-1].slot == "value"):
        slot = ""
    if not slot:
        return Piece(said_words + tail), length
    if slot == "part" and many(said_words):
        slot = "parts"
    kind = _kinds_of_units().get(said_words, "") if slot == "unit" else ""
    return Piece(said_words, slot, tail, kind), length


def _numbered_place(words: list[str], at: int) -> int:
    """Return how many words a place with its number takes from here ("vane six"), 0 for none."""
    if (words[at],) not in slot_words()["placed"]:
        return 0
    run = words[at + 1 : at + 1 + _number_run(words, at + 1)]
    if not run or run[0] not in UNITS_TO_NINETEEN[1:]:
        return 0
    # "vane six fifteen" is a place and its value, "stage one four five" may be anything.
    value_follows = run[1:2] and run[1] in _FROM_TEN and run[0] not in _FROM_TEN
    return 2 if len(run) == 1 or value_follows else 0


def _whole_item(piece: Piece, pieces: list[Piece]) -> Piece:
    """Put the names before what is measured to it; they are taken off the pieces."""
    names: list[str] = []
    while pieces and len(names) < _MOST_BEFORE and not pieces[-1].tail:
        last = pieces[-1]
        if last.slot not in ("part", "parts", "either", "item") and not (
            not last.slot and last.words in _name_words()
        ):
            break
        names.insert(0, pieces.pop().words)
    return replace(piece, slot="item", words=" ".join([*names, piece.words]))


def _values_and_counts(pieces: list[Piece]) -> list[Piece]:
    """Tell a lone number that counts ("two shots") from one that is a value ("end play two thou")."""
    nothing = Piece("")
    around = zip([nothing, *pieces], pieces, [*pieces[1:], nothing], strict=False)
    return [
        replace(piece, slot="count")
        if piece.slot == "value" and " " not in piece.words and not _is_value(before, after)
        else piece
        for before, piece, after in around
    ]


def _is_value(before: Piece, after: Piece) -> bool:
    """Tell whether a lone number between two pieces (an empty one at the ends of a line) is a value."""
    if not after.words or after.slot in ("unit", "pos", "place") or before.slot in ("item", "pos", "place"):
        return True
    if before.slot == "either":
        return True
    announced = not before.slot and (before.words,) in slot_words()["before a value"]
    return announced and after.slot not in ("part", "parts", "cons")


def _decided(piece: Piece, measured: bool) -> Piece:
    if piece.slot == "either":
        return replace(piece, slot="item" if measured else "parts" if many(piece.words) else "part")
    if piece.slot == "place":
        return replace(piece, slot="pos") if measured else Piece(piece.words + piece.tail)
    return piece


def _number_run(words: list[str], at: int) -> int:
    end = at
    while end < len(words) and (
        words[end] in NUMBER_WORDS
        or (words[end] == "and" and end > at and end + 1 < len(words) and words[end + 1] in NUMBER_WORDS
            and words[end - 1] == "hundred")
    ):  # fmt: skip
        end += 1
    run = words[at:end]
    if not run or (len(run) == 1 and run[0] in _WEAK_NUMBERS):
        return 0
    return len(run)


def _phrase_at(words: list[str], at: int) -> tuple[int, str, str]:
    """Return (words taken, slot or empty, the ``'s`` at its end) of the longest phrase that starts here."""
    phrases = _slot_phrases()
    for length in range(min(_LONGEST, len(words) - at), 0, -1):
        run = tuple(words[at : at + length])
        slot = phrases.get(run)
        if slot:
            return length, slot, ""
        if run[-1].endswith("'s"):
            slot = phrases.get((*run[:-1], run[-1][:-2]))
            if slot and slot != "unit":
                return length, slot, "'s"
    return 1, "", ""
