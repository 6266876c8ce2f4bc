"""What a spoken quantity can be worth for one item of the sheet: unit, decimal point, plausibility.

"Thirty one" on a clearance of thirty thousandths is 0.031 in and nothing else, because 31 in is
implausible; "forty two" on one of 0.48 mm may be 0.42. All placings are offered with a cost; one
outside the plausible span is offered at a price that only a question pays.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from extract.numbers import with_point_placed
from extract.quantity_arcs import Quantity
from extract.spoken_units import UnitName
from shared.job_sheet import JobSheet
from shared.sheet_entries import Fastener, Reading
from shared.units import KIND_OF_UNIT, convert, decimal_text, same_kind

Item = Reading | Fastener

#: Cost of a value that the sheet calls implausible.
IMPLAUSIBLE = 3.0
#: Cost of a value far from the limits of an item that names no plausible span.
UNLIKELY = 1.6
#: How a value was placed whose point nobody said.
POINT_PLACED = "point placed by what is plausible"
#: A plausible span whose ends differ by no more than this share leaves the point of a number of so many
#: figures one place, hardly by chance.
_NARROW, _NARROW_COST, _WHOLE_SIZE = 1.2, 0.2, 4
_THOU = UnitName("in", Fraction(1, 1000), "thou", 0.0)
_HUNDREDTHS = UnitName("mm", Fraction(1, 100), "hundredths", 0.0)
_MICRONS = UnitName("um", Fraction(1), "um", 0.0)
_MILLIMETRES = UnitName("mm", Fraction(1), "mm", 0.0)
#: "A sixteenth" on an inch item is of an inch.
_INCH_PARTS = frozenset({8, 16, 32, 64})
_TENTHS_OF_A_THOU = UnitName("in", Fraction(1, 10_000), "tenths", 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Placing:
    """One value, in the item's unit; compared by identity."""

    value: Fraction
    said_unit: str | None
    cost: float
    how: str
    """How it was placed, for the evidence."""
    plausible: bool
    carried: UnitName | None = None
    """The spoken unit, for the values that follow without one."""


@dataclass(frozen=True, slots=True)
class Span:
    """What an item's values may be, in its unit; doubles, since nothing is judged by it."""

    lower: float | None
    upper: float | None
    least: float | None
    most: float | None
    stated: bool
    """Whether the sheet names a plausible span."""
    tolerance: float
    """So little outside a bound is on it: doubles stand for fractions here."""


def span_of(item: Item) -> Span:
    """Return an item's limits and plausible span."""
    return _span(item.item, item.lower, item.upper, item.nominal, item.plausible)


@lru_cache(maxsize=4096)
def _span(
    name: str, lower: object, upper: object, nominal: object, plausible: tuple[object, object] | None
) -> Span:
    def real(value: object) -> float | None:
        return None if value is None else float(str(value))

    low, high, middle = real(lower), real(upper), real(nominal)
    known = [value for value in (low, middle, high) if value is not None]
    reach = max((abs(value) for value in known), default=0.0)
    if plausible is not None:
        least, most = float(str(plausible[0])), float(str(plausible[1]))
        return Span(low, high, least, most, True, 1e-9 * max(abs(least), abs(most), reach))
    if not known:
        return Span(low, high, None, None, False, 0.0)
    bottom = low / 4 if low is not None and low > 0 else (low * 3 if low is not None and low < 0 else 0.0)
    return Span(low, high, bottom, reach * 3, False, 1e-9 * reach)


def placings(
    quantity: Quantity, item: Item, sheet: JobSheet, carried: UnitName | None = None
) -> list[Placing]:
    """Return what a quantity may be worth for an item, the cheapest first; empty where units differ.

    Args:
        carried: the spoken unit of the value before, which a bare number goes on with.
    """
    if quantity.value is None:
        return []
    found = _said(quantity, item) if quantity.unit is not None else _bare(quantity, item, sheet, carried)
    span = span_of(item)
    best: dict[float, Placing] = {}
    figures = len(decimal_text(abs(quantity.value)).replace(".", ""))
    for value, unit, cost, how in found:
        real = float(value)
        placed = _judged(value, real, unit, cost, how, item, span, figures)
        known = best.get(real)
        if known is None or placed.cost < known.cost:
            best[real] = placed
    return sorted(best.values(), key=lambda p: p.cost)[:4]


_Offer = tuple[Fraction, UnitName | None, float, str]


def _said(quantity: Quantity, item: Item) -> list[_Offer]:
    """Offer the values of a number with its unit."""
    unit, value = quantity.unit, quantity.value
    assert unit is not None
    assert value is not None
    if unit.foreign:
        return []
    kind = item.measured_kind
    if unit.unit is None:
        return _open_unit(value, unit, item, kind)
    if unit.said == "tenths" and item.unit != "in":
        return []
    if not same_kind(unit.unit, item.unit):
        return []
    # A cost on a unit is the doubt between its readings; where the item's own is among them there is none.
    cost = 0.0 if unit.unit == item.unit else unit.cost
    offers: list[_Offer] = [
        (convert(value * unit.factor, unit.unit, item.unit), unit, cost, f"unit said: {unit.said}")
    ]
    return offers


def _open_unit(value: Fraction, unit: UnitName, item: Item, kind: str | None) -> list[_Offer]:
    if unit.said == "degrees" and kind == "temperature":
        return [(value, UnitName(item.unit, Fraction(1), "degrees", 0.0), 0.0, "degrees of the item's scale")]
    if unit.said == "pounds" and kind == "torque":
        meant = item.unit if item.unit in ("ft_lb", "in_lb") else "ft_lb"
        return [
            (
                convert(value, meant, item.unit),
                UnitName(meant, Fraction(1), "pounds", 0.0),
                0.1,
                "pounds on a torque",
            )
        ]
    if unit.said == "pounds" and kind == "pressure":
        return [
            (
                convert(value, "psi", item.unit),
                UnitName("psi", Fraction(1), "pounds", 0.0),
                0.1,
                "pounds on a pressure",
            )
        ]
    return []


def _bare(quantity: Quantity, item: Item, sheet: JobSheet, carried: UnitName | None) -> list[_Offer]:
    """Offer the values of a number without a unit."""
    value, number = quantity.value, quantity.number
    assert value is not None
    offers: list[_Offer] = []
    whole = value.denominator == 1
    if (
        number.scale in ("thousandths", "hundredths", "tenths", "ten_thousandths")
        and item.measured_kind == "length"
    ):
        return _scaled(value, number.scale, item)
    written_out = number.style == "decimal" and (
        number.places >= 3 or (number.places == 2 and value < Fraction(1, 10))
    )
    if carried is not None and carried.said == "tenths" and value.denominator != 1:
        # Nobody counts tenths of a thou in quarters.
        carried = None
    if carried is not None and carried.factor < 1 and value.denominator in _INCH_PARTS:
        # "A sixteenth" behind thou is of an inch.
        carried = carried if number.style not in ("fraction", "mixed") else None
    small = carried is not None and (carried.factor < 1 or carried.unit != item.unit)
    if small and number.style == "decimal" and value < 1 and is_plausible(float(value), span_of(item)):
        # "point three four" behind hundredths is written out in full.
        written_out = True
    if (
        carried is not None
        and carried.unit is not None
        and same_kind(carried.unit, item.unit)
        and not (small and written_out)
    ):
        offers.append(
            (
                convert(value * carried.factor, carried.unit, item.unit),
                carried,
                0.05,
                f"unit carried on: {carried.said}",
            )
        )
    own = UnitName(item.unit, Fraction(1), item.unit, 0.0)
    offers.append((value, None, 0.0 if carried is None else 0.3, f"bare number: {item.unit}"))
    if item.measured_kind == "length":
        offers += _small_lengths(value, item, whole, written_out)
    kind = item.measured_kind
    usual = getattr(sheet.units, kind) if kind is not None else None
    if usual is not None and usual != item.unit and same_kind(usual, item.unit) and kind != "length":
        offers.append(
            (
                convert(value, usual, item.unit),
                UnitName(usual, Fraction(1), usual, 0.0),
                0.9,
                f"bare number: {usual}",
            )
        )
    pointed = () if number.style in ("fraction", "mixed") else with_point_placed(number)
    for placed in pointed:
        if placed.value != value:
            offers.append(
                (
                    placed.value,
                    own if whole else None,
                    0.3 + placed.cost - number.cost,
                    POINT_PLACED,
                )
            )
    return [(v, None if u is own else u, c, h) for v, u, c, h in offers]


def _scaled(value: Fraction, scale: str, item: Item) -> list[_Offer]:
    """Offer "two tenths", "forty eight hundredths", "thirty one thousandths" without a unit."""
    inch = UnitName("in", Fraction(1), scale, 0.0)
    metric = UnitName("mm", Fraction(1), scale, 0.0)
    parts = {"tenths": 10, "hundredths": 100, "thousandths": 1000, "ten_thousandths": 10_000}[scale]
    carried = UnitName("in" if item.unit == "in" else "mm", Fraction(1, parts), scale, 0.0)
    offers: list[_Offer] = []
    if item.unit == "in":
        if scale == "tenths":
            offers.append((value / 1000, _TENTHS_OF_A_THOU, 0.0, "tenths of a thou"))
            offers.append((value, inch, 0.8, "tenths of an inch"))
        else:
            offers.append((value, carried, 0.0, f"{scale} of an inch"))
        return offers
    offers.append((convert(value, "mm", item.unit), carried, 0.0, f"{scale} of a millimetre"))
    if scale in ("thousandths", "ten_thousandths"):
        offers.append((convert(value, "in", item.unit), inch, 0.9, f"{scale} of an inch"))
    return [(v, metric if u is None else u, c, h) for v, u, c, h in offers]


def _small_lengths(value: Fraction, item: Item, whole: bool, many_places: bool) -> list[_Offer]:
    offers: list[_Offer] = []
    if item.unit == "in" and not many_places and not (value < 1 and value.denominator in _INCH_PARTS):
        offers.append((value / 1000, _THOU, 0.15, "bare number on an inch item: thou"))
    if item.unit == "mm" and whole:
        offers.append((value / 100, _HUNDREDTHS, 1.1, "bare number on a millimetre item: hundredths"))
        offers.append((value / 1000, _MICRONS, 1.1, "bare number on a millimetre item: microns"))
    if item.unit == "um" and not whole:
        offers.append((value * 1000, _MILLIMETRES, 0.9, "bare number on a micron item: millimetres"))
    return offers


def _judged(
    value: Fraction,
    real: float,
    unit: UnitName | None,
    cost: float,
    how: str,
    item: Item,
    span: Span,
    figures: int,
) -> Placing:
    plausible = is_plausible(real, span) and not (item.measured_kind == "count" and value.denominator != 1)
    if not plausible:
        negative = real < 0 and span.lower is not None and span.lower >= 0
        cost += IMPLAUSIBLE if span.stated or negative else UNLIKELY
    elif how == POINT_PLACED and figures >= _WHOLE_SIZE and _is_narrow(span):
        cost = min(cost, _NARROW_COST)
    cost += _distance(real, span)
    said = unit.unit if unit is not None else None
    return Placing(value, said, cost, how, plausible, unit)


def _is_narrow(span: Span) -> bool:
    """Whether the sheet knows a value before it is measured, but for its last figures."""
    return (
        span.stated
        and span.least is not None
        and span.most is not None
        and 0 < span.most <= span.least * _NARROW
    )


def is_plausible(value: float, span: Span) -> bool:
    """Tell whether a value lies inside the plausible span, stated or worked out from the limits."""
    above = span.least is None or value >= span.least - span.tolerance
    return above and (span.most is None or value <= span.most + span.tolerance)


def _distance(value: float, span: Span) -> float:
    """Return a small cost for lying outside the limits, the more the further, 0 to 1."""
    low, high, slack = span.lower, span.upper, span.tolerance
    if (low is None or value >= low - slack) and (high is None or value <= high + slack):
        return 0.0
    reference = high if high is not None and value > high else low
    if not reference:
        return 0.4
    width = high - low if high is not None and low is not None and high > low else abs(reference)
    return min(1.0, 0.1 + 0.15 * abs(value - reference) / width)


def kind_of_quantity(quantity: Quantity) -> str | None:
    """Return what kind of thing a quantity's unit measures, None where it has none or an open one."""
    if quantity.unit is None or quantity.unit.unit is None:
        return None
    return KIND_OF_UNIT[quantity.unit.unit]
