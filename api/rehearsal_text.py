"""A rehearsal in words: what went right, what would be misheard, what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from textwrap import wrap
from typing import Any

from api.rehearsal import GuessedWord, HeardTake, Rehearsal
from api.rehearsal_phrases import RehearsalPhrase
from shared.sheet_entries import words_of

_WIDTH = 100
_SIGNS = {"right": "✓", "asked": "?", "wrong": "✗", "lost": "○", "not_read": "–"}
_MEANING = {
    "right": "filed as said",
    "asked": "would be asked about",
    "wrong": "filed wrong without a question",
    "lost": "heard as nothing of the sheet",
    "not_read": "not understood even when heard word for word",
}


def printed_phrases(phrases: tuple[RehearsalPhrase, ...]) -> Iterator[str]:
    """Yield the list to be read aloud, with how to record it."""
    yield "# Read each phrase as at the bench; record it into a file of its own, named by its number: 1.wav,"
    yield "# 2.wav, … (any sound format). Then: witnessmark sheet rehearse SHEET --recordings DIR"
    for phrase in phrases:
        yield f"{phrase.number}. {phrase.text}"


def rehearsal_lines(rehearsal: Rehearsal) -> Iterator[str]:
    """Yield the report, line by line."""
    counts = rehearsal.counts()
    voices = ", ".join(dict.fromkeys(take.voice for take in rehearsal.takes))
    yield f"Rehearsal of {rehearsal.sheet}: {len(rehearsal.takes)} phrases, {_shortened(voices)}"
    for outcome, number in counts.items():
        if number:
            yield f"  {_SIGNS[outcome]} {number:>3} {_MEANING[outcome]}"
    for title, lines in (
        ("Words of no dictionary", [_guessed_line(one) for one in rehearsal.guessed]),
        ("Names that sound alike", [_alike_line(one, other) for one, other in rehearsal.alike]),
        ("Items taken for one another", [_confused_line(*pair) for pair in rehearsal.confused()]),
        ("Names misheard", [_misheard_line(*one) for one in rehearsal.misheard_names()]),
        ("Items whose numbers go wrong", [_number_line(*one) for one in rehearsal.weak_numbers()]),
        ("Would be asked about", list(_takes(rehearsal, "asked"))),
        ("Heard as nothing of the sheet", list(_takes(rehearsal, "lost"))),
        ("Filed wrong without a question", list(_takes(rehearsal, "wrong"))),
        ("Not understood even when heard word for word", list(_takes(rehearsal, "not_read"))),
    ):
        if lines:
            yield ""
            yield title.upper()
            for line in lines:
                yield from wrap(line, _WIDTH, initial_indent="  ", subsequent_indent="    ")
    yield ""
    yield "A rehearsal shows what is likely to be misheard; voices and rooms differ."


def rehearsal_json(rehearsal: Rehearsal) -> dict[str, Any]:
    """Return the same for programs; every take with what was heard."""
    return {
        "sheet": rehearsal.sheet,
        "counts": rehearsal.counts(),
        "guessed": [asdict(one) for one in rehearsal.guessed],
        "alike": [list(pair) for pair in rehearsal.alike],
        "confused": [list(pair) for pair in rehearsal.confused()],
        "misheard_names": [
            {"name": form, "misheard": wrong, "said": said, "heard": heard}
            for form, wrong, said, heard in rehearsal.misheard_names()
        ],
        "weak_numbers": [
            {"item": item, "wrong": wrong, "said": said, "example": _take_json(take)}
            for item, wrong, said, take in rehearsal.weak_numbers()
        ],
        "takes": [_take_json(take) for take in rehearsal.takes],
    }


def _take_json(take: HeardTake) -> dict[str, Any]:
    value = take.phrase.value
    phrase = {**asdict(take.phrase), "value": None if value is None else str(value)}
    return {**asdict(take), "phrase": phrase}


def _guessed_line(word: GuessedWord) -> str:
    where = ", ".join(f"“{phrase}”" for phrase in word.where[:3])
    return (
        f"“{word.word}” in {where}: expected as {word.sounds}; if it is said otherwise, add a `say` that"
        " spells it as it sounds, in common words"
    )


def _alike_line(one: str, other: str) -> str:
    return f"“{one}” and “{other}”; give one of them another `say`"


def _confused_line(item: str, other: str) -> str:
    return f"{words_of(item)} was filed as {words_of(other)}; give one of them another `say`"


def _misheard_line(form: str, wrong: int, said: int, heard: str) -> str:
    instead = f"heard as “{heard}”" if heard else "not heard"
    return f"“{form}” was {instead}, {wrong} of {said} times; say it slower, or add another `say` for it"


def _number_line(item: str, wrong: int, said: int, example: HeardTake) -> str:
    return (
        f"{words_of(item)}, {wrong} of {said}: said “{example.phrase.text}”, heard “{example.heard}”; say the"
        " unit, and digits one by one"
    )


def _takes(rehearsal: Rehearsal, outcome: str) -> Iterator[str]:
    for take in rehearsal.takes:
        if take.outcome == outcome:
            heard = "" if outcome == "not_read" else f", heard “{take.heard}”"
            yield f"{take.phrase.number}. “{take.phrase.text}”{heard}"


def _shortened(voices: str) -> str:
    return voices if len(voices) < 60 else "your recordings"
