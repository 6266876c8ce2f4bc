"""Bolt grades: what a grade's proof strength is for a size (data in ``grades.yaml``)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.amounts import parse_number
from extract.shop.threads import Thread
from shared.data_files import read_data
from shared.errors import CalculationOutOfRange, SettingError

_KPSI_MPA = 6.894757293168361
_SAE = re.compile(r"(?:SAE\s*)?(?:J\s*429\s*)?(?:grade|gr\.?)?\s*(?P<grade>[258])", re.IGNORECASE)
_ISO = re.compile(
    r"(?:ISO\s*898(?:-1)?\s*)?(?:class|grade|property class)?\s*(?P<grade>\d{1,2}\.\d)", re.IGNORECASE
)
_FLAG_SOURCE = {
    ("sae_j429", "R"): "SAE J429 as in Shigley's, 9th ed., table 8-9",
    ("iso_898_1", "R"): "ISO 898-1 as in Shigley's, 9th ed., table 8-11",
    ("iso_898_1", "R2"): "ISO 898-1 as in one secondary page",
}


@dataclass(frozen=True)
class Grade:
    """A grade with its proof strength for one size."""

    name: str
    proof_mpa: float
    source: str
    flag: str


@cache
def _tables() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("grades.yaml"))
    return data


def _named(text: str) -> tuple[str, str]:
    written = " ".join(text.split())
    for table, pattern in (("iso_898_1", _ISO), ("sae_j429", _SAE)):
        if (match := pattern.fullmatch(written)) and match["grade"] in _tables()[table]:
            return table, match["grade"]
    known = [f"SAE J429 {grade}" for grade in _tables()["sae_j429"]] + [
        f"ISO 898-1 {g}" for g in _tables()["iso_898_1"]
    ]
    raise SettingError(f"no proof strength of grade {text!r} here", expected="one of " + ", ".join(known))


def grade_for(text: str, thread: Thread) -> Grade:
    """Return a grade's proof strength for a thread.

    Raises:
        SettingError: a grade that is not in the data.
        CalculationOutOfRange: the grade has no value for this size.

    Source: ``grades.yaml``.
    """
    table, name = _named(text)
    inch = table == "sae_j429"
    size = thread.diameter_mm / parse_number("25.4") if inch else thread.diameter_mm
    for row in _tables()[table][name]:
        if parse_number(row["from"]) <= size <= parse_number(row["to"]):
            proof = row["proof_kpsi"] * _KPSI_MPA if inch else float(row["proof_mpa"])
            return Grade(
                f"{'SAE J429' if inch else 'ISO 898-1'} {name}",
                proof,
                _FLAG_SOURCE[table, row["flag"]],
                row["flag"],
            )
    raise CalculationOutOfRange(
        f"grade {text} has no proof strength here for {thread.designation}",
        expected="; ".join(
            f"{row['from']} to {row['to']} {'in' if inch else 'mm'}" for row in _tables()[table][name]
        ),
    )


def yield_mpa(text: str) -> float:
    """Return the yield strength that the long torque formula goes by; ISO classes only.

    Raises:
        SettingError: a grade without one here.
    """
    table, name = _named(text)
    if table != "iso_898_1":
        raise SettingError(
            f"no yield strength of grade {text!r} here", expected="ISO 898-1 8.8, 10.9 or 12.9"
        )
    return float(_tables()["iso_898_1_yield_mpa"][name])
