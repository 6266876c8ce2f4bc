"""``witnessmark calc`` for seals: air-test, seal, light-bands, causes."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import click

from api.commands.calc.calculation import LENGTH, NUMBER, AmountType, calculation, json_flag
from api.worked_text import ADVISES, method_help, method_json
from extract.shop import air_test as air
from extract.shop import causes as wear
from extract.shop import light_bands as bands_of
from extract.shop import seal_load
from extract.shop.amounts import Amount
from extract.shop.method import Worked

_PRESSURE = AmountType("pressure")


@calculation(air.METHOD)
@click.option("--volume", type=AmountType("volume"), required=True, help="That is under pressure.")
@click.option("--pressure", type=_PRESSURE, required=True, help="Test pressure, gauge.")
@click.option("--drop", type=_PRESSURE, required=True, help="Pressure lost.")
@click.option("--time", type=AmountType("time"), required=True, help="How long.")
def air_test(volume: Amount, pressure: Amount, drop: Amount, time: Amount) -> Worked:
    """Air test."""
    given = (volume.to("L"), pressure.to("kPa"), drop.to("kPa"), time.to("min"))
    return air.air_test(*(float(value) for value in given))


@calculation(seal_load.METHOD)
@click.option("--outer", type=LENGTH, required=True, help="Outer diameter of the face.")
@click.option("--inner", type=LENGTH, required=True, help="Inner diameter of the face.")
@click.option("--balance", type=LENGTH, required=True, help="Balance diameter.")
@click.option(
    "--pressure", type=_PRESSURE, required=True, help="Difference across the seal, outside the face."
)
@click.option("--spring", type=AmountType("force"), required=True, help="Spring force.")
@click.option("--speed", type=AmountType("speed"), required=True, help="Of the shaft.")
@click.option("--gradient", type=NUMBER, default="0.5", show_default=True, help="Pressure gradient factor k.")
def seal(
    outer: Amount,
    inner: Amount,
    balance: Amount,
    pressure: Amount,
    spring: Amount,
    speed: Amount,
    gradient: Fraction,
) -> Worked:
    """Seal balance."""
    face = seal_load.Face(*(float(length.to("mm")) for length in (outer, inner, balance)))
    loads = (float(pressure.to("MPa")), float(spring.to("N")), float(speed.to("rpm")))
    return seal_load.seal_load(face, *loads, float(gradient))


@calculation(bands_of.METHOD)
@click.argument("bands", type=NUMBER)
def light_bands(bands: Fraction) -> Worked:
    """BANDS counted across a straight line."""
    return bands_of.flatness_of_bands(float(bands))


@click.argument("evidence", required=False)
def show_causes(evidence: str | None, as_json: bool) -> None:
    """EVIDENCE is a name out of the table or a condition of the record; without it all is shown."""
    found = wear.evidence_named(evidence) if evidence else wear.all_evidence()
    if as_json:
        rows = [_row(each) for each in found]
        shown = {"calculation": "causes", "evidence": rows, **method_json(wear.METHOD), "advises": ADVISES}
        click.echo(json.dumps(shown, indent=2, ensure_ascii=False))
        return
    for each in found:
        click.echo(f"{each.looks}  [{each.id}]")
        for cause in each.causes:
            click.echo(f"  ? {cause.cause}; {cause.source}")
        if each.disputed:
            click.echo(f"  ! {each.disputed}")
    click.echo(f"Candidates to look into, never a verdict.\n{ADVISES}")


causes = click.command("causes", help=method_help(wear.METHOD, show_causes.__doc__ or ""))(show_causes)
causes.params.append(json_flag())


def _row(evidence: wear.WearEvidence) -> dict[str, Any]:
    return {
        "id": evidence.id,
        "looks": evidence.looks,
        "conditions": list(evidence.conditions),
        "where": list(evidence.where),
        "causes": [
            {"cause": cause.cause, "source": cause.source.text, "flag": cause.source.flag}
            for cause in evidence.causes
        ],
        "disputed": evidence.disputed,
    }
