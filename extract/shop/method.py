"""What a shop calculation is: its formula, where it holds, who published it, and what came out.

Flags say how a source was checked: ``C`` recomputed from the formula, ``R`` read in the document named,
``R2`` read in a secondary reprint only, ``MEM`` recalled and not seen. What is ``MEM`` decides nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared.errors import CalculationOutOfRange

FLAG_WORDS = {
    "C": "recomputed", "R": "read in the source", "C+R": "recomputed, and read in the source",
    "R2": "read in a reprint only", "C+R2": "recomputed, and read in a reprint",
    "MEM": "from memory, "
    "decides nothing",
}  # fmt: skip


@dataclass(frozen=True)
class Source:
    """Who published it and how it was checked (a key of ``FLAG_WORDS``)."""

    text: str
    flag: str

    def __str__(self) -> str:
        return f"{self.text} ({FLAG_WORDS[self.flag]})"


@dataclass(frozen=True)
class Method:
    """A way to calculate something."""

    name: str
    """As on the command line."""
    title: str
    formula: str
    valid: str
    """Where it holds."""
    sources: tuple[Source, ...]
    cautions: tuple[str, ...] = ()
    """Shown with every result, because the work behind it can hurt."""


@dataclass(frozen=True)
class Figure:
    """One result with its unit."""

    name: str
    """snake_case"""
    value: float | int | str | None
    unit: str = ""


@dataclass(frozen=True)
class Worked:
    """A calculation that was done."""

    method: Method
    figures: tuple[Figure, ...]
    notes: tuple[str, ...] = ()
    """What has to be known to use the figures."""

    def value(self, name: str) -> float | int | str | None:
        """Return one figure's value.

        Raises:
            KeyError: no figure of that name; a slip in our own code.
        """
        for figure in self.figures:
            if figure.name == name:
                return figure.value
        raise KeyError(name)


def require(
    name: str, value: float, least: float, most: float = math.inf, unit: str = "", *, open_: bool = False
) -> None:
    """Refuse what lies outside a formula's range.

    Args:
        name: what it is, in words.
        value: finite, in ``unit``.
        least: smallest allowed; with ``open_`` it is itself refused.
        most: largest allowed.

    Raises:
        CalculationOutOfRange: outside, or not a finite number.
    """
    if math.isfinite(value) and (value > least if open_ else value >= least) and value <= most:
        return
    bound = f"{'above' if open_ else 'at least'} {least:g}"
    if most < math.inf:
        bound = f"{bound} and at most {most:g}"
    raise CalculationOutOfRange(f"{name} {value:g} {unit}".rstrip(), expected=f"{bound} {unit}".rstrip())
