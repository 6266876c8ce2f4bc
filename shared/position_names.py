"""What positions are called aloud where a sheet does not say: after their neighbours, by number."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from shared.sheet_entries import words_of

_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")


def complete_positions(named: Mapping[str, Sequence[str]], used: Iterable[str]) -> dict[str, list[str]]:
    """Return spoken forms for every position that is named on a sheet or used by one of its items.

    Where a sheet names position 1 "vane one" and is silent about 2, position 2 is "vane two".
    """
    complete = {position: list(forms) for position, forms in named.items()}
    for position in [*named, *used]:
        if not complete.get(position):
            complete[position] = _forms_like(named, position)
    return complete


def _forms_like(named: Mapping[str, Sequence[str]], position: str) -> list[str]:
    number = _number_words(position)
    if number is None:
        return [words_of(position)]
    forms: list[str] = []
    for neighbour, spoken in named.items():
        theirs = _number_words(neighbour)
        if theirs is not None:
            forms += [_with_number(form, (theirs, neighbour), number) for form in spoken]
    return list(dict.fromkeys(form for form in forms if form)) or [number]


def _with_number(form: str, theirs: tuple[str, str], number: str) -> str:
    """Return a neighbour's form with our number in it; empty where it holds no number."""
    padded = f" {form} "
    for their in theirs:
        if f" {their} " in padded:
            return padded.replace(f" {their} ", f" {number} ").strip()
    return ""


def _number_words(position: str) -> str | None:
    if not position.isascii() or not position.isdigit() or int(position) > 99:
        return None
    value = int(position)
    if value < len(_ONES):
        return _ONES[value]
    tens, ones = divmod(value, 10)
    return _TENS[tens] + (f" {_ONES[ones]}" if ones else "")
