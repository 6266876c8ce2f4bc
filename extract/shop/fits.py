"""Limits and fits by ISO 286: a hole H, or a bearing bore, on a shaft (data in ``fits.yaml``)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.method import Figure, Method, Source, Worked
from shared.data_files import read_data
from shared.errors import CalculationOutOfRange, SettingError

METHOD = Method(
    name="fit",
    title="ISO 286 fit",
    formula="limits = size + deviations; clearance from hole least - shaft most to hole most - shaft least; "
    "i = 0.45 cbrt(D) + 0.001 D with D the geometric mean of the range, not the size; IT5 7i, IT6 10i, IT7 "
    "16i, IT8 25i",
    valid="sizes above 1 to 250 mm; holes H5 to H8; shafts f g h js m n p in grades 5 to 8, k in 5 to 7",
    sources=(
        Source("IS 919-1:1993 = ISO 286-1:1988, formula and table, 18 to 80 mm", "C+R"),
        Source("JIS B 0401:1999 limits (as ISO 286-2), k6 m6 h6 H7, 30 to 80 mm", "C+R"),
        Source("other ranges and letters: reprinted tables that agree with each other", "R2"),
    ),
)
_SHAFT = re.compile(r"(?P<letter>js|[fghkmnp])(?P<grade>[5-8])")
_HOLE = re.compile(r"H(?P<grade>[5-8])")
_FACTOR = {"5": 7, "6": 10, "7": 16, "8": 25}


@dataclass(frozen=True)
class Zone:
    """Deviations from the size, micrometres."""

    upper_um: Fraction
    lower_um: Fraction


@cache
def _tables() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("fits.yaml"))
    return data


def _range_of(size_mm: Fraction) -> int:
    steps = _tables()["steps_mm"]
    for n in range(len(steps) - 1):
        if steps[n] < size_mm <= steps[n + 1]:
            return n
    raise CalculationOutOfRange(
        f"size {float(size_mm):g} mm", expected=f"above {steps[0]} and up to {steps[-1]} mm"
    )


def standard_tolerance_um(size_mm: Fraction, grade: str) -> int:
    """Return IT of a grade for a size.

    Raises:
        CalculationOutOfRange: a size or grade outside the table.

    Source: ``fits.yaml``.
    """
    row = _tables()["tolerance_um"].get(grade)
    if row is None:
        raise CalculationOutOfRange(f"tolerance grade IT{grade}", expected="IT5 to IT8")
    return int(row[_range_of(size_mm)])


def tolerance_by_formula_um(size_mm: Fraction, grade: str) -> float:
    """Return IT by its formula, not rounded; the table rounds it.

    Raises:
        CalculationOutOfRange: as standard_tolerance_um.

    Source: IS 919-1:1993; D is the geometric mean of the range's ends, never the size itself.
    """
    steps, n = _tables()["steps_mm"], _range_of(size_mm)
    if grade not in _FACTOR:
        raise CalculationOutOfRange(f"tolerance grade IT{grade}", expected="IT5 to IT8")
    mean = (steps[n] * steps[n + 1]) ** 0.5
    unit = 0.45 * mean ** (1 / 3) + 0.001 * mean
    return float(_FACTOR[grade] * unit)


def shaft_zone(size_mm: Fraction, zone: str) -> Zone:
    """Return the deviations of a shaft such as ``k6``.

    Raises:
        SettingError: not a zone that is here.
        CalculationOutOfRange: a size outside the table.
    """
    match = _SHAFT.fullmatch(zone)
    if match is None or (match["letter"] == "k" and match["grade"] == "8"):
        raise SettingError(
            f"no shaft {zone!r} here", expected="f g h js k m n p with 5 to 8 (k to 7), such as k6"
        )
    width = standard_tolerance_um(size_mm, match["grade"])
    if match["letter"] == "js":
        return Zone(Fraction(width, 2), Fraction(-width, 2))
    n = _range_of(size_mm)
    if match["letter"] in _tables()["upper_um"]:
        upper = Fraction(_tables()["upper_um"][match["letter"]][n])
        return Zone(upper, upper - width)
    lower = Fraction(_tables()["lower_um"][match["letter"]][n])
    return Zone(lower + width, lower)


def hole_zone(size_mm: Fraction, zone: str) -> Zone:
    """Return the deviations of a hole such as ``H7``.

    Raises:
        SettingError: not H.
        CalculationOutOfRange: a size outside the table.
    """
    match = _HOLE.fullmatch(zone)
    if match is None:
        raise SettingError(
            f"no hole {zone!r} here", expected="H5 to H8, or a bearing's bore with its tolerance"
        )
    return Zone(Fraction(standard_tolerance_um(size_mm, match["grade"])), Fraction(0))


def bearing_bore(tolerance_um: Fraction) -> Zone:
    """Return the deviations of a bearing's bore: nothing above the size, ``tolerance_um`` below it.

    Raises:
        CalculationOutOfRange: a tolerance that is not positive.
    """
    if tolerance_um <= 0:
        raise CalculationOutOfRange(
            f"bore tolerance {float(tolerance_um):g} um", expected="above 0, such as 12 for 50 mm"
        )
    return Zone(Fraction(0), -tolerance_um)


def fit_of(size_mm: Fraction, hole: Zone, shaft: Zone) -> Worked:
    """Work out the limits of both parts and what clearance or interference they can meet with.

    Args:
        size_mm: nominal size.

    Source: METHOD.
    """
    loosest, tightest = hole.upper_um - shaft.lower_um, hole.lower_um - shaft.upper_um
    figures = (
        Figure("hole_most", float(size_mm + hole.upper_um / 1000), "mm"),
        Figure("hole_least", float(size_mm + hole.lower_um / 1000), "mm"),
        Figure("shaft_most", float(size_mm + shaft.upper_um / 1000), "mm"),
        Figure("shaft_least", float(size_mm + shaft.lower_um / 1000), "mm"),
        Figure("clearance_most", float(loosest), "um"),
        Figure("clearance_least", float(tightest), "um"),
        Figure("interference_least", float(max(Fraction(0), -loosest)), "um"),
        Figure("interference_most", float(max(Fraction(0), -tightest)), "um"),
    )
    kind = "clearance" if tightest >= 0 else "interference" if loosest <= 0 else "transition"
    return Worked(
        METHOD, figures, (f"{kind} fit; a negative clearance is an interference", "sizes hold at 20 degC")
    )
