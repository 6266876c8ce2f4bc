"""The shipped job sheets: they load without a doubt, warn first, and ask nothing impossible."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

import pytest

from shared.job_sheet import check_job_sheet, find_sheet, load_job_sheet, sheet_doubts, shipped_sheet_ids
from shared.sheet_entries import Fastener, Reading
from shared.sheet_source import read_sheet_source
from shared.units import KIND_OF_UNIT, convert

SHEETS = ("booster-multistage", "wash-water-end-suction", "wash-water-split-case")

FASTENERS = [(sheet, fastener) for sheet in SHEETS for fastener in load_job_sheet(sheet).fasteners]
GUARDED = [
    (sheet, reading)
    for sheet in SHEETS
    for reading in load_job_sheet(sheet).readings
    if reading.uncertainty is not None and reading.lower is not None and reading.upper is not None
]


def test_three_sheets_are_shipped() -> None:
    assert shipped_sheet_ids() == SHEETS


@pytest.mark.parametrize("sheet_id", SHEETS)
def test_sheet_loads_without_doubts_under_its_own_id(sheet_id: str) -> None:
    source = read_sheet_source(find_sheet(sheet_id))
    sheet = check_job_sheet(source)
    assert sheet.id == sheet_id
    assert sheet_doubts(source, sheet) == ()


@pytest.mark.parametrize("sheet_id", SHEETS)
def test_isolation_and_decontamination_come_before_every_other_caution(sheet_id: str) -> None:
    first, second, third = load_job_sheet(sheet_id).cautions[:3]
    assert [first.when, second.when, third.when] == [[], [], []]
    assert "lock and tag" in first.text
    assert "decontaminate" in second.text
    assert "does not authorise" in third.text


@pytest.mark.parametrize("sheet_id", SHEETS)
def test_sheet_says_that_its_values_are_invented(sheet_id: str) -> None:
    assert find_sheet(sheet_id).read_text("utf-8").startswith("# Demo data.")


@pytest.mark.parametrize("sheet_id", SHEETS)
def test_sheet_asks_for_every_kind_of_thing(sheet_id: str) -> None:
    sheet = load_job_sheet(sheet_id)
    assert any(r.required and r.positions for r in sheet.readings)
    assert sum(step.hold for step in sheet.steps) == 1
    assert {part.policy for part in sheet.parts} == {"renew", "inspect", "reuse"}
    assert any(photo.required for photo in sheet.photos)
    assert all(sheet.spoken_positions(p) for p in sheet.positions)


def test_multistage_sheet_mixes_millimetres_with_inches_and_two_torque_units() -> None:
    sheet = load_job_sheet("booster-multistage")
    units = {entry.unit for entry in sheet.measured.values()}
    assert {"mm", "um", "in", "N_m", "ft_lb", "in_lb"} <= units


@pytest.mark.parametrize(("sheet_id", "reading"), GUARDED, ids=lambda v: v if isinstance(v, str) else v.item)
def test_guard_bands_leave_room_for_a_nominal_part(sheet_id: str, reading: Reading) -> None:
    # ISO 14253-1: conformity is proved only between lower + U and upper - U.
    assert reading.lower is not None
    assert reading.upper is not None
    assert reading.uncertainty is not None
    least, most = reading.lower + reading.uncertainty, reading.upper - reading.uncertainty
    assert least < most
    assert reading.nominal is None or least <= reading.nominal <= most


# Nut factors: Budynas & Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Table 8-15. Thread
# locker is taken as lubricated (common practice, no source): the lower factor gives the higher preload.
NUT_FACTOR = {"anti_seize": 0.12, "thread_locker": 0.18, None: 0.20}
# Proof strength: the same, Tables 8-9 (kpsi, up to 3/4 in) and 8-11 (MPa); 8.8 up to M16 is 580 MPa
# (ISO 898-1 as one secondary page states it), above 600.
PROOF_KPSI = {"SAE J429 2": 55.0, "SAE J429 5": 85.0}


def _stressed_area_diameter(thread: str) -> tuple[float, float, str]:
    """Return tensile stress area, diameter and "in" or "mm" (formulas of ASME B1.1 and ISO 898-1)."""
    if found := re.fullmatch(r"(\d+)/(\d+)-(\d+) UNC", thread):
        diameter = int(found[1]) / int(found[2])
        return math.pi / 4 * (diameter - 0.9743 / int(found[3])) ** 2, diameter, "in"
    pitch_mm = {"M10": 1.5, "M12": 1.75, "M16": 2.0, "M20": 2.5}[thread]
    diameter = float(thread[1:])
    return math.pi / 4 * (diameter - 0.9382 * pitch_mm) ** 2, diameter, "mm"


def _share_of_proof(fastener: Fastener, torque: Decimal) -> float:
    """Return preload by T = K d F as a share of the proof load."""
    assert fastener.thread is not None
    assert fastener.grade is not None
    area, diameter, system = _stressed_area_diameter(fastener.thread)
    factor = NUT_FACTOR[fastener.lubricant]
    if system == "in":
        turning = float(convert(Fraction(torque), fastener.unit, "in_lb"))
        return turning / (factor * diameter) / (area * PROOF_KPSI[fastener.grade] * 1000)
    turning = float(convert(Fraction(torque), fastener.unit, "N_m")) * 1000
    proof = {"ISO 898-1 8.8": 580.0 if diameter <= 16 else 600.0, "ISO 898-1 10.9": 830.0}[fastener.grade]
    return turning / (factor * diameter) / (area * proof)


def test_share_of_proof_agrees_with_a_worked_torque() -> None:
    # 5/8-11 grade 5 at 75 % of proof with anti-seize: 90.1 lbf ft by T = K d F and the tables above.
    bolt = Fastener(item="b", unit="ft_lb", thread="5/8-11 UNC", grade="SAE J429 5", lubricant="anti_seize")
    assert _share_of_proof(bolt, Decimal("90.1")) == pytest.approx(0.75, abs=0.002)


@pytest.mark.parametrize(
    ("sheet_id", "fastener"),
    [(s, f) for s, f in FASTENERS if f.grade is not None],
    ids=lambda v: v if isinstance(v, str) else v.item,
)
def test_no_sheet_asks_for_a_torque_that_would_yield_the_bolt(sheet_id: str, fastener: Fastener) -> None:
    # 0.90 of proof is the most for a permanent joint (Shigley eq. 8-32, as quoted). A slip of unit,
    # ft lb for N m or in lb, lands outside of these bounds.
    assert fastener.upper is not None
    assert fastener.nominal is not None
    assert _share_of_proof(fastener, fastener.upper) < 0.90
    assert _share_of_proof(fastener, fastener.nominal) > 0.40


@pytest.mark.parametrize("sheet_id", SHEETS)
def test_a_bare_number_has_a_unit_for_each_kind_that_is_measured(sheet_id: str) -> None:
    sheet = load_job_sheet(sheet_id)
    kinds = {KIND_OF_UNIT[entry.unit] for entry in sheet.measured.values()} - {"count"}
    assert all(getattr(sheet.units, str(kind)) is not None for kind in kinds)
