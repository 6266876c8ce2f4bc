"""Mechanical seals against published formulas and texts (checks S1-S11) and the evidence table of section 5.

HI: Hydraulic Institute FAQ. PH: Pump Handbook, seal chapter. LR: Lobanoff & Ross, 2nd ed.
"""

from __future__ import annotations

import pytest

from extract.shop.air_test import air_test, leak_ml_min
from extract.shop.causes import all_evidence, causes_of, evidence_named, is_seal_face
from extract.shop.light_bands import flatness_of_bands
from extract.shop.seal_load import Face, face_pressure_mpa, face_speed_m_s, seal_load

PSI_KPA = 6.894757293168361


def test_air_test_within_what_is_published() -> None:
    # S1, API 682 10.3.4.2 quoted verbatim in a seal maker's paper, R2
    assert "within the published" in air_test(28, 25 * PSI_KPA, 2 * PSI_KPA, 5).notes[0]
    assert "within the published" in air_test(28, 170, 14, 5).notes[0]
    assert "above 14 kPa" in air_test(28, 170, 14.5, 5).notes[0]
    assert "above 28 L" in air_test(29, 170, 10, 5).notes[0]
    assert "shorter than 5 min" in air_test(28, 170, 10, 4.9).notes[0]


def test_fifty_psi_is_not_the_published_air_test() -> None:
    # A forum answer says 50 psig; it conflicts with S1 and is rejected.
    assert any("not the published" in note for note in air_test(28, 50 * PSI_KPA, 5, 5).notes)


def test_leak_at_the_limits() -> None:
    # S2, V dp / (p_atm t), about 774 mL/min, C, 1 %
    assert leak_ml_min(28, 14, 5) == pytest.approx(774, rel=0.01)


def test_air_test_carries_its_caution() -> None:
    assert "air stores far more energy" in air_test(28, 170, 10, 5).method.cautions[0]


def test_flatness_of_a_face() -> None:
    # S4, seal trade text: up to 3 light bands, leakage visible near 5, R
    assert "within the usual 3 bands" in flatness_of_bands(3).notes[0]
    assert "above the usual 3 bands" in flatness_of_bands(3.5).notes[0]


@pytest.mark.parametrize(
    ("outer", "inner", "balance_mm", "balance", "kind"),
    [
        (60, 52, 54, 0.7634, "balanced"),  # S6 by S5 (HI, closing over opening area, R), C; S8 typical, HI, R
        (50, 42, 40, 1.2228, "unbalanced"),  # S7, C
    ],
)
def test_balance_ratio(outer: float, inner: float, balance_mm: float, balance: float, kind: str) -> None:
    face = Face(outer, inner, balance_mm)
    assert face.balance == pytest.approx(balance, abs=1e-4)
    worked = seal_load(face, 1.0, 150, 2950)
    assert worked.notes[0] == f"balance ratio usual for {kind} seals"


def test_face_pressure_and_pv() -> None:
    # S10 by S9 (PH: Pf = dp (b - k) + Psp; PV = Pf Vm, R), C, 0.1 %
    worked = seal_load(Face(60, 52, 54), 1.0, 150, 2950, 0.5)
    expected = {
        "face_area": 703.7,
        "spring_pressure": 0.2132,
        "face_pressure": 0.4765,
        "mean_speed": 8.650,
        "pv": 4.122,
    }
    for name, value in expected.items():
        assert worked.value(name) == pytest.approx(value, rel=1e-3), name


def test_inch_example() -> None:
    # S11, inputs LR p. 363 with b 0.75, k 0.5 and spring pressure 25 psi assumed, C*; its answer was not seen
    psi_mpa = PSI_KPA / 1000
    pressure = face_pressure_mpa(400 * psi_mpa, 0.75, 0.5, 25 * psi_mpa) / psi_mpa
    speed = face_speed_m_s(3 * 25.4, 3600) / 0.3048 * 60
    assert (pressure, speed) == (pytest.approx(125, rel=1e-9), pytest.approx(2827.4, rel=1e-3))
    assert pressure * speed == pytest.approx(353_430, rel=1e-3)


def test_every_evidence_keeps_candidates_and_sources() -> None:
    for evidence in all_evidence():
        assert evidence.causes, evidence.id
        assert all(cause.source.text for cause in evidence.causes), evidence.id


def test_chips_at_the_outer_edge_are_disputed() -> None:
    # Section 5: over-pressure (contact-pattern guide, R) against flashing (trade texts, MEM).
    (evidence,) = causes_of("chipped", "on the outer edge")
    assert {cause.source.flag for cause in evidence.causes} == {"R", "MEM"}
    assert "over-pressure, or flashing" in evidence.disputed


def test_a_wide_track_has_several_causes_and_a_dispute() -> None:
    (evidence,) = evidence_named("track_too_wide")
    assert len(evidence.causes) >= 3
    assert evidence.disputed


@pytest.mark.parametrize(
    ("condition", "location", "ids"),
    [
        ("heat_checked", None, {"heat_check"}),
        ("uneven_wear", None, {"two_spots", "uneven_track"}),
        ("uneven_wear", "heavier at the inner edge", {"heavy_inside"}),
        ("chipped", None, set()),
        ("corroded", None, set()),
        ("good", None, set()),
    ],
)
def test_condition_and_place_select_the_evidence(condition: str, location: str | None, ids: set[str]) -> None:
    assert {e.id for e in causes_of(condition, location)} == ids


@pytest.mark.parametrize(
    ("names", "face"),
    [
        (("stationary_seat", "seat face"), True),
        (("rotating_face", "carbon"), True),
        (("seat_cup", "cup rubber"), False),
        (("bearing_seat",), False),
        (("impeller",), False),
        (("seal_chamber", "box"), False),
    ],
)
def test_seal_faces_are_told_from_their_neighbours(names: tuple[str, ...], face: bool) -> None:
    assert is_seal_face(names) is face
