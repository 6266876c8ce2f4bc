"""Nut factors: how much of a torque becomes tension, by what is on the thread (``nut_factors.yaml``)."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.method import Source
from shared.data_files import read_data
from shared.errors import SettingError

SOURCE = Source("nut factors: Shigley's, 9th ed., table 8-15", "R")
SCATTER = Source("torque wrench scatter: NASA-STD-5020B table 3 as quoted", "R2")


@dataclass(frozen=True)
class NutFactor:
    """One row of the table."""

    name: str
    factor: Fraction
    words: str
    doubt: str = ""

    @property
    def scatter(self) -> float:
        """Share of the preload by which a torque wrench can miss it, either way. Source: SCATTER."""
        return 0.35 if self.name in dry_finishes() else 0.25


@cache
def _data() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("nut_factors.yaml"))
    return data


def finishes() -> tuple[str, ...]:
    """Return the names of all rows."""
    return tuple(_data()["finishes"])


def dry_finishes() -> tuple[str, ...]:
    """Return the rows of a thread that nothing was put on."""
    return tuple(_data()["dry"])


def nut_factor(name: str) -> NutFactor:
    """Return one row.

    Raises:
        SettingError: no such row; a thread locker has none.
    """
    row = _data()["finishes"].get(name)
    if name == "dry":
        raise SettingError("a dry thread can be two things", expected=" or ".join(dry_finishes()))
    if row is None:
        why = ": its maker's sheet has it" if name in without_factor() else ""
        raise SettingError(
            f"no published nut factor for {name!r}{why}", expected="one of " + " ".join(finishes())
        )
    return NutFactor(name, Fraction(row["k"]), row["words"], row.get("doubt", ""))


def factors_of(consumable: str | None) -> tuple[NutFactor, ...]:
    """Return the rows that a thread with this consumable on it may have; none where nobody published one.

    Args:
        consumable: a name of the record's contract, or None for a thread that nothing was put on.
    """
    if consumable is None:
        return tuple(nut_factor(name) for name in dry_finishes())
    row = _data()["of_consumable"].get(consumable)
    return (nut_factor(row),) if row else ()


def without_factor() -> tuple[str, ...]:
    """Return consumables that change friction by an amount that no table here has."""
    return tuple(_data()["without_factor"])
