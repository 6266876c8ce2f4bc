"""What an invented past holds to be found, and what in it is chance and must not be taken for more.

All of it is invented: the plant, its pumps, its people and these shares.
"""

from __future__ import annotations

from dataclasses import dataclass

#: How often anything that a sheet wants is forgotten, a limit missed, something said put right, by anybody.
FORGOTTEN, MISSED, PUT_RIGHT = 0.04, 0.02, 0.03
#: How often a part of a seal is found spoilt on any pump.
SPOILT = 0.08

END_SUCTION, SPLIT_CASE, BOOSTER = (
    "wash-water-end-suction", "wash-water-split-case", "booster-multistage",
)  # fmt: skip
#: Pumps take these in turn, so that P-101, P-104 … are of the first.
SHEETS = (END_SUCTION, SPLIT_CASE, BOOSTER)
#: Shifts and who works in them.
CREWS = {
    "early shift": ("Ada Fenn", "Milo Brandt", "Tess Okonjo"),
    "late shift": ("Rae Olsen", "Jonas Petrak", "Lin Sato"),
    "night shift": ("Bo Lindqvist", "Mara Quist", "Ned Abara"),
}
#: Helps out seldom: too few rebuilds to say anything of.
STAND_IN = ("late shift", "Ivo Castell")
REVIEWER = "Ines Holm"


@dataclass(frozen=True)
class ForgottenByCrew:
    """A crew forgets a step that others do not."""

    sheet: str = END_SUCTION
    step: str = "seal_faces_cleaned"
    crew: str = "night shift"
    share: float = 0.35


@dataclass(frozen=True)
class Drift:
    """A reading of one pump that moves as it runs."""

    pump_tag: str = "P-104"
    sheet: str = END_SUCTION
    item: str = "bearing_journal"
    position: str = "inboard"
    new: float = 0.0002
    """Above the middle of the limits where the hour meter stands at nought, in the item's unit, inches."""
    per_1000_hours: float = -0.000014
    """Same unit. It stays within the limits: only the drift tells."""
    scatter: float = 0.00006
    """Standard deviation of a reading about it, same unit."""


@dataclass(frozen=True)
class RepeatFailure:
    """A pump whose seal is found spoilt in the same way again and again, and which comes back sooner."""

    pump_tag: str = "P-107"
    sheet: str = END_SUCTION
    part: str = "rotating_face"
    condition: str = "heat_checked"
    share: float = 0.9
    life: float = 0.6
    """Of what such a pump runs else."""


@dataclass(frozen=True)
class ForgottenMoreAndMore:
    """A photo that everybody forgets oftener from year to year."""

    sheet: str = BOOSTER
    of: str = "rotating_face"
    at_first: float = 0.02
    at_last: float = 0.45


@dataclass(frozen=True)
class MissedLimit:
    """An item whose limits are missed far oftener than those of others."""

    sheet: str = SPLIT_CASE
    item: str = "split_line_bolt_torque"
    share: float = 0.18


@dataclass(frozen=True)
class PutRight:
    """An item that is said wrong and put right far oftener than others."""

    sheet: str = END_SUCTION
    item: str = "seal_setting"
    share: float = 0.25


BY_CREW, DRIFT, REPEAT = ForgottenByCrew(), Drift(), RepeatFailure()
MORE_AND_MORE, LIMIT, SAID_WRONG = ForgottenMoreAndMore(), MissedLimit(), PutRight()


@dataclass(frozen=True)
class Scatter:
    """A reading of one pump that scatters and does not move: no drift."""

    pump_tag: str = "P-110"
    sheet: str = END_SUCTION
    item: str = "bearing_journal"
    position: str = "inboard"
    scatter: float = 0.00006


@dataclass(frozen=True)
class TwiceByChance:
    """A pump whose seal was found spoilt twice, each time otherwise: no repeat failure."""

    pump_tag: str = "P-113"
    sheet: str = END_SUCTION
    part: str = "rotating_face"
    conditions: tuple[str, str] = ("chipped", "scratched")


SCATTER, TWICE = Scatter(), TwiceByChance()
