"""Pronunciations of a speaker with an accent: the dictionary's, and beside them those with phones shifted.

Which shifts a speaker makes is learnt from him (:mod:`capture.engines.accent`); which are thought of stands
in ``accent_shifts.txt``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_SHIFTS = Path(__file__).parent / "accent_shifts.txt"
#: Of one word; every further one makes all others harder to tell apart.
_MOST_PRONUNCIATIONS = 6
_VARIANT = re.compile(r"\(\d+\)$")


@dataclass(frozen=True, slots=True, order=True)
class Shift:
    """A phone of the dictionary, and what is said in its place."""

    phone: str
    said: str
    """One phone or two, parted by a space."""

    def applied(self, phones: str) -> str:
        """Return a pronunciation with every such phone shifted."""
        return shifted(phones, [self])


@cache
def known_shifts() -> Mapping[str, tuple[Shift, ...]]:
    """Return what may be said in place of each phone, in the order of the file."""
    found: dict[str, tuple[Shift, ...]] = {}
    for line in _SHIFTS.read_text(encoding="ascii").splitlines():
        phone, _, others = line.partition(" ")
        if others and not line.startswith("#"):
            found[phone] = tuple(Shift(phone, " ".join(other.split())) for other in others.split("|"))
    return found


def shifted(phones: str, shifts: Iterable[Shift]) -> str:
    """Return a pronunciation with the phones of all shifts exchanged; the first shift of a phone counts."""
    said: dict[str, str] = {}
    for shift in shifts:
        said.setdefault(shift.phone, shift.said)
    return " ".join(said.get(phone, phone) for phone in phones.split())


def with_accent(dictionary: str, shifts: Sequence[Shift]) -> str:
    """Return a dictionary with the pronunciations that the shifts add.

    Args:
        dictionary: text in the CMU format, ``word(2)`` for a variant.
        shifts: of the speaker.
    """
    entries: dict[str, list[str]] = {}
    for line in dictionary.splitlines():
        word, _, phones = line.partition(" ")
        entries.setdefault(_VARIANT.sub("", word), []).append(phones)
    lines: list[str] = []
    for word, known in entries.items():
        most = max(_MOST_PRONUNCIATIONS, len(known))
        said = list(dict.fromkeys([*known, *_added(known, shifts)]))[:most]
        lines += [
            f"{word}({n}) {phones}" if n > 1 else f"{word} {phones}" for n, phones in enumerate(said, 1)
        ]
    return "\n".join(lines) + "\n"


def _added(known: Sequence[str], shifts: Sequence[Shift]) -> Iterable[str]:
    """Yield each pronunciation with all shifts, then with one of them: a phone is not shifted everywhere."""
    # A word of one phone would become another word altogether: "oh" said as "uh".
    long = [phones for phones in known if " " in phones]
    for phones in long:
        yield shifted(phones, shifts)
    for phones in long:
        yield from (shift.applied(phones) for shift in shifts if shift.phone in phones.split())
