"""Heating a part for a fit: how far it grows, and how warm it has to be."""

from __future__ import annotations

from extract.shop.method import Figure, Method, Source, Worked, require

HOTTEST_C = 120.0
"""Above it nobody heats a bearing: one maker's text says never above 125 °C, another source caps 120."""
METHOD = Method(
    name="heat",
    title="Heating for a fit",
    formula="growth = alpha d dT; dT = (interference + clearance wanted) / (alpha d)",
    valid="uniform heating, steel about 11 to 12.5e-6 per K; bores above 1 to 2000 mm; shaft stays at its "
    "temperature",
    sources=(
        Source("linear expansion", "C"),
        Source(
            "80 to 90 K above the shaft, never above 125 degC, no open flame: bearing seller's text of the "
            "maker",
            "R",
        ),
        Source("120 mm n6, 65 um: about 50 K, then 20 to 30 more: bearing page", "C+R"),
    ),
    cautions=(
        "Hot parts burn: dry insulated gloves, no open flame, a bearing never above 120 to 125 degC; "
        "measure it.",
    ),
)
STEEL_PER_K = 12e-6


def growth_um(bore_mm: float, rise_k: float, alpha_per_k: float) -> float:
    """Return how far a bore grows, micrometres.

    Args:
        bore_mm: 1 to 2000.
        rise_k: temperature difference, 0 to 300 K.
        alpha_per_k: expansion coefficient, 1e-6 to 30e-6.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    _check(bore_mm, alpha_per_k)
    require("temperature rise", rise_k, 0, 300, "K")
    return alpha_per_k * bore_mm * rise_k * 1000


def rise_for_k(bore_mm: float, gap_um: float, alpha_per_k: float) -> float:
    """Return the temperature rise that opens a bore by a gap, K.

    Args:
        gap_um: interference to overcome and clearance wanted, together, at least 0.

    Raises:
        CalculationOutOfRange: outside growth_um's ranges.

    Source: METHOD.
    """
    _check(bore_mm, alpha_per_k)
    require("interference and clearance", gap_um, 0, unit="um")
    return gap_um / 1000 / (alpha_per_k * bore_mm)


def _check(bore_mm: float, alpha_per_k: float) -> None:
    require("bore", bore_mm, 1, 2000, "mm")
    require("expansion coefficient", alpha_per_k, 1e-6, 30e-6, "per K")


def heating_for(
    bore_mm: float,
    interference_um: float,
    clearance_um: float,
    shaft_c: float,
    alpha_per_k: float = STEEL_PER_K,
) -> Worked:
    """Work out how warm a part has to be to slip on.

    Args:
        bore_mm: nominal bore.
        interference_um: the most that there can be, at the shaft's temperature.
        clearance_um: wanted on top of it while fitting.
        shaft_c: temperature of the shaft, °C, -40 to 60.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("shaft temperature", shaft_c, -40, 60, "degC")
    require("interference", interference_um, 0, unit="um")
    require("clearance", clearance_um, 0, unit="um")
    rise = rise_for_k(bore_mm, interference_um + clearance_um, alpha_per_k)
    warm = shaft_c + rise
    figures = (
        Figure("rise", rise, "K"),
        Figure("rise_fahrenheit", rise * 1.8, "degF_diff"),
        Figure("part_temperature", warm, "degC"),
        Figure("part_temperature_fahrenheit", warm * 1.8 + 32, "degF"),
        Figure("expansion_coefficient", alpha_per_k, "per K"),
    )
    notes = ["a rise has no 32 degree offset; heat 20 to 30 K more, the part cools on its way"]
    notes += _too_hot(warm)
    return Worked(METHOD, figures, tuple(notes))


def growth_of(
    bore_mm: float,
    rise_k: float,
    interference_um: float,
    alpha_per_k: float = STEEL_PER_K,
    shaft_c: float = 20.0,
) -> Worked:
    """Work out what a given rise clears.

    Args:
        bore_mm, rise_k, alpha_per_k: as growth_um.
        interference_um: the most that there can be.
        shaft_c: temperature of the shaft, °C.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("interference", interference_um, 0, unit="um")
    growth = growth_um(bore_mm, rise_k, alpha_per_k)
    figures = (
        Figure("growth", growth, "um"),
        Figure("clears_by", growth - interference_um, "um"),
        Figure("expansion_coefficient", alpha_per_k, "per K"),
    )
    clears = "clears" if growth > interference_um else "does not clear"
    notes = [f"at this rise the part {clears} the interference", *_too_hot(shaft_c + rise_k)]
    return Worked(METHOD, figures, tuple(notes))


def _too_hot(warm_c: float) -> list[str]:
    if warm_c <= HOTTEST_C:
        return []
    return [
        f"{warm_c:.0f} degC is above {HOTTEST_C:.0f}: a bearing must not be fitted by heating alone; ask "
        f"its maker"
    ]
