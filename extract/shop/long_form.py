"""Torque from friction and thread geometry, without a nut factor: the long forms.

Charts made with an older edition, another friction or another share of yield disagree with each other by
tens of per cent; the edition and the basis belong beside every torque.
"""

from __future__ import annotations

import math

from extract.shop.grades import yield_mpa
from extract.shop.method import Figure, Method, Source, Worked, require
from extract.shop.preload import OLD_BOLTS
from extract.shop.threads import Thread
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="torque-long",
    title="Bolt torque from friction (long form)",
    formula="F = As 0.9 Rp0.2 / sqrt(1 + 3 [1.5 (d2/dS) (P/(pi d2) + 1.155 mu)]^2); "
    "M = F (0.16 P + 0.58 d2 mu + 0.5 DKm mu), DKm = (bearing diameter + hole)/2",
    valid="metric threads M5 to M39, classes 8.8 (to M16), 10.9, 12.9; friction 0.04 to 0.30, the same in "
    "thread and under head",
    sources=(
        Source("VDI 2230 tables in two fastener catalogues, 2001 and 2015 editions", "C+R"),
        Source("Shigley's, 9th ed., eq. 8-26 (nut factor from friction)", "C"),
    ),
    cautions=(OLD_BOLTS,),
)
USE_OF_YIELD = 0.9
_COLLAR = 0.625
_COS_30 = math.cos(math.radians(30))


def assembly_force_n(thread: Thread, yield_: float, friction: float) -> float:
    """Return the tension at 90 % use of yield under tension and torsion.

    Args:
        thread: metric.
        yield_: Rp0.2, MPa.
        friction: in the thread, 0.04 to 0.30.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("friction", friction, 0.04, 0.30)
    if not thread.metric or not 5 <= thread.diameter_mm <= 39:
        raise CalculationOutOfRange(f"thread {thread.designation}", expected="metric, M5 to M39")
    d2, pitch = thread.pitch_diameter_mm, float(thread.pitch_mm)
    stress_diameter = math.sqrt(4 * thread.stress_area_mm2 / math.pi)
    torsion = 1.5 * d2 / stress_diameter * (pitch / (math.pi * d2) + 1.155 * friction)
    return thread.stress_area_mm2 * USE_OF_YIELD * yield_ / math.sqrt(1 + 3 * torsion**2)


def assembly_torque(thread: Thread, grade: str, friction: float, bearing_mm: float, hole_mm: float) -> Worked:
    """Work out force and torque for 90 % use of yield.

    Args:
        thread: metric.
        grade: ISO 898-1 8.8, 10.9 or 12.9.
        friction: in thread and under the head.
        bearing_mm: outer diameter of the bearing face of head or nut, millimetres.
        hole_mm: diameter of the clearance hole, millimetres.

    Raises:
        CalculationOutOfRange: outside METHOD's validity.
        SettingError: a grade without yield strength here.

    Source: METHOD.
    """
    require("hole diameter", hole_mm, float(thread.diameter_mm), 2 * float(thread.diameter_mm), "mm")
    require("bearing diameter", bearing_mm, hole_mm, 4 * float(thread.diameter_mm), "mm", open_=True)
    strength = yield_mpa(grade)
    if strength < 900 and thread.diameter_mm > 16:
        raise CalculationOutOfRange(
            f"yield strength of 8.8 above M16 for {thread.designation}", expected="M16 or smaller"
        )
    force = assembly_force_n(thread, strength, friction)
    lever = 0.16 * float(thread.pitch_mm) + 0.58 * thread.pitch_diameter_mm * friction
    lever += (bearing_mm + hole_mm) / 4 * friction
    figures = (
        Figure("assembly_force", force / 1000, "kN"),
        Figure("assembly_torque", force * lever / 1000, "N_m"),
        Figure("friction", friction),
        Figure("yield_strength", strength, "MPa"),
    )
    notes = (
        "basis: 90 % of yield under tension and torsion together; charts by other editions or bases differ",
    )
    return Worked(METHOD, figures, notes)


def nut_factor_from_friction(thread: Thread, thread_friction: float, collar_friction: float) -> float:
    """Return the nut factor that friction gives.

    Args:
        thread_friction, collar_friction: 0.04 to 0.40.

    Raises:
        CalculationOutOfRange: outside.

    Source: Shigley's, 9th ed., eq. 8-26, mean diameter taken as the pitch diameter.
    """
    for name, friction in (("thread friction", thread_friction), ("collar friction", collar_friction)):
        require(name, friction, 0.04, 0.40)
    d2 = thread.pitch_diameter_mm
    lead = float(thread.pitch_mm) / (math.pi * d2)
    in_thread = (lead + thread_friction / _COS_30) / (1 - lead * thread_friction / _COS_30)
    return d2 / (2 * float(thread.diameter_mm)) * in_thread + _COLLAR * collar_friction
