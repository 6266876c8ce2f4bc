"""Screw threads: a designation read, and the tensile stress area that it stands for."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.amounts import parse_number
from extract.shop.method import Figure, Method, Source, Worked
from shared.data_files import read_data
from shared.errors import CalculationOutOfRange, SettingError

METHOD = Method(
    name="thread",
    title="Thread: tensile stress area",
    formula="inch: At = pi/4 (d - 0.9743/n)^2; metric: At = pi/4 (d - 0.9382 P)^2",
    valid="unified threads 1/4 to 4 in, metric threads M3 to M100; 60 degree form",
    sources=(
        Source("Shigley's Mechanical Engineering Design, 9th ed., table 8-2", "C+R"),
        Source("ISO 898-1 formula; its printed areas", "MEM"),
    ),
)
_INCH_MM = Fraction("25.4")
_METRIC = re.compile(r"M\s*(?P<d>\d+(?:\.\d+)?)(?:\s*[x×X*]\s*(?P<p>\d+(?:\.\d+)?))?(?P<rest>(?:[\s-].*)?)")
_UNIFIED = re.compile(
    r"(?P<d>(?:\d+[\s-])?\d+/\d+|\d+(?:\.\d+)?|\.\d+)\s*(?:\"|in|inch)?\s*"
    r"(?:[-x×]\s*(?P<n>\d{1,2}))?(?:\s*[-\s]\s*(?P<series>UNC|UNF|UNEF|UN|UNR|UNRC|UNRF|8UN))?(?P<rest>(?:[\s-].*)?)",
    re.IGNORECASE,
)
_CLASS = re.compile(r"[\s-]*(?:[1-3][AB]|\d[a-z]\d?[a-z]?|LH|RH)?(?:[\s-]+(?:LH|RH))?\s*", re.IGNORECASE)
_EXPECTED = "such as 5/8-11, 1/2-13 UNC, M12 or M12x1.25"


@dataclass(frozen=True)
class Thread:
    """One thread; lengths in millimetres, exact."""

    designation: str
    metric: bool
    diameter_mm: Fraction
    pitch_mm: Fraction

    @property
    def stress_area_mm2(self) -> float:
        """Tensile stress area. Source: METHOD."""
        factor = 0.9382 if self.metric else 0.9743
        return math.pi / 4 * (float(self.diameter_mm) - factor * float(self.pitch_mm)) ** 2

    @property
    def pitch_diameter_mm(self) -> float:
        """Pitch diameter of the 60 degree form, d - 0.6495 P."""
        return float(self.diameter_mm) - 0.649519 * float(self.pitch_mm)


@cache
def _tables() -> dict[str, dict[str, Any]]:
    data: dict[str, dict[str, Any]] = read_data(Path(__file__).with_name("threads.yaml"))
    return data


def parse_thread(text: str) -> Thread:
    """Read a thread designation.

    Raises:
        SettingError: not a designation that is known here.
        CalculationOutOfRange: a size where the formulas are not used.
    """
    written = " ".join(text.split())
    if match := _METRIC.fullmatch(written):
        thread = _metric(written, match)
    elif match := _UNIFIED.fullmatch(written):
        thread = _unified(written, match)
    else:
        raise SettingError(f"{text!r} is no thread", expected=_EXPECTED)
    if not _CLASS.fullmatch(match["rest"] or ""):
        raise SettingError(f"{text!r}: what is {(match['rest'] or '').strip()!r}", expected=_EXPECTED)
    return thread


def _metric(written: str, match: re.Match[str]) -> Thread:
    diameter = Fraction(match["d"])
    coarse = _tables()["metric_coarse_mm"].get(f"{float(diameter):g}")
    pitch = match["p"] or coarse
    if pitch is None:
        raise SettingError(
            f"{written}: its coarse pitch is not known here", expected="the pitch, such as M60x2"
        )
    _check(written, diameter, Fraction(pitch), least=3, most=100, unit="mm")
    return Thread(written, metric=True, diameter_mm=diameter, pitch_mm=Fraction(pitch))


def _unified(written: str, match: re.Match[str]) -> Thread:
    size = match["d"].replace("-", " ")
    diameter = parse_number(size)
    series = (match["series"] or "").lower().replace("unr", "un")
    table = _tables().get(series if series in ("unc", "unf") else "", {})
    usual = table.get(str(diameter))
    if match["n"] is None and usual is None:
        raise SettingError(f"{written!r} has no threads per inch", expected=_EXPECTED)
    per_inch = int(match["n"] or usual or 0)
    if usual is not None and per_inch != usual:
        raise SettingError(
            f"{written}: {series.upper()} of this size has {usual} threads per inch", expected=_EXPECTED
        )
    pitch = Fraction(1, per_inch) if per_inch else Fraction(0)
    _check(written, diameter, pitch, least=Fraction(1, 4), most=4, unit="in")
    return Thread(written, metric=False, diameter_mm=diameter * _INCH_MM, pitch_mm=pitch * _INCH_MM)


def _check(
    written: str, diameter: Fraction, pitch: Fraction, *, least: Fraction | int, most: int, unit: str
) -> None:
    if not least <= diameter <= most:
        raise CalculationOutOfRange(
            f"{written}: {float(diameter):g} {unit}", expected=f"{float(least):g} to {most} {unit}"
        )
    # Coarser than a quarter of the diameter or finer than a fiftieth is a slip (5/8-1, M12x125), no thread.
    if not diameter / 60 <= pitch <= diameter / 4:
        raise CalculationOutOfRange(
            f"{written}: a pitch of {float(pitch):.4g} {unit}", expected="a pitch that fits the size"
        )


def thread_area(designation: str) -> Worked:
    """Work out a thread's tensile stress area.

    Raises:
        SettingError, CalculationOutOfRange: as parse_thread.
    """
    thread = parse_thread(designation)
    area = thread.stress_area_mm2
    figures = (
        Figure("diameter", float(thread.diameter_mm), "mm"),
        Figure("pitch", float(thread.pitch_mm), "mm"),
        Figure("stress_area", area, "mm2"),
        Figure("stress_area_inch", area / float(_INCH_MM) ** 2, "in2"),
    )
    return Worked(METHOD, figures)
