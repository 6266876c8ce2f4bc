"""Runout and eccentricity: what a dial indicator's full reading says about a true circle off its axis."""

from __future__ import annotations

from fractions import Fraction

from extract.shop.method import Figure, Method, Source, Worked
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="runout",
    title="Runout and eccentricity",
    formula="e = TIR / 2; what the circle adds at twice a turn: e^2 / (4 R)",
    valid="round part, indicator at right angles to the surface, no form error or end float in the reading; "
    "e below R/10",
    sources=(Source("exact polar equation of an eccentric circle", "C"),),
)


def eccentricity(reading: Fraction, unit: str, radius: Fraction | None = None) -> Worked:
    """Work out the eccentricity behind a runout.

    Args:
        reading: full indicator reading, at least 0, in ``unit``.
        radius: of the surface, same unit.

    Raises:
        CalculationOutOfRange: a negative reading, or an offset too large for the radius.

    Source: METHOD.
    """
    if reading < 0:
        raise CalculationOutOfRange(
            f"full indicator reading {float(reading):g} {unit}", expected="at least 0"
        )
    offset = reading / 2
    figures = [Figure("full_reading", float(reading), unit), Figure("eccentricity", float(offset), unit)]
    if radius is not None:
        if radius <= 0 or offset * 10 > radius:
            raise CalculationOutOfRange(
                f"eccentricity {float(offset):g} on radius {float(radius):g} {unit}",
                expected="less than a tenth of it",
            )
        figures.append(Figure("twice_per_turn", float(offset**2 / (4 * radius)), unit))
    return Worked(
        METHOD, tuple(figures), ("a bend, an oval and a bad centre read alike; turn the part and look again",)
    )
