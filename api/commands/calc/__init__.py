"""``witnessmark calc``: the shop calculations, one command each."""

from __future__ import annotations

import click

from api.commands.calc.advising import advice
from api.commands.calc.clearance import runout, shims, tilt, wear_ring
from api.commands.calc.fastening import lubricant, thread, torque, torque_long
from api.commands.calc.fitting import balance, fit, heat
from api.commands.calc.measuring import conformity, convert, repeated
from api.commands.calc.pumping import affinity, head, npsh
from api.commands.calc.sealing import air_test, causes, light_bands, seal


@click.group("calc", no_args_is_help=False)
def command() -> None:
    """Shop calculations. Each says its formula, where it holds and who published it.

    Amounts are typed with their unit: 0.018in, 70ft_lb, 230degF. They advise; they do not authorise.
    """


for each in (
    advice, tilt, shims, runout, wear_ring, thread, torque, torque_long, lubricant, fit, heat, balance,
    air_test, seal, light_bands, causes, convert, conformity, repeated, head, npsh, affinity,
):  # fmt: skip
    command.add_command(each)
