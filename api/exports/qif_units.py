"""Our units as QIF 3.0 (ISO 23952) has them: what kind of characteristic each makes, and its way to SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["Linear", "Mass", "Pressure", "Speed", "Temperature", "Time"]


@dataclass(frozen=True)
class QifUnit:
    """A unit that QIF knows the kind of; SI value = (value + offset) · factor (UnitConversionType)."""

    kind: Kind
    si_name: str
    factor: str
    offset: str = "0"

    @property
    def attribute(self) -> str:
        """What names the unit beside a value."""
        return f"{self.kind.lower()}Unit"


_METRE, _SPEED = "meter", "meter per second"

#: Factors: NIST SP 811, Appendix B (the inch and the pound-force exactly; psi and 5/9 to 15 digits).
#: Torque, revolutions a minute, counts and percentages are of no kind that QIF has: ``UserDefinedUnit``.
QIF_UNITS: dict[str, QifUnit] = {
    "in": QifUnit("Linear", _METRE, "0.0254"),
    "mm": QifUnit("Linear", _METRE, "0.001"),
    "um": QifUnit("Linear", _METRE, "0.000001"),
    "g": QifUnit("Mass", "kilogram", "0.001"),
    "psi": QifUnit("Pressure", "pascal", "6894.75729316836"),
    "bar": QifUnit("Pressure", "pascal", "100000"),
    "kPa": QifUnit("Pressure", "pascal", "1000"),
    "mm_s": QifUnit("Speed", _SPEED, "0.001"),
    "degC": QifUnit("Temperature", "kelvin", "1", "273.15"),
    "degF": QifUnit("Temperature", "kelvin", "0.555555555555556", "459.67"),
    "s": QifUnit("Time", "second", "1"),
    "min": QifUnit("Time", "second", "60"),
}

#: In the order of the schema.
KINDS: tuple[Kind, ...] = ("Linear", "Mass", "Pressure", "Speed", "Temperature", "Time")
