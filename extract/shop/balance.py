"""Residual unbalance that a balance grade permits a rigid rotor."""

from __future__ import annotations

import math

from extract.shop.method import Figure, Method, Source, Worked, require

METHOD = Method(
    name="balance",
    title="Residual unbalance by balance grade",
    formula="U = G m / omega = 9549 G m / n (g mm with m in kg, n in rpm, G in mm/s); e = U / m",
    valid="rigid rotors; grades G0.4 to G4000; halved between two planes only where the rotor is about "
    "symmetric",
    sources=(
        Source("ISO 21940-11 (formula; its text was not seen)", "C"),
        Source("inch form 6.015 G W / N oz in, and G6.3 for most pumps: a trade article", "C+R2"),
    ),
    cautions=(
        "Never balance by grinding where it weakens the part; guard the rotor, stand out of its plane.",
    ),
)
CONSTANT = 60_000 / (2 * math.pi)
_G_MM_PER_OZ_IN = 28.349523125 * 25.4


def permissible_unbalance_gmm(mass_kg: float, speed_rpm: float, grade_mm_s: float) -> float:
    """Return the permissible residual unbalance, g·mm, of the whole rotor.

    Args:
        mass_kg: rotor mass, above 0.
        speed_rpm: highest speed in service, above 0 to 200,000.
        grade_mm_s: balance grade G, 0.4 to 4000.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("rotor mass", mass_kg, 0, 1e6, "kg", open_=True)
    require("speed", speed_rpm, 0, 200_000, "rpm", open_=True)
    require("balance grade", grade_mm_s, 0.4, 4000, "mm/s")
    return CONSTANT * grade_mm_s * mass_kg / speed_rpm


def residual_unbalance(mass_kg: float, speed_rpm: float, grade_mm_s: float) -> Worked:
    """Work out the permissible unbalance; arguments as permissible_unbalance_gmm.

    Source: METHOD.
    """
    whole = permissible_unbalance_gmm(mass_kg, speed_rpm, grade_mm_s)
    figures = (
        Figure("unbalance", whole, "g_mm"),
        Figure("unbalance_inch", whole / _G_MM_PER_OZ_IN, "oz_in"),
        Figure("each_of_two_planes", whole / 2, "g_mm"),
        Figure("eccentricity", whole / mass_kg, "um"),
    )
    return Worked(METHOD, figures, ("the maker's grade comes first; G6.3 is what most pumps are given",))
