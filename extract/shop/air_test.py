"""Air test of a seal: what a pressure drop means as a leak, and against the published test."""

from __future__ import annotations

from extract.shop.method import Figure, Method, Source, Worked, require

PRESSURE_TEST = (
    "Pressure test: air stores far more energy than water. Follow a written system, keep people away, never "
    "exceed "
    "the test pressure, release it before touching anything."
)
METHOD = Method(
    name="air-test",
    title="Air test leak",
    formula="leak = V dp / (p_air t), as free air",
    valid="constant temperature, drop below the test pressure; published test: 0.17 MPa (25 psi), volume up "
    "to 28 L, "
    "5 min or more, drop up to 0.014 MPa (2 psi)",
    sources=(
        Source("API 682 10.3.4.2 as quoted verbatim in a seal maker's paper", "R2"),
        Source("isothermal gas", "C"),
    ),
    cautions=(PRESSURE_TEST,),
)
MOST_VOLUME_L, LEAST_TIME_MIN, MOST_DROP_KPA, TEST_KPA = 28.0, 5.0, 14.0, 170.0
_AIR_KPA = 101.325
_PSI_KPA = 6.894757293168361
#: The clause prints both units, rounded; whoever tests by either prints is right.
_MOST_DROP_EITHER_KPA = max(MOST_DROP_KPA, 2 * _PSI_KPA)


def leak_ml_min(volume_l: float, drop_kpa: float, time_min: float) -> float:
    """Return the leak as free air, mL a minute.

    Args:
        volume_l: test volume, above 0 to 10,000 L.
        drop_kpa: pressure drop, at least 0.
        time_min: how long, above 0.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("test volume", volume_l, 0, 10_000, "L", open_=True)
    require("pressure drop", drop_kpa, 0, unit="kPa")
    require("time", time_min, 0, unit="min", open_=True)
    return volume_l * 1000 * drop_kpa / (_AIR_KPA * time_min)


def air_test(volume_l: float, pressure_kpa: float, drop_kpa: float, time_min: float) -> Worked:
    """Work out the leak and how the test compares with the published one.

    Args:
        pressure_kpa: test pressure, gauge, above 0 to 1000 kPa.

    Raises:
        CalculationOutOfRange: outside these, or a drop above the test pressure.

    Source: METHOD.
    """
    require("test pressure", pressure_kpa, 0, 1000, "kPa", open_=True)
    require("pressure drop", drop_kpa, 0, pressure_kpa, "kPa")
    figures = (
        Figure("leak", leak_ml_min(volume_l, drop_kpa, time_min), "mL/min"),
        Figure("drop", drop_kpa, "kPa"),
        Figure("drop_inch", drop_kpa / _PSI_KPA, "psi"),
        Figure("time", time_min, "min"),
    )
    against = []
    if volume_l > MOST_VOLUME_L:
        against.append(f"volume {volume_l:g} L is above {MOST_VOLUME_L:g} L: a leak shows as a smaller drop")
    if time_min < LEAST_TIME_MIN:
        against.append(f"{time_min:g} min is shorter than {LEAST_TIME_MIN:g} min")
    if abs(pressure_kpa - TEST_KPA) > 0.05 * TEST_KPA:
        against.append(f"{pressure_kpa:.0f} kPa is not the published {TEST_KPA:.0f} kPa (25 psi)")
    if drop_kpa > _MOST_DROP_EITHER_KPA:
        against.append(f"drop {drop_kpa:.3g} kPa is above {MOST_DROP_KPA:g} kPa (2 psi)")
    notes = tuple(against) or ("within the published air test; the maker's test comes first",)
    return Worked(METHOD, figures, notes)
