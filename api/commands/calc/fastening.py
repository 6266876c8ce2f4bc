"""``witnessmark calc`` for fasteners: thread, torque, torque-long, lubricant."""

from __future__ import annotations

from fractions import Fraction

import click

from api.commands.calc.calculation import LENGTH, NUMBER, AmountType, calculation, only_one
from extract.shop import long_form, lubricant_change, preload, threads
from extract.shop.amounts import Amount
from extract.shop.grades import grade_for
from extract.shop.method import Worked
from extract.shop.nut_factors import finishes, nut_factor

_TORQUE = AmountType("torque")
_FINISH = " ".join(finishes())
_thread_option = click.option(
    "--thread", "designation", required=True, help='Such as 5/8-11, "1/2-13 UNC", M12x1.25.'
)
_grade_option = click.option("--grade", help='Such as "SAE J429 5" or 8.8.')


def _bolt(designation: str, grade: str | None) -> preload.Bolt:
    thread = threads.parse_thread(designation)
    return preload.Bolt(thread, grade_for(grade, thread) if grade else None)


@calculation(threads.METHOD)
@click.argument("designation")
def thread(designation: str) -> Worked:
    """DESIGNATION such as 5/8-11 or M12x1.25."""
    return threads.thread_area(designation)


@calculation(preload.METHOD)
@_thread_option
@_grade_option
@click.option("--lubricant", required=True, help=f"What is on the thread: {_FINISH}.")
@click.option("--torque", "given", type=_TORQUE, help="Torque to see the tension of; or --share.")
@click.option("--share", type=NUMBER, help="Per cent of the proof load to see the torque of; wants --grade.")
def torque(
    designation: str, grade: str | None, lubricant: str, given: Amount | None, share: Fraction | None
) -> Worked:
    """Torque and tension."""
    bolt, factor = _bolt(designation, grade), nut_factor(lubricant)
    only_one(torque=given, share=share)
    if given is not None:
        return preload.preload_of_torque(bolt, given.to("N_m"), factor)
    assert share is not None
    return preload.torque_for_share(bolt, float(share) / 100, factor)


@calculation(long_form.METHOD)
@_thread_option
@click.option("--grade", required=True, help="ISO 898-1: 8.8, 10.9 or 12.9.")
@click.option("--friction", type=NUMBER, required=True, help="In thread and under head, such as 0.12.")
@click.option("--bearing", type=LENGTH, required=True, help="Outer diameter of the face under head or nut.")
@click.option("--hole", type=LENGTH, required=True, help="Diameter of the hole.")
def torque_long(designation: str, grade: str, friction: Fraction, bearing: Amount, hole: Amount) -> Worked:
    """Torque from friction."""
    thread_ = threads.parse_thread(designation)
    sizes = (float(bearing.to("mm")), float(hole.to("mm")))
    return long_form.assembly_torque(thread_, grade, float(friction), *sizes)


@calculation(lubricant_change.METHOD)
@_thread_option
@_grade_option
@click.option("--torque", "given", type=_TORQUE, required=True, help="Torque as it was given.")
@click.option("--given-for", required=True, help=f"What it was given for: {_FINISH}.")
@click.option("--now", required=True, help=f"What is on the thread: {_FINISH}.")
def lubricant(designation: str, grade: str | None, given: Amount, given_for: str, now: str) -> Worked:
    """Change of lubricant."""
    bolt = _bolt(designation, grade)
    return lubricant_change.change_of_lubricant(bolt, given.to("N_m"), nut_factor(given_for), nut_factor(now))
