"""Advice beside a record: what it says, what it keeps quiet about, and that it changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from extract.record_builder import RecordBuilder
from extract.shop.advice import Advice, advice_of
from shared.job_sheet import JobSheet, load_job_sheet
from shared.photo import FaceDefect, FaceReport, WearTrack
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Evidence,
    Job,
    MadeBy,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
)
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def evidence(n: int) -> Evidence:
    return Evidence(utterance=n, start_s=float(n), end_s=n + 1.0, words="said", confidence=0.9, rule="test")


def reading(n: int, item: str, value: str, position: str | None = None, **more: object) -> ReadingEntry:
    fields: dict[str, object] = {
        "id": f"r{n}", "evidence": evidence(n), "item": item, "position": position, "stage": "as_left",
        "unit": "in", "value": float(value), "value_exact": value, "verdict": "within",
    }  # fmt: skip
    return ReadingEntry.model_validate({**fields, **more})


def put_on(n: int, name: str, part: str | None) -> ConsumableEntry:
    return ConsumableEntry.model_validate(
        {"id": f"k{n}", "evidence": evidence(n), "name": name, "applied_to": part}
    )


def record(
    readings: Sequence[ReadingEntry] = (),
    consumables: Sequence[ConsumableEntry] = (),
    conditions: Sequence[ConditionEntry] = (),
    photos: Sequence[PhotoEntry] = (),
) -> RebuildRecord:
    return RebuildRecord(
        made_by=MadeBy(version="0"),
        job=Job(),
        readings=list(readings),
        consumables=list(consumables),
        conditions=list(conditions),
        photos=list(photos),
    )


def clearances(values: Sequence[str], **more: object) -> list[ReadingEntry]:
    return [reading(n, "front_clearance", v, str(n + 1), **more) for n, v in enumerate(values)]


def about(found: Sequence[Advice], item: str) -> Advice:
    (one,) = [advice for advice in found if advice.about == item]
    return one


def test_clearance_round_the_vanes_has_mean_tilt_and_shims() -> None:
    pack = reading(9, "shim_pack", "0.039")
    advice = about(
        advice_of(SHEET, record([*clearances(["0.016", "0.016", "0.018", "0.013", "0.022"]), pack])),
        "front_clearance",
    )
    assert "Mean of 5 readings 0.017 in, most minus least 0.009 in." in advice.text
    assert "widest near vane five" in advice.text
    assert "(now 0.039 in) changes by 0.001 in, in the way that would open the clearance" in advice.text
    assert "depends on the pump" in advice.text
    assert advice.ask == ""
    assert set(advice.entries) == {"r0", "r1", "r2", "r3", "r4"}


def test_three_vanes_are_too_few_and_four_carry_the_caution() -> None:
    assert not advice_of(SHEET, record(clearances(["0.018", "0.019", "0.017"])))
    advice = about(
        advice_of(SHEET, record(clearances(["0.018", "0.019", "0.017", "0.020"]))), "front_clearance"
    )
    assert "three-lobed" in advice.text
    assert "1 of 5 places have no reading" in advice.text


def test_an_unsure_or_superseded_reading_is_left_out() -> None:
    readings = clearances(["0.018", "0.019", "0.017", "0.020", "0.090"])
    readings[4] = readings[4].model_copy(update={"needs_review": True})
    advice = about(advice_of(SHEET, record(readings)), "front_clearance")
    assert "Mean of 4 readings 0.0185 in" in advice.text
    readings[3] = readings[3].model_copy(update={"superseded_why": "struck"})
    assert not advice_of(SHEET, record(readings))


def test_readings_further_apart_than_the_limits_are_asked_about() -> None:
    advice = about(
        advice_of(SHEET, record(clearances(["0.011", "0.019", "0.025", "0.020", "0.014"]))), "front_clearance"
    )
    assert "no shim brings all of them within" in advice.text
    assert advice.ask


def test_a_mean_at_nominal_leaves_the_shims_alone() -> None:
    advice = about(
        advice_of(SHEET, record(clearances(["0.018", "0.018", "0.018", "0.018", "0.0185"]))),
        "front_clearance",
    )
    assert "leave the shims" in advice.text


def test_stages_along_a_shaft_have_no_tilt() -> None:
    sheet = load_job_sheet("booster-multistage")
    readings = [
        reading(n, "neck_ring_clearance", f"0.3{n}", str(n + 1), unit="mm", stage="as_found")
        for n in range(6)
    ]
    assert not advice_of(sheet, record(readings))


def own_sheet(tmp_path: Path, body: str) -> JobSheet:
    path = tmp_path / "own.yaml"
    path.write_text(
        f"id: own\ntitle: A machine\nunits: {{length: mm, torque: N_m, temperature: degC}}\n{body}", "utf-8"
    )
    return load_job_sheet(path)


def test_places_that_are_named_by_the_clock_lie_where_they_say(tmp_path: Path) -> None:
    sheet = own_sheet(
        tmp_path,
        "readings:\n  - {item: cone_gap, unit: mm, lower: 1, upper: 9, positions: [top, bottom, left, "
        "right]}\n",
    )
    values = {"top": "5", "bottom": "5", "left": "3", "right": "7"}
    readings = [reading(n, "cone_gap", v, p, unit="mm") for n, (p, v) in enumerate(values.items())]
    advice = about(advice_of(sheet, record(readings)), "cone_gap")
    assert "4 mm from side to side, widest near right (90°)" in advice.text


def torque(item: str, value: str, **more: object) -> ReadingEntry:
    return reading(20, item, value, unit="ft_lb", **more)


def test_a_torque_that_agrees_tells_its_tension_and_asks_nothing() -> None:
    found = advice_of(
        SHEET, record([torque("casing_bolt_torque", "90")], [put_on(1, "anti_seize", "casing_bolts")])
    )
    advice = about(found, "casing_bolt_torque")
    # 90 lbf·ft on 5/8-11 grade 5 with K 0.12 (checks F12): 14 400 lbf, 75 % of proof.
    assert "64.1 kN" in advice.text
    assert "75 % of the proof load" in advice.text
    assert advice.ask == ""


def test_anti_seize_on_a_torque_without_it_is_a_deviation_to_ask_about() -> None:
    found = advice_of(
        SHEET, record([torque("gland_nut_torque", "12")], [put_on(1, "anti_seize", "gland_nuts")])
    )
    advice = about(found, "gland_nut_torque")
    assert advice.ask == "anti-seize on a torque that names no lubricant"
    assert "1.7 to 2.5 times what was meant" in advice.text  # checks F18, F19
    assert "ask whoever gave the torque" in advice.text


def test_anti_seize_can_take_a_bolt_over_its_proof_load(tmp_path: Path) -> None:
    sheet = own_sheet(
        tmp_path,
        "parts:\n  - {part: bolts}\nfasteners:\n"
        "  - {item: bolt_torque, part: bolts, thread: 5/8-11 UNC, grade: SAE J429 5, unit: ft_lb, lower: "
        "145, upper: 155}\n",
    )
    found = advice_of(sheet, record([torque("bolt_torque", "150")], [put_on(1, "anti_seize", "bolts")]))
    advice = about(found, "bolt_torque")
    assert "125% of the proof load: the bolt is stretched for good; do not use" in advice.text.replace(
        "125 %", "125%"
    )
    assert advice.ask


def test_thread_locker_and_anti_seize_on_one_thread_are_asked_about() -> None:
    both = [put_on(1, "thread_locker", "impeller_bolt"), put_on(2, "anti_seize", "impeller_bolt")]
    advice = about(
        advice_of(SHEET, record([torque("impeller_bolt_torque", "70")], both)), "impeller_bolt_torque"
    )
    assert advice.ask == "thread locker and anti-seize on one thread"


def test_anti_seize_where_the_sheet_says_thread_locker_is_asked_about() -> None:
    found = advice_of(
        SHEET, record([torque("impeller_bolt_torque", "70")], [put_on(1, "anti_seize", "impeller_bolt")])
    )
    advice = about(found, "impeller_bolt_torque")
    assert advice.ask == "anti-seize on a torque that names thread locker"
    assert "was not published" in advice.text


def test_what_nobody_said_was_put_on_is_told_but_not_asked() -> None:
    advice = about(advice_of(SHEET, record([torque("casing_bolt_torque", "90")])), "casing_bolt_torque")
    assert "counts on anti-seize; nobody said" in advice.text
    assert advice.ask == ""


def test_a_sheet_that_lists_a_lubricant_its_torque_does_not_name_is_told() -> None:
    advice = about(advice_of(SHEET, record([torque("lock_screw_torque", "23")])), "lock_screw_torque")
    assert "find out which it was given for" in advice.text
    assert advice.ask == ""


def test_what_the_sheet_itself_lists_for_the_part_is_no_deviation() -> None:
    found = advice_of(
        SHEET, record([torque("lock_screw_torque", "23")], [put_on(1, "anti_seize", "lock_screws")])
    )
    advice = about(found, "lock_screw_torque")
    assert "find out which it was given for" in advice.text
    assert "If it was given dry, the tension at the same torque is 1.7 to 2.5 times" in advice.text
    assert advice.ask == ""


@pytest.mark.parametrize(("part", "asked"), [("cover", False), ("cover_bolts", True)])
def test_grease_counts_where_the_part_is_itself_a_fastener(tmp_path: Path, part: str, asked: bool) -> None:
    sheet = own_sheet(
        tmp_path,
        f"parts:\n  - {{part: {part}}}\nfasteners:\n"
        f"  - {{item: t_torque, part: {part}, thread: M12, lubricant: dry, unit: N_m}}\n",
    )
    found = advice_of(sheet, record([torque("t_torque", "80")], [put_on(1, "grease", part)]))
    assert bool(about(found, "t_torque").ask) is asked


@pytest.mark.parametrize("name", ["solvent", "abrasive_pad", "sealant"])
def test_what_does_not_stay_on_a_thread_changes_no_torque(name: str) -> None:
    found = advice_of(SHEET, record([torque("gland_nut_torque", "12")], [put_on(1, name, "gland_nuts")]))
    assert about(found, "gland_nut_torque").ask == ""


def test_an_unknown_thread_or_grade_is_no_failure(tmp_path: Path) -> None:
    sheet = own_sheet(
        tmp_path,
        "parts:\n  - {part: nuts}\nfasteners:\n"
        "  - {item: a_torque, part: nuts, thread: weird, unit: ft_lb}\n  - {item: b_torque, unit: ft_lb}\n"
        "  - {item: c_torque, thread: M12, grade: A4-70, unit: ft_lb}\n",
    )
    found = advice_of(sheet, record([torque(i, "50") for i in ("a_torque", "b_torque", "c_torque")]))
    assert [a.about for a in found] == ["c_torque"]
    assert "proof" not in found[0].text


def test_a_ring_clearance_is_compared_where_its_ring_was_measured() -> None:
    sheet = load_job_sheet("wash-water-split-case")
    bore = reading(1, "ring_bore", "160.02", "drive_end", unit="mm")
    # API 610 in reprint (checks W1): 6 to 6.999 in wants 0.018 in, 0.457 mm.
    for clearance, word in (("0.44", ": below 0.457 mm"), ("0.46", ": not below 0.457 mm")):
        left = reading(2, "ring_clearance", clearance, "drive_end", unit="mm")
        advice = about(advice_of(sheet, record([bore, left])), "ring_clearance")
        assert word in advice.text
        assert "no wear limit" in advice.text
    elsewhere = reading(2, "ring_clearance", "0.44", "non_drive_end", unit="mm")
    assert not advice_of(sheet, record([bore, elsewhere]))


def test_an_undecided_reading_gets_its_probability() -> None:
    # checks A6: 0.0019 against 0.0020 with U 0.0002 (the sheet's): u 0.0001, one standard uncertainty below.
    found = advice_of(SHEET, record([reading(1, "shaft_runout", "0.0019", "seal_area", verdict="undecided")]))
    assert (
        "0.0019 in, at the seal: within its limits with a probability of 84 %"
        in about(found, "shaft_runout").text
    )


def test_a_bearing_made_too_hot_is_asked_about() -> None:
    hot = reading(1, "bearing_heat", "260", unit="degF")
    assert about(advice_of(SHEET, record([hot])), "bearing_heat").ask == "bearing heated above 120 °C"
    assert not advice_of(SHEET, record([reading(1, "bearing_heat", "215", unit="degF")]))


def condition(n: int, part: str, what: str, location: str | None = None) -> ConditionEntry:
    return ConditionEntry.model_validate(
        {"id": f"c{n}", "evidence": evidence(n), "part": part, "condition": what, "location": location}
    )


def test_wear_of_a_seal_face_has_candidates_and_the_conflict() -> None:
    found = advice_of(
        SHEET, record(conditions=[condition(1, "rotating_face", "chipped", "on the outside edge")])
    )
    text = about(found, "rotating_face").text
    assert "pressure distorted the face" in text
    assert "from memory, decides nothing" in text
    assert "Guides differ" in text
    assert "not a verdict" in text


def test_wear_of_other_parts_is_left_alone() -> None:
    parts = [condition(1, "impeller", "uneven_wear"), condition(2, "seat_cup", "blistered")]
    assert not advice_of(SHEET, record(conditions=parts))


def test_what_the_picture_shows_is_read_with_what_was_said() -> None:
    chip = FaceDefect(kind="chip", angle_deg=10, arc_deg=5, r_in_mm=22.5, r_out_mm=23.8, score=0.9)
    report = FaceReport(
        usable=True,
        inner_diameter_mm=38.0,
        outer_diameter_mm=47.6,
        track=WearTrack(present=True, evenness="uneven"),
        defects=[chip, chip],
    )
    photo = PhotoEntry(
        id="p1", evidence=evidence(1), of="stationary_seat", picture="a.jpg", face_report=report
    )
    texts = [a.text for a in advice_of(SHEET, record(photos=[photo]))]
    assert len(texts) == 2
    assert any("Chipped in the picture, outer edge" in text for text in texts)
    assert any("Uneven wear in the picture" in text for text in texts)


def test_advice_leaves_the_record_alone_and_repeats() -> None:
    builder = RecordBuilder(SHEET)
    lines = [
        "front clearance vane one eighteen thou", "vane two nineteen thou", "vane three seventeen thou",
        "vane four twenty thou", "vane five sixteen thou", "gland nuts at twelve foot pounds",
        "put anti seize on the gland nuts",
    ]  # fmt: skip
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 4.0 * n, 4.0 * n + 3.0))
    made = builder.record()
    before = made.to_json()
    first = advice_of(SHEET, made)
    assert made.to_json() == before
    assert advice_of(SHEET, made) == first
    assert {advice.about for advice in first} >= {"front_clearance", "gland_nut_torque"}
    known = {entry.id for entry in [*made.readings, *made.consumables, *made.conditions]}
    assert all(set(advice.entries) <= known for advice in first)
