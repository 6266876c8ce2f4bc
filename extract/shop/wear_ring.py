"""Wear rings: the least clearance that API 610 wants of new ones (data in ``wear_ring.yaml``)."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.method import Figure, Method, Source, Worked
from shared.data_files import read_data
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="wear-ring",
    title="Wear-ring clearance against the API 610 minimum",
    formula="least diametral clearance by diameter of the rotating ring (table); above 26 in: 0.037 in + "
    "0.001 in per inch",
    valid="diameters to 350 mm and above 26 in; new rings of metal; a minimum for new parts, not a wear "
    "limit",
    sources=(
        Source(
            "API 610, 11th ed., table of least clearances, as reprinted in two pump makers' manuals", "R2"
        ),
        Source(
            "the reprints differ by 0.01 mm in five millimetre rows: inch values carried, else the larger",
            "R2",
        ),
    ),
)
_INCH_MM = Fraction("25.4")


@dataclass(frozen=True)
class LeastClearance:
    """What the table wants; millimetres, diametral."""

    clearance_mm: Fraction
    other_mm: Fraction | None
    """What the other reprint prints where the two disagree."""


@cache
def _tables() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("wear_ring.yaml"))
    return data


def least_clearance(diameter_mm: Fraction) -> LeastClearance:
    """Return the least diametral clearance of new rings.

    Args:
        diameter_mm: of the rotating ring at the clearance, above 0.

    Raises:
        CalculationOutOfRange: a diameter that the reprints do not cover.

    Source: METHOD.
    """
    table = _tables()
    inches = diameter_mm / _INCH_MM
    if 0 < inches < Fraction(table["inch_below"]):
        row = [row for row in table["inch"] if Fraction(row["from"]) <= inches][-1]
        return LeastClearance(Fraction(row["clearance"]) * _INCH_MM, None)
    for row in table["mm"]:
        if Fraction(row["from"]) <= diameter_mm < Fraction(row["below"]):
            printed = sorted((Fraction(c) for c in row["clearance"]), reverse=True)
            return LeastClearance(printed[0], printed[1] if len(printed) > 1 else None)
    if inches > Fraction(table["above_in"]):
        least = Fraction(table["above_clearance_in"]) + (inches - Fraction(table["above_in"])) / 1000
        return LeastClearance(least * _INCH_MM, None)
    raise CalculationOutOfRange(
        f"ring diameter {float(diameter_mm):g} mm", expected="above 0 and below 350 mm, or above 26 in"
    )


def ring_clearance(diameter_mm: Fraction, clearance_mm: Fraction | None = None) -> Worked:
    """Work out the least clearance and, with a measured one, how they compare.

    Args:
        clearance_mm: measured, diametral, at least 0.

    Raises:
        CalculationOutOfRange: as least_clearance, or a negative clearance.

    Source: METHOD.
    """
    least = least_clearance(diameter_mm)
    figures = [
        Figure("ring_diameter", float(diameter_mm), "mm"),
        Figure("least_clearance", float(least.clearance_mm), "mm"),
        Figure("least_clearance_inch", float(least.clearance_mm / _INCH_MM), "in"),
    ]
    notes = [
        "diametral; a minimum for new parts, no wear limit",
        "materials that gall want more; how much was not read",
    ]
    if least.other_mm is not None:
        notes.append(
            f"another reprint of the table has {float(least.other_mm):g} mm here; the larger is taken"
        )
    if clearance_mm is not None:
        if clearance_mm < 0:
            raise CalculationOutOfRange(f"clearance {float(clearance_mm):g} mm", expected="at least 0")
        figures.append(Figure("clearance", float(clearance_mm), "mm"))
        figures.append(Figure("share_of_least", 100 * float(clearance_mm / least.clearance_mm), "%"))
        notes.append(
            "below the least clearance"
            if clearance_mm < least.clearance_mm
            else "not below the least clearance"
        )
    return Worked(METHOD, tuple(figures), tuple(notes))
