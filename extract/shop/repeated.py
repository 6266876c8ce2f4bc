"""Repeated readings of one thing: mean, scatter, and what they leave uncertain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from extract.shop.method import Figure, Method, Source, Worked, require
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="repeated",
    title="Repeated readings",
    formula="s = sqrt(sum (x - mean)^2 / (n - 1)); u = s / sqrt(n); U95 = t(n - 1) u",
    valid="2 to 10,000 independent readings of one thing",
    sources=(
        Source("JCGM 100:2008 4.4.3 (data read in a secondary text)", "C+R2"),
        Source("NIST StRD Michelso; Student's t in closed form", "C"),
    ),
)


def student_probability(t: float, freedom: int) -> float:
    """Return the probability that Student's t lies within -t to t.

    Args:
        t: at least 0.
        freedom: degrees of freedom, at least 1.

    Source: closed series for whole degrees of freedom (Abramowitz and Stegun 26.7.3, 26.7.4, from memory;
    compared with a table).
    """
    theta = math.atan2(t, math.sqrt(freedom))
    cosine = math.cos(theta)
    if freedom % 2:
        term, total = cosine, cosine if freedom > 1 else 0.0
        for n in range(3, freedom - 1, 2):
            term *= (n - 1) / n * cosine * cosine
            total += term
        return 2 / math.pi * (theta + math.sin(theta) * total)
    term, total = 1.0, 1.0
    for n in range(2, freedom - 1, 2):
        term *= (n - 1) / n * cosine * cosine
        total += term
    return math.sin(theta) * total


def student_quantile(probability: float, freedom: int) -> float:
    """Return the t within which ``probability`` lies, two-sided.

    Args:
        probability: above 0.01, at most 0.9999.
        freedom: 1 to 10,000.

    Raises:
        CalculationOutOfRange: outside these.
    """
    require("probability", probability, 0.01, 0.9999)
    require("degrees of freedom", freedom, 1, 10_000)
    low, high = 0.0, 10_000.0
    for _ in range(200):
        middle = (low + high) / 2
        if student_probability(middle, freedom) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def repeated_readings(values: Sequence[Fraction], unit: str) -> Worked:
    """Work out mean, standard deviation and the uncertainty of the mean.

    Args:
        values: 2 to 10,000, in ``unit``.

    Raises:
        CalculationOutOfRange: fewer or more.

    Source: METHOD. The squares are summed exactly, so that equal leading digits cost nothing.
    """
    count = len(values)
    if not 2 <= count <= 10_000:
        raise CalculationOutOfRange(f"{count} readings", expected="2 to 10000")
    mean = sum(values, Fraction(0)) / count
    variance = sum(((value - mean) ** 2 for value in values), Fraction(0)) / (count - 1)
    deviation = math.sqrt(variance)
    of_mean = deviation / math.sqrt(count)
    t = student_quantile(0.95, count - 1)
    figures = (
        Figure("readings", count),
        Figure("mean", float(mean), unit),
        Figure("standard_deviation", deviation, unit),
        Figure("uncertainty_of_mean", of_mean, unit),
        Figure("t_95", t),
        Figure("expanded_95", t * of_mean, unit),
    )
    return Worked(METHOD, figures, ("scatter only: what the gauge is off by is not in it",))
