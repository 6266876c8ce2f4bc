"""Natural bench talk, written by hand for some pumps, made to speak of any other.

The words of a line that belong to one pump (parts, items, positions, values) are slots; filled with
the words of another sheet, the line keeps how mechanics talk and says what this sheet can hear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from capture.vocabulary.narration import TEXT_DIR
from capture.vocabulary.slots import Measured, SheetWords, many
from capture.vocabulary.spoken_numbers import NUMBER_WORDS
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.lexicon import load_lexicon

#: Words that only number runs of two or more words make a value with.
_WEAK_NUMBERS = frozenset(["one", "oh", "half", "quarter", "point", "thou", "double"])
#: Names of parts that are more often little words of any sentence.
_LITTLE_WORDS = frozenset(["can", "off", "in", "g", "s", "min", "lost", "held for", "left", "right", "top",
                           "bottom", "middle", "greased", "drops", "drop", "guard", "wheel"])  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """A piece of a line: plain words (``slot`` empty) or a slot, with ``'s`` kept as ``tail``."""

    words: str
    slot: str = ""
    tail: str = ""


@cache
def natural_lines(folder: Path = TEXT_DIR / "natural") -> tuple[str, ...]:
    """Read the hand-written lines of all files, in the order of their names."""
    return tuple(
        line.strip()
        for path in sorted(folder.glob("*.txt"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.strip() and not line.startswith("#")
    )


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
    return {tuple(p.split()): slot for p, slot in phrases.items() if p not in _LITTLE_WORDS}


_LONGEST = 5


def pieces_of(line: str) -> tuple[Piece, ...]:
    """Split a line into plain words and slots (part, parts, item, pos, cons, value, unit)."""
    words = line.split()
    pieces: list[Piece] = []
    at = 0
    while at < len(words):
        run = _number_run(words, at)
        if run:
            pieces.append(Piece(" ".join(words[at : at + run]), "value"))
            at += run
            continue
        length, slot, tail = _phrase_at(words, at)
        said = " ".join(words[at : at + length]).removesuffix(tail)
        if slot == "unit" and not (pieces and pieces[-1].slot == "value"):
            slot = ""
        pieces.append(Piece(said, "parts" if slot == "part" and many(said) else slot, tail if slot else ""))
        if not slot and tail:
            pieces[-1] = Piece(said + tail)
        at += length
    measured = any(piece.slot == "value" for piece in pieces)
    return tuple(_decided(piece, measured) for piece in pieces)


def _decided(piece: Piece, measured: bool) -> Piece:
    if piece.slot == "either":
        return replace(piece, slot="item" if measured else "parts" if many(piece.words) else "part")
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


@cache
def _all_pieces() -> tuple[tuple[Piece, ...], ...]:
    return tuple(pieces_of(line) for line in natural_lines())


def refilled_lines(words: SheetWords, times: int) -> Iterator[str]:
    """Yield every natural line that has slots, filled ``times`` over with the sheet's words."""
    yield from refill(_all_pieces(), words, times)


def refill(lines: tuple[tuple[Piece, ...], ...], words: SheetWords, times: int) -> Iterator[str]:
    """Fill the slots of lines ``times`` over; values fit the item of their line where it names one."""
    for pieces in lines:
        if not any(piece.slot for piece in pieces):
            continue
        for _ in range(times):
            entry = _entry_for(pieces, words)
            yield " ".join(_filled(piece, words, entry) for piece in pieces if piece.words)


def _entry_for(pieces: tuple[Piece, ...], words: SheetWords) -> Measured | None:
    torque = any(
        (piece.slot == "unit" and "pound" in piece.words) or "newton" in piece.words for piece in pieces
    )
    placed = any(piece.slot == "pos" for piece in pieces)
    pool = (
        words.torques
        if torque and words.torques
        else words.placed
        if placed and words.placed
        else words.items
    )
    return words.rng.choice(pool) if pool else None


def _filled(piece: Piece, words: SheetWords, entry: Measured | None) -> str:
    rng = words.rng
    if not piece.slot:
        return piece.words
    if piece.slot in ("part", "parts"):
        pool = words.many_parts if piece.slot == "parts" else words.one_part
        return rng.choice(pool) + piece.tail
    if piece.slot == "cons":
        return rng.choice(words.consumables) + piece.tail
    if entry is None:
        return piece.words + piece.tail
    said = {"value": words.value, "unit": words.unit, "pos": words.position}.get(piece.slot)
    return (said(entry) if said else rng.choice(entry.spoken)) + piece.tail
