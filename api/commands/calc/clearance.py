"""``witnessmark calc`` for clearances: tilt, shims, runout, wear-ring."""

from __future__ import annotations

import re
from fractions import Fraction

import click

from api.commands.calc.calculation import LENGTH, NUMBER, UnitType, calculation, only_one, together
from extract.shop import runout as runout_of
from extract.shop import shims as shim_packs
from extract.shop import tilt as tilt_of
from extract.shop import wear_ring as ring
from extract.shop.amounts import Amount, parse_number
from extract.shop.method import Worked
from shared.errors import SettingError

_LENGTH_UNIT = UnitType("length")
_SEVERAL = re.compile(r"(?:(?P<count>\d{1,2})\s*[x×]\s*)?(?P<length>\S.*)")


@calculation(tilt_of.METHOD)
@click.argument("readings", nargs=-1, required=True)
@click.option("--unit", type=_LENGTH_UNIT, required=True, help="Unit of the readings.")
@click.option("--radius", type=LENGTH, help="Where they were taken, from the axis.")
@click.option("--uncertainty", type=LENGTH, help="Of one reading, expanded, k = 2.")
def tilt(readings: tuple[str, ...], unit: str, radius: Amount | None, uncertainty: Amount | None) -> Worked:
    """READINGS in order round the circle, equally spaced; "none" for a place without one."""
    values = [None if text in ("-", "none") else parse_number(text) for text in readings]
    return tilt_of.clearance_round(
        values,
        unit,
        radius=None if radius is None else radius.to(unit),
        uncertainty=None if uncertainty is None else uncertainty.to(unit),
    )


@calculation(shim_packs.METHOD)
@click.option("--have", required=True, help="Shims on hand, parted by commas: 0.002, 2x0.005, 0.010.")
@click.option("--unit", type=_LENGTH_UNIT, required=True, help="Unit of all numbers here.")
@click.option("--wanted", type=NUMBER, help="Pack to make up; or --pack, --mean, --nominal and --thicker.")
@click.option("--pack", type=NUMBER, help="Pack that is in.")
@click.option("--mean", type=NUMBER, help="Mean clearance measured with it.")
@click.option("--nominal", type=NUMBER, help="Clearance wanted.")
@click.option(
    "--thicker", type=click.Choice(["opens", "closes"]), help="What a thicker pack does to the clearance."
)
def shims(
    have: str,
    unit: str,
    wanted: Fraction | None,
    pack: Fraction | None,
    mean: Fraction | None,
    nominal: Fraction | None,
    thicker: str | None,
) -> Worked:
    """Choose shims."""
    if together(pack=pack, mean=mean, nominal=nominal, thicker=thicker):
        assert pack is not None
        assert mean is not None
        assert nominal is not None
        worked_out = shim_packs.pack_wanted(pack, mean, nominal, more_opens=thicker == "opens")
    else:
        worked_out = None
    only_one(wanted=wanted, pack=worked_out)
    target = wanted if wanted is not None else worked_out
    assert target is not None
    return shim_packs.pack_for(_shims_on_hand(have), target, unit)


def _shims_on_hand(text: str) -> list[Fraction]:
    found: list[Fraction] = []
    for piece in text.split(","):
        match = _SEVERAL.fullmatch(piece.strip())
        if match is None:
            raise SettingError(f"no shim in {piece!r}", where="--have", expected="such as 0.002, 2x0.005")
        found += [parse_number(match["length"])] * int(match["count"] or 1)
    return found


@calculation(runout_of.METHOD)
@click.option("--reading", type=LENGTH, required=True, help="Full indicator reading.")
@click.option("--radius", type=LENGTH, help="Of the surface.")
def runout(reading: Amount, radius: Amount | None) -> Worked:
    """Halve a runout."""
    return runout_of.eccentricity(
        reading.value, reading.unit, None if radius is None else radius.to(reading.unit)
    )


@calculation(ring.METHOD)
@click.option("--diameter", type=LENGTH, required=True, help="Of the rotating ring at the clearance.")
@click.option("--clearance", type=LENGTH, help="Measured, diametral.")
def wear_ring(diameter: Amount, clearance: Amount | None) -> Worked:
    """Compare a ring clearance."""
    return ring.ring_clearance(diameter.to("mm"), None if clearance is None else clearance.to("mm"))
