"""What the quantity rooms hand to one another: a quantity as said, with all that it can mean."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, NamedTuple

Role = Literal["value", "range_low", "range_high", "nominal", "tolerance", "limit", "denied", "corrected"]
UnitFrom = Literal["said", "carried", "none"]


class Meaning(NamedTuple):
    """One thing that a spoken quantity can mean."""

    value: Fraction
    """In ``unit``; as said where the unit is None."""
    unit: str | None
    """Of the closed list; None where none was said or it stays open ("pounds", "degrees")."""
    said_unit: str | None
    """One name for what was said: thou, mil, tenths, pounds, degrees, or the unit itself."""
    cost: float
    """Lower is likelier; see :mod:`extract.numbers`."""
    style: str
    """Of the number, see :class:`extract.numbers.NumberReading`."""
    number: Fraction
    """The number as said, before its unit."""
    digits: str = ""
    places: int = 0


class SpokenQuantity(NamedTuple):
    """A quantity in an utterance."""

    span: tuple[int, int]
    """Characters of the text."""
    tokens: tuple[int, int]
    """First token and the one after the last."""
    words: str
    """As heard."""
    meanings: tuple[Meaning, ...]
    """Likeliest first; empty for a vague amount without a number."""
    role: Role = "value"
    """denied: "not thirty"; corrected: a better one was said after it; both are no readings."""
    approximate: bool = False
    group: int = 0
    """Quantities of one list, range or tolerance share it."""
    unit_from: UnitFrom = "none"
    vague_unit: str | None = None
    """Unit of "a couple of thou"."""
    counts: bool = False
    """The number counts things ("three shims")."""

    @property
    def best(self) -> Meaning | None:
        """The likeliest meaning."""
        return self.meanings[0] if self.meanings else None
