"""``witnessmark calc`` for fits and rotors: fit, heat, balance."""

from __future__ import annotations

import re
from fractions import Fraction

import click

from api.commands.calc.calculation import LENGTH, NUMBER, AmountType, calculation, only_one
from extract.shop import balance as balancing
from extract.shop import fits, heating
from extract.shop.amounts import Amount, parse_number
from extract.shop.method import Worked
from shared.errors import SettingError

_FIT = re.compile(
    r"(?P<size>\d{1,4}(?:\.\d{1,6})?)\s*(?:mm\s*)?(?:(?P<hole>[A-Z]+\d+)\s*/\s*)?(?P<shaft>[a-z]+\d+)"
)


@calculation(fits.METHOD)
@click.argument("designation", metavar="FIT")
@click.option(
    "--bearing", type=LENGTH, help="Tolerance of a bearing's bore instead of a hole: 12um is 0 to -12."
)
def fit(designation: str, bearing: Amount | None) -> Worked:
    """FIT is a size in millimetres with hole and shaft: 50H7/k6; with --bearing the shaft only: 50k6."""
    match = _FIT.fullmatch(designation.strip())
    if match is None or (match["hole"] is None) == (bearing is None):
        raise SettingError(
            f"{designation!r} is no fit", expected="such as 50H7/k6, or 50k6 with --bearing 12um"
        )
    size = parse_number(match["size"])
    hole = fits.hole_zone(size, match["hole"]) if bearing is None else fits.bearing_bore(bearing.to("um"))
    return fits.fit_of(size, hole, fits.shaft_zone(size, match["shaft"]))


@calculation(heating.METHOD)
@click.option("--bore", type=LENGTH, required=True, help="Nominal bore.")
@click.option("--interference", type=LENGTH, required=True, help="The most that there can be.")
@click.option(
    "--rise", type=AmountType("temperature difference"), help="What does this rise clear? Or --clearance."
)
@click.option("--clearance", type=LENGTH, help="Wanted while fitting: how warm has it to be?")
@click.option(
    "--shaft", type=AmountType("temperature"), default="20degC", show_default=True, help="Of the shaft."
)
@click.option(
    "--alpha", type=NUMBER, default="12e-6", show_default=True, help="Expansion coefficient, per K."
)
def heat(
    bore: Amount,
    interference: Amount,
    rise: Amount | None,
    clearance: Amount | None,
    shaft: Amount,
    alpha: Fraction,
) -> Worked:
    """Heating for a fit."""
    size, tight = float(bore.to("mm")), float(interference.to("um"))
    only_one(rise=rise, clearance=clearance)
    warm = float(shaft.to("degC"))
    if rise is not None:
        return heating.growth_of(size, float(rise.to("K")), tight, float(alpha), warm)
    assert clearance is not None
    return heating.heating_for(size, tight, float(clearance.to("um")), warm, float(alpha))


@calculation(balancing.METHOD)
@click.option("--mass", type=AmountType("mass"), required=True, help="Of the rotor.")
@click.option("--speed", type=AmountType("speed"), required=True, help="Highest in service.")
@click.option("--grade", type=NUMBER, required=True, help="Balance grade G, such as 6.3.")
def balance(mass: Amount, speed: Amount, grade: Fraction) -> Worked:
    """Permissible unbalance."""
    return balancing.residual_unbalance(float(mass.to("kg")), float(speed.to("rpm")), float(grade))
