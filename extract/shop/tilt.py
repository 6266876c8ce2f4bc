"""Clearance round the circle: its statistics, and how far one side stands off (first harmonic).

Readings round a circle are fitted with ``mean + a·cos(angle) + b·sin(angle)``. The amplitude is the
tilt (or the offset) of what is measured, the angle of the high point says where it is widest, and what
the fit leaves over is vane-to-vane difference, the gauge and the hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from extract.shop.method import Figure, Method, Source, Worked
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="tilt",
    title="Clearance round the circle: mean, spread, tilt",
    formula="r(angle) = mean + a cos(angle) + b sin(angle), least squares; amplitude = sqrt(a^2 + b^2); "
    "high point = atan2(b, a); tilt = amplitude / radius",
    valid="at least 3 readings that do not all lie on one line through the circle; small tilt",
    sources=(
        Source("least squares and discrete Fourier transform, closed form", "C"),
        Source("sampling theorem: harmonic n-1 of n equal spaces shows as the first", "C"),
    ),
)
_FEW = 4
_SINGULAR = 1e-9


@dataclass(frozen=True)
class Harmonic:
    """The first harmonic of readings round a circle, in their unit."""

    mean: float
    cosine: float
    sine: float
    amplitude: float
    high_point_deg: float
    """0 at the first position, growing in the order of the positions; 0 to 360."""
    residual_rms: float | None
    """Root of the squared residuals over n - 3; None where nothing is left over (three readings)."""
    uncertainty_factor: float
    """Uncertainty of the amplitude for one of the readings: sqrt(2/n) where they are equally spaced."""


def equal_angles_deg(count: int) -> list[float]:
    """Return the angles of ``count`` equally spaced positions, the first at 0."""
    return [360.0 * n / count for n in range(count)]


def first_harmonic(values: Sequence[float], angles_deg: Sequence[float]) -> Harmonic:
    """Fit mean and first harmonic.

    Args:
        values: shape (n,), n >= 3, any one unit.
        angles_deg: shape (n,), degrees.

    Raises:
        CalculationOutOfRange: fewer than three readings, or angles that cannot tell the two parts apart.

    Source: METHOD.
    """
    if len(values) < 3:
        raise CalculationOutOfRange(f"{len(values)} readings round the circle", expected="at least 3")
    angles = np.radians(np.asarray(angles_deg, dtype=float))
    design = np.column_stack([np.ones_like(angles), np.cos(angles), np.sin(angles)])
    if float(np.linalg.svd(design, compute_uv=False)[-1]) < _SINGULAR:
        raise CalculationOutOfRange("too few different places round the circle", expected="at least 3")
    measured = np.asarray(values, dtype=float)
    mean, cosine, sine = (float(c) for c in np.linalg.lstsq(design, measured, rcond=None)[0])
    spread = np.linalg.inv(design.T @ design)[1:, 1:]
    left_over = measured - design @ np.array([mean, cosine, sine])
    freedom = len(values) - 3
    return Harmonic(
        mean=mean,
        cosine=cosine,
        sine=sine,
        amplitude=math.hypot(cosine, sine),
        high_point_deg=math.degrees(math.atan2(sine, cosine)) % 360,
        residual_rms=math.sqrt(float(left_over @ left_over) / freedom) if freedom > 0 else None,
        uncertainty_factor=math.sqrt(float(np.linalg.eigvalsh(spread)[-1])),
    )


def few_points_note(count: int, places: int) -> str:
    """Return the caution for few points; empty where there are enough.

    Args:
        count: readings that there are.
        places: equally spaced places that there could be.
    """
    missing = f"; {places - count} of {places} places have no reading" if count < places else ""
    if count == 3:
        return (
            f"three readings fit any tilt exactly, and an oval looks like one{missing}: measure more places"
        )
    if places <= _FEW or count <= _FEW:
        return f"with four places a three-lobed shape looks like tilt{missing}: measure at eight to be sure"
    return f"the fit stands on {count} readings{missing}" if missing else ""


def clearance_round(
    readings: Sequence[Fraction | None],
    unit: str,
    *,
    angles_deg: Sequence[float] | None = None,
    radius: Fraction | None = None,
    uncertainty: Fraction | None = None,
) -> Worked:
    """Work out the statistics and the tilt of readings round a circle.

    Args:
        readings: in the order of the places, all in ``unit``; None where there is no reading.
        unit: of readings, radius and uncertainty.
        angles_deg: of the places; None where they are equally spaced.
        radius: where the readings were taken, from the axis; None leaves the angle of tilt out.
        uncertainty: expanded, k = 2, of one reading.

    Raises:
        CalculationOutOfRange: fewer than three readings, or a radius that is not positive.

    Source: METHOD.
    """
    if radius is not None and radius <= 0:
        raise CalculationOutOfRange(f"radius {float(radius):g} {unit}", expected="above 0")
    angles = equal_angles_deg(len(readings)) if angles_deg is None else angles_deg
    known = [(value, angle) for value, angle in zip(readings, angles, strict=True) if value is not None]
    values = [value for value, _ in known]
    fit = first_harmonic([float(v) for v in values], [angle for _, angle in known])
    figures = [
        Figure("readings", len(values)),
        Figure("mean", float(sum(values, Fraction(0)) / len(values)), unit),
        Figure("least", float(min(values)), unit),
        Figure("most", float(max(values)), unit),
        Figure("spread", float(max(values) - min(values)), unit),
        Figure("tilt_amplitude", fit.amplitude, unit),
        Figure("side_to_side", 2 * fit.amplitude, unit),
        Figure("high_point", fit.high_point_deg, "deg"),
        Figure("left_over_rms", fit.residual_rms, unit),
    ]
    if radius is not None:
        figures.append(Figure("tilt_angle", 1000 * fit.amplitude / float(radius), "mrad"))
        figures.append(Figure("tilt_angle_degrees", math.degrees(fit.amplitude / float(radius)), "deg"))
    notes = ["angles count from the first place in the order of the places"]
    notes += [note] if (note := few_points_note(len(values), len(readings))) else []
    if uncertainty is not None:
        expanded = float(uncertainty) * fit.uncertainty_factor
        figures.append(Figure("tilt_amplitude_uncertainty", expanded, unit))
        if fit.amplitude <= expanded:
            notes.append("the tilt is no larger than what the gauge cannot tell (k = 2)")
    return Worked(METHOD, tuple(figures), tuple(notes))
