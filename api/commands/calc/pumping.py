"""``witnessmark calc`` for the test stand: head, npsh, affinity."""

from __future__ import annotations

from fractions import Fraction

import click

from api.commands.calc.calculation import LENGTH, NUMBER, AmountType, calculation, together
from extract.shop import pump_head
from extract.shop.amounts import Amount
from extract.shop.method import Worked

_FLOW, _SPEED = AmountType("flow"), AmountType("speed")
_PRESSURE, _DENSITY = AmountType("pressure"), AmountType("density")


@calculation(pump_head.HEAD)
@click.option("--pressure", type=_PRESSURE, required=True, help="Discharge minus suction.")
@click.option("--density", type=_DENSITY, required=True, help="Of the liquid, such as 998kg_m3.")
@click.option(
    "--rise", type=LENGTH, default="0m", show_default=True, help="Discharge gauge above suction gauge."
)
@click.option("--flow", type=_FLOW, default="0m3_h", show_default=True, help="For power and velocity heads.")
@click.option(
    "--suction-bore", type=LENGTH, help="Inner diameter of the suction pipe; with --discharge-bore."
)
@click.option("--discharge-bore", type=LENGTH, help="Inner diameter of the discharge pipe.")
def head(
    pressure: Amount,
    density: Amount,
    rise: Amount,
    flow: Amount,
    suction_bore: Amount | None,
    discharge_bore: Amount | None,
) -> Worked:
    """Pump head."""
    bores = None
    if together(suction_bore=suction_bore, discharge_bore=discharge_bore):
        assert suction_bore is not None
        assert discharge_bore is not None
        bores = (float(suction_bore.to("mm")), float(discharge_bore.to("mm")))
    heights = (float(rise.to("m")), float(flow.to("m3_h")))
    return pump_head.pump_head(float(pressure.to("kPa")), float(density.to("kg_m3")), *heights, bores)


@calculation(pump_head.NPSH)
@click.option("--suction", type=_PRESSURE, required=True, help="Absolute, on the surface of the liquid.")
@click.option("--vapour", type=_PRESSURE, required=True, help="Vapour pressure at its temperature, absolute.")
@click.option("--density", type=_DENSITY, required=True, help="At its temperature.")
@click.option("--rise", type=LENGTH, required=True, help="Surface above the pump, negative below it.")
@click.option("--loss", type=LENGTH, required=True, help="Friction losses of the suction side.")
def npsh(suction: Amount, vapour: Amount, density: Amount, rise: Amount, loss: Amount) -> Worked:
    """Suction head."""
    pressures = (float(suction.to("kPa")), float(vapour.to("kPa")))
    return pump_head.suction_head(
        *pressures, float(density.to("kg_m3")), float(rise.to("m")), float(loss.to("m"))
    )


@calculation(pump_head.AFFINITY)
@click.option("--flow", type=NUMBER, required=True, help="At the first speed, in any unit.")
@click.option("--head", "head_", type=NUMBER, required=True, help="At the first speed, in any unit.")
@click.option("--power", type=NUMBER, required=True, help="At the first speed, in any unit.")
@click.option("--from", "from_", type=_SPEED, required=True, help="First speed.")
@click.option("--to", type=_SPEED, required=True, help="Other speed.")
def affinity(flow: Fraction, head_: Fraction, power: Fraction, from_: Amount, to: Amount) -> Worked:
    """Another speed."""
    speeds = (float(from_.to("rpm")), float(to.to("rpm")))
    return pump_head.at_speed(float(flow), float(head_), float(power), *speeds)
