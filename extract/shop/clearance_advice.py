"""Advice on clearance round a circle: mean, tilt, and what the shim pack would have to change by."""

from __future__ import annotations

from fractions import Fraction

from extract.shop.advice import Advice, exact_value, shown, spoken_text, sure_readings
from extract.shop.advice_words import angle_named, says
from extract.shop.method import Worked
from extract.shop.tilt import METHOD, clearance_round, equal_angles_deg
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord
from shared.sheet_entries import Reading

_LEAST_READINGS = 4
_STAGE_WORDS = {"as_found": "as found: ", "as_left": "", "either": ""}


def clearance_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return advice for every clearance with four sure readings round a circle at one stage."""
    found: list[Advice] = []
    for item in sheet.readings:
        angles = _angles_deg(sheet, item)
        if angles is None or item.measured_kind != "length" or not says("clearance", spoken_text(item)):
            continue
        by_stage: dict[str, dict[str, ReadingEntry]] = {}
        for entry in sure_readings(record, item.item):
            if entry.position is not None and entry.position in angles:
                by_stage.setdefault(entry.stage, {})[entry.position] = entry
        found += [
            _advice(sheet, record, item, angles, entries)
            for entries in by_stage.values()
            if len(entries) >= _LEAST_READINGS
        ]
    return found


def _angles_deg(sheet: JobSheet, item: Reading) -> dict[str | None, float] | None:
    """Return the angle of each of an item's positions; None where they do not lie round a circle."""
    positions = item.positions
    if len(positions) < _LEAST_READINGS:
        return None
    forms = [sheet.spoken_positions(position) for position in positions]
    if all(p.isdigit() for p in positions) and all(says("round_numbered", " | ".join(f)) for f in forms):
        in_turn = sorted(positions, key=int)
        return dict(zip(in_turn, equal_angles_deg(len(in_turn)), strict=True))
    named = [
        angle_named((position.replace("_", " "), *spoken))
        for position, spoken in zip(positions, forms, strict=True)
    ]
    angles = [angle for angle in named if angle is not None]
    if len(set(angles)) < len(positions):
        return None
    return dict(zip(positions, angles, strict=True))


def _advice(
    sheet: JobSheet,
    record: RebuildRecord,
    item: Reading,
    angles: dict[str | None, float],
    entries: dict[str, ReadingEntry],
) -> Advice:
    places = sorted(angles, key=lambda position: angles[position])
    values = [exact_value(entries[p]) if p in entries else None for p in places if p is not None]
    worked = clearance_round(
        values,
        item.unit,
        angles_deg=[angles[p] for p in places],
        uncertainty=None if item.uncertainty is None else Fraction(item.uncertainty),
    )
    mean = sum((v for v in values if v is not None), Fraction(0)) / len(entries)
    spread = Fraction(str(worked.value("spread")))
    stage = _STAGE_WORDS[next(iter(entries.values())).stage]
    sentences = [
        f"{stage}mean of {len(entries)} readings {shown(mean, item)}, "
        f"most minus least {shown(spread, item)}.",
        _tilt_words(sheet, item, worked, angles),
        *(f"{note}." for note in worked.notes[1:]),
    ]
    too_wide = (
        item.lower is not None
        and item.upper is not None
        and spread > Fraction(item.upper) - Fraction(item.lower)
    )
    if too_wide:
        sentences.append("The readings lie further apart than the limits: no shim brings all of them within.")
    sentences += _shim_words(sheet, record, item, mean, entries)
    return Advice(
        about=item.item,
        text=" ".join(f"{s[:1].upper()}{s[1:]}" for s in sentences if s),
        method=METHOD,
        entries=tuple(entry.id for entry in entries.values()),
        ask="readings further apart than the limits" if too_wide else "",
    )


def _tilt_words(sheet: JobSheet, item: Reading, worked: Worked, angles: dict[str | None, float]) -> str:
    high, amplitude = worked.value("high_point"), worked.value("side_to_side")
    assert isinstance(high, float)
    assert isinstance(amplitude, float)
    nearest = min(angles, key=lambda p: abs((angles[p] - high + 180) % 360 - 180))
    place = sheet.place_of(nearest or "", item.item)
    tilt = f"Tilt: {shown(amplitude, item)} from side to side, widest near {place} ({high:.0f}°)."
    # The same readings mean two things; only whoever took them knows which.
    return f"{tilt} If the wheel was turned to one place for every reading, it is the wheel that is out."


def _shim_words(
    sheet: JobSheet, record: RebuildRecord, item: Reading, mean: Fraction, entries: dict[str, ReadingEntry]
) -> list[str]:
    """Say by how much the pack would have to change, where the sheet has one and the clearance is as left."""
    packs = [r for r in sheet.readings if r.measured_kind == "length" and says("shims", spoken_text(r))]
    as_found = all(entry.stage == "as_found" for entry in entries.values())
    if not packs or item.nominal is None or as_found:
        return []
    change = Fraction(item.nominal) - mean
    if abs(change) <= Fraction(item.uncertainty or 0):
        return ["The mean is at nominal as far as the gauge can tell: leave the shims."]
    way = "open" if change > 0 else "close"
    now = [e for e in sure_readings(record, packs[0].item) if e.stage != "as_found"]
    pack = f" (now {shown(exact_value(now[-1]), packs[0])})" if now else ""
    return [
        f"Shims: to bring the mean to nominal the pack{pack} changes by {shown(abs(change), item)}, in the "
        f"way that "
        f"would {way} the clearance; which way that is depends on the pump. witnessmark calc shims picks "
        f"them."
    ]
