"""Test stand: head, velocity head, affinity laws, hydraulic power; what a plain formula gives."""

from __future__ import annotations

import math

from extract.shop.method import Figure, Method, Source, Worked, require

_G = 9.80665
HEAD = Method(
    name="head",
    title="Pump head, hydraulic power, velocity head",
    formula="H = dp/(rho g) + dz + (v2^2 - v1^2)/(2 g), v = Q/A; P = rho g Q H",
    valid="liquid of constant density 500 to 2000 kg/m3; gauges read at their own heights, or dz put in",
    sources=(Source("Bernoulli's equation; g 9.80665 m/s2", "C"),),
)
NPSH = Method(
    name="npsh",
    title="Net positive suction head available",
    formula="NPSHa = (p - pv)/(rho g) + z - losses",
    valid="absolute pressures on the liquid's surface; vapour pressure and density of the liquid at its "
    "temperature, from "
    "its own table",
    sources=(Source("energy balance of the suction side; water values of IAPWS-95 in the check", "C"),),
)
AFFINITY = Method(
    name="affinity",
    title="Affinity laws: another speed",
    formula="Q2 = Q1 n2/n1; H2 = H1 (n2/n1)^2; P2 = P1 (n2/n1)^3",
    valid="same impeller and liquid, speeds within a factor of 4, no cavitation; efficiency taken as the "
    "same",
    sources=(Source("similarity of pumps", "C"),),
)


def velocity_head_m(flow_m3_h: float, bore_mm: float) -> float:
    """Return v²/2g in metres.

    Args:
        flow_m3_h: 0 to 1e6.
        bore_mm: inner diameter of the pipe, above 0 to 5000.

    Raises:
        CalculationOutOfRange: outside these.
    """
    require("flow", flow_m3_h, 0, 1e6, "m3_h")
    require("pipe bore", bore_mm, 0, 5000, "mm", open_=True)
    speed = flow_m3_h / 3600 / (math.pi / 4 * (bore_mm / 1000) ** 2)
    return speed**2 / (2 * _G)


def pump_head(
    pressure_kpa: float,
    density_kg_m3: float,
    rise_m: float = 0.0,
    flow_m3_h: float = 0.0,
    bores_mm: tuple[float, float] | None = None,
) -> Worked:
    """Work out head and hydraulic power.

    Args:
        pressure_kpa: discharge minus suction, -1000 to 1e6.
        density_kg_m3: 500 to 2000.
        rise_m: discharge gauge above suction gauge, -100 to 100.
        flow_m3_h: as velocity_head_m.
        bores_mm: suction and discharge, for the velocity heads.

    Raises:
        CalculationOutOfRange: outside these.

    Source: HEAD.
    """
    require("pressure difference", pressure_kpa, -1000, 1e6, "kPa")
    require("density", density_kg_m3, 500, 2000, "kg_m3")
    require("height", rise_m, -100, 100, "m")
    require("flow", flow_m3_h, 0, 1e6, "m3_h")
    velocity = (
        velocity_head_m(flow_m3_h, bores_mm[1]) - velocity_head_m(flow_m3_h, bores_mm[0]) if bores_mm else 0.0
    )
    head = pressure_kpa * 1000 / (density_kg_m3 * _G) + rise_m + velocity
    figures = (
        Figure("head", head, "m"),
        Figure("head_inch", head / 0.3048, "ft"),
        Figure("velocity_head_gain", velocity, "m"),
        Figure("hydraulic_power", density_kg_m3 * _G * flow_m3_h / 3600 * head / 1000, "kW"),
    )
    return Worked(HEAD, figures)


def suction_head(
    surface_kpa: float, vapour_kpa: float, density_kg_m3: float, rise_m: float, loss_m: float
) -> Worked:
    """Work out the net positive suction head available.

    Args:
        surface_kpa: absolute pressure on the liquid's surface, 0 to 10,000.
        vapour_kpa: vapour pressure at its temperature, absolute, 0 to surface_kpa.
        density_kg_m3: 500 to 2000.
        rise_m: surface above the pump's datum, negative below it, -50 to 1000.
        loss_m: friction losses of the suction side, 0 to 1000.

    Raises:
        CalculationOutOfRange: outside these.

    Source: NPSH.
    """
    require("surface pressure", surface_kpa, 0, 10_000, "kPa")
    require("vapour pressure", vapour_kpa, 0, surface_kpa, "kPa")
    require("density", density_kg_m3, 500, 2000, "kg_m3")
    require("height", rise_m, -50, 1000, "m")
    require("losses", loss_m, 0, 1000, "m")
    head = (surface_kpa - vapour_kpa) * 1000 / (density_kg_m3 * _G) + rise_m - loss_m
    figures = (Figure("npsh", head, "m"), Figure("npsh_inch", head / 0.3048, "ft"))
    return Worked(NPSH, figures, ("compare with the pump's NPSHr and the margin that its maker wants",))


def at_speed(flow: float, head: float, power: float, from_rpm: float, to_rpm: float) -> Worked:
    """Work out flow, head and power at another speed; each stays in its own unit.

    Args:
        from_rpm, to_rpm: above 0; their ratio 0.25 to 4.

    Raises:
        CalculationOutOfRange: outside these.

    Source: AFFINITY.
    """
    require("speed", from_rpm, 0, 100_000, "rpm", open_=True)
    ratio = to_rpm / from_rpm
    require("speed ratio", ratio, 0.25, 4)
    figures = (
        Figure("flow", flow * ratio, "as given"),
        Figure("head", head * ratio**2, "as given"),
        Figure("power", power * ratio**3, "as given"),
    )
    return Worked(AFFINITY, figures)
