"""Mechanical seal: balance ratio, face pressure, and pressure times velocity."""

from __future__ import annotations

import math
from dataclasses import dataclass

from extract.shop.air_test import PRESSURE_TEST
from extract.shop.method import Figure, Method, Source, Worked, require
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="seal",
    title="Seal balance, face pressure, PV",
    formula="B = (Do^2 - Db^2)/(Do^2 - Di^2) for pressure outside; Pf = dp (B - k) + spring force / face "
    "area; PV = Pf Vm, "
    "Vm at the mean face diameter",
    valid="pressure on the outside of the face; Di < Do, Db < Do; pressure gradient factor k 0 to 1",
    sources=(
        Source("balance: Hydraulic Institute FAQ", "R"),
        Source("face pressure and PV: Pump Handbook, seal chapter", "R"),
        Source("worked figures", "C"),
    ),
    cautions=(PRESSURE_TEST,),
)
_TYPICAL = ((0.60, 0.90, "balanced"), (1.10, 1.60, "unbalanced"))


@dataclass(frozen=True)
class Face:
    """Diameters of a seal face, millimetres."""

    outer_mm: float
    inner_mm: float
    balance_mm: float

    def checked(self) -> Face:
        """Return it, refusing what is no face.

        Raises:
            CalculationOutOfRange: diameters that do not go together.
        """
        require("outer face diameter", self.outer_mm, 0, 1000, "mm", open_=True)
        if not 0 < self.inner_mm < self.outer_mm or not 0 < self.balance_mm < self.outer_mm:
            raise CalculationOutOfRange(
                f"face {self.outer_mm:g}/{self.inner_mm:g}, balance diameter {self.balance_mm:g} mm",
                expected="inner and balance diameter above 0 and below the outer",
            )
        return self

    @property
    def area_mm2(self) -> float:
        """Area of the face."""
        return math.pi / 4 * (self.outer_mm**2 - self.inner_mm**2)

    @property
    def balance(self) -> float:
        """Closing area over face area. Source: METHOD."""
        return (self.outer_mm**2 - self.balance_mm**2) / (self.outer_mm**2 - self.inner_mm**2)

    @property
    def mean_mm(self) -> float:
        """Mean diameter."""
        return (self.outer_mm + self.inner_mm) / 2


def face_pressure_mpa(pressure_mpa: float, balance: float, gradient: float, spring_mpa: float) -> float:
    """Return the net face pressure.

    Args:
        pressure_mpa: difference across the seal, 0 to 50.
        balance: B, 0 to 2.
        gradient: pressure gradient factor k, 0 to 1.
        spring_mpa: spring force over face area, 0 to 5.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("pressure", pressure_mpa, 0, 50, "MPa")
    require("balance ratio", balance, 0, 2)
    require("pressure gradient factor", gradient, 0, 1)
    require("spring pressure", spring_mpa, 0, 5, "MPa")
    return pressure_mpa * (balance - gradient) + spring_mpa


def face_speed_m_s(mean_mm: float, speed_rpm: float) -> float:
    """Return the speed at the mean face diameter.

    Args:
        mean_mm: above 0.
        speed_rpm: 0 to 100,000.

    Raises:
        CalculationOutOfRange: outside these.
    """
    require("mean face diameter", mean_mm, 0, 1000, "mm", open_=True)
    require("speed", speed_rpm, 0, 100_000, "rpm")
    return math.pi * mean_mm / 1000 * speed_rpm / 60


def seal_load(
    face: Face, pressure_mpa: float, spring_n: float, speed_rpm: float, gradient: float = 0.5
) -> Worked:
    """Work out balance, face pressure and PV.

    Args:
        pressure_mpa, gradient: as face_pressure_mpa.
        spring_n: spring force, newtons, 0 to 100,000.
        speed_rpm: as face_speed_m_s.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    face.checked()
    require("spring force", spring_n, 0, 100_000, "N")
    spring = spring_n / face.area_mm2
    pressure = face_pressure_mpa(pressure_mpa, face.balance, gradient, spring)
    speed = face_speed_m_s(face.mean_mm, speed_rpm)
    figures = (
        Figure("balance_ratio", face.balance),
        Figure("face_area", face.area_mm2, "mm2"),
        Figure("spring_pressure", spring, "MPa"),
        Figure("face_pressure", pressure, "MPa"),
        Figure("mean_speed", speed, "m/s"),
        Figure("pv", pressure * speed, "MPa m/s"),
        Figure("gradient_factor", gradient),
    )
    kind = next((word for least, most, word in _TYPICAL if least <= face.balance <= most), "")
    notes = [
        f"balance ratio usual for {kind} seals"
        if kind
        else "balance ratio outside what is usual (0.60-0.90, 1.10-1.60)"
    ]
    if pressure <= 0:
        notes.append("the faces would be pushed apart")
    notes.append("the pressure gradient factor is taken, not measured; the seal maker's PV limit decides")
    return Worked(METHOD, figures, tuple(notes))
