"""How probable it is that a measured value really lies within its limits, and where to guard."""

from __future__ import annotations

import math
from fractions import Fraction

from extract.conformity import verdict_of
from extract.shop.method import Figure, Method, Source, Worked, require
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="conformity",
    title="Conformity with its probability",
    formula="pc = Phi((upper - y)/u) - Phi((lower - y)/u), u = U/2; verdict: within if lower + U <= y <= "
    "upper - U, "
    "outside if y < lower - U or y > upper + U, else undecided; 95 % one-sided guard 1.645 u",
    valid="Gaussian uncertainty, U expanded with k = 2, nothing known beforehand of the value",
    sources=(
        Source("JCGM 106:2012, clause 7, Gaussian rule (text not seen)", "C"),
        Source("ISO 14253-1 default decision rule", "MEM"),
    ),
)
_GUARD_95 = 1.6448536269514722
_COVERAGE = 2


def conformance_probability(
    value: Fraction, lower: Fraction | None, upper: Fraction | None, standard_uncertainty: Fraction
) -> float:
    """Return the probability that the true value lies within the limits.

    Args:
        value, lower, upper: one unit; None is no limit.
        standard_uncertainty: k = 1, same unit, above 0.

    Raises:
        CalculationOutOfRange: no uncertainty.

    Source: METHOD.
    """
    require("standard uncertainty", float(standard_uncertainty), 0, open_=True)

    def below(limit: Fraction) -> float:
        return 0.5 * math.erfc(-float((limit - value) / standard_uncertainty) / math.sqrt(2))

    return (1.0 if upper is None else below(upper)) - (0.0 if lower is None else below(lower))


def conformity_of(
    value: Fraction, lower: Fraction | None, upper: Fraction | None, uncertainty: Fraction, unit: str
) -> Worked:
    """Work out verdict, probability and acceptance limits.

    Args:
        value, lower, upper: in ``unit``.
        uncertainty: expanded, k = 2, in ``unit``, above 0.

    Raises:
        CalculationOutOfRange: no limit at all, limits the wrong way round, no uncertainty.

    Source: METHOD; the verdict is the record's own (``extract/conformity.py``).
    """
    if lower is None and upper is None:
        raise CalculationOutOfRange("no limit", expected="a lower or an upper limit, or both")
    if lower is not None and upper is not None and lower > upper:
        raise CalculationOutOfRange(
            f"lower {float(lower):g} is above upper {float(upper):g}", expected="lower below upper"
        )
    standard = uncertainty / _COVERAGE
    probability = conformance_probability(value, lower, upper, standard)
    figures = [
        Figure("verdict", verdict_of(value, lower, upper, uncertainty)),
        Figure("probability", probability),
        Figure("standard_uncertainty", float(standard), unit),
    ]
    for name, limit, sign in (("lower", lower, 1), ("upper", upper, -1)):
        if limit is not None:
            figures.append(Figure(f"accept_{name}", float(limit + sign * uncertainty), unit))
            figures.append(
                Figure(f"accept_{name}_95", float(limit) + sign * _GUARD_95 * float(standard), unit)
            )
    note = "the probability advises; the verdict is proof by the limits narrowed and widened by U"
    return Worked(METHOD, tuple(figures), (note,))
