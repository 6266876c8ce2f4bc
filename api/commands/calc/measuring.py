"""``witnessmark calc`` for measuring: convert, conformity, repeated."""

from __future__ import annotations

import click

from api.commands.calc.calculation import calculation
from extract.shop import conversion, probability
from extract.shop import repeated as repetition
from extract.shop.amounts import SHOP_UNITS, parse_amount, parse_number, unit_named
from extract.shop.method import Worked


@calculation(conversion.METHOD)
@click.argument("amount")
@click.argument("unit")
def convert(amount: str, unit: str) -> Worked:
    """AMOUNT with its unit, and the UNIT that is wanted."""
    return conversion.convert_amount(parse_amount(amount), unit)


@calculation(probability.METHOD)
@click.option("--value", required=True, help="Measured, with its unit.")
@click.option("--lower", help="Least allowed, with its unit.")
@click.option("--upper", help="Most allowed, with its unit.")
@click.option("--uncertainty", required=True, help="Expanded, k = 2, with its unit.")
def conformity(value: str, lower: str | None, upper: str | None, uncertainty: str) -> Worked:
    """Verdict with its probability."""
    measured = parse_amount(value)
    kind = SHOP_UNITS[measured.unit][0]
    # The uncertainty of a temperature is a difference: 5 °F of it are 2.8 K, not -15 °C.
    unit, spread = ("degC", "temperature difference") if kind == "temperature" else (measured.unit, kind)
    low, high = (None if limit is None else parse_amount(limit, kind).to(unit) for limit in (lower, upper))
    doubt = parse_amount(uncertainty, spread).to("K" if kind == "temperature" else unit)
    return probability.conformity_of(measured.to(unit), low, high, doubt, unit)


@calculation(repetition.METHOD)
@click.argument("readings", nargs=-1, required=True)
@click.option("--unit", required=True, help="Unit of the readings.")
def repeated(readings: tuple[str, ...], unit: str) -> Worked:
    """READINGS of one thing."""
    return repetition.repeated_readings([parse_number(text) for text in readings], unit_named(unit))
