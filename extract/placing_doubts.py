"""Values whose size nobody said: a point placed by guess, a figure so short that it may be a count."""

from __future__ import annotations

from fractions import Fraction

from extract.conformity import judge
from extract.placings import POINT_PLACED, Item, Span, placings
from extract.search_states import Filed
from extract.spoken_units import UnitName
from shared.job_sheet import JobSheet

#: Kinds whose values are said as they are.
_SAID_WHOLE = frozenset({"temperature", "speed", "torque", "time"})
#: A place of the point leads another by at least so much cost.
_LEADS = 0.5


def pointed_otherwise(filed: Filed, item: Item, sheet: JobSheet, carried: UnitName | None) -> list[Fraction]:
    """Return what else a value may be whose point nobody said ("vibration sixty eight": 0.68 or 6.8).

    Within two limits it is placed: without a lower one every value that is small enough is within.
    """
    if filed.placing.how != POINT_PLACED:
        return []
    if item.measured_kind in _SAID_WHOLE and filed.quantity.value is not None:
        # Nobody says "one forty" for fourteen degrees.
        return [filed.quantity.value]
    if item.lower and judge(filed.placing.value, item) == "within":
        return []
    return [
        p.value
        for p in placings(filed.quantity, item, sheet, carried)
        if p.plausible and p.how == POINT_PLACED and 0 < p.cost - filed.placing.cost < _LEADS
    ]


def small_and_far(filed: Filed, span: Span) -> bool:
    """Whether a single small figure makes a value well outside the limits: more likely a count or a name."""
    quantity = filed.quantity
    if quantity.unit is not None or quantity.value is None or not 0 < quantity.value < 10:
        return False
    if quantity.end - quantity.start != 1 or quantity.value.denominator != 1:
        return False
    value = float(filed.placing.value)
    below = span.lower is not None and span.lower > 0 and value < span.lower / 1.5
    return below or (span.upper is not None and value > span.upper * 1.5)
