"""Advice on wear rings: the clearance that they were left with against the API 610 minimum."""

from __future__ import annotations

from extract.shop.advice import Advice, exact_value, shown, spoken_text, sure_readings
from extract.shop.advice_words import says
from extract.shop.wear_ring import METHOD, least_clearance
from shared.errors import CalculationOutOfRange
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord
from shared.sheet_entries import Reading
from shared.units import SYMBOLS, convert


def ring_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return advice for ring clearances as left whose ring was measured at the same position."""
    found: list[Advice] = []
    lengths = [item for item in sheet.readings if item.measured_kind == "length"]
    diameters = [item for item in lengths if says("ring_diameter", spoken_text(item))]
    for item in lengths:
        if not (says("clearance", spoken_text(item)) and says("ring", spoken_text(item))):
            continue
        for entry in sure_readings(record, item.item):
            ring = _ring(record, diameters, entry.position)
            if entry.stage != "as_found" and ring is not None:
                found += _compared(sheet, item, entry, *ring)
    return found


def _ring(
    record: RebuildRecord, diameters: list[Reading], position: str | None
) -> tuple[Reading, ReadingEntry] | None:
    for item in diameters:
        for entry in sure_readings(record, item.item):
            if entry.position == position:
                return item, entry
    return None


def _compared(
    sheet: JobSheet, item: Reading, entry: ReadingEntry, ring: Reading, diameter: ReadingEntry
) -> list[Advice]:
    try:
        least = least_clearance(convert(exact_value(diameter), ring.unit, "mm"))
    except CalculationOutOfRange:
        return []
    clearance = convert(exact_value(entry), item.unit, "mm")
    wanted = convert(least.clearance_mm, "mm", item.unit)
    where = f", {sheet.place_of(entry.position, entry.item)}" if entry.position else ""
    compared = "below" if clearance < least.clearance_mm else "not below"
    text = (
        f"{shown(exact_value(entry), item)}{where}: {compared} {float(wanted):.3g} {SYMBOLS[item.unit]}, "
        f"the least of "
        f"API 610 for new rings of {shown(exact_value(diameter), ring)}, if it was measured on the diameter. "
        "A minimum for new parts, no wear limit; the pump maker's clearance comes first."
    )
    return [Advice(item.item, text, METHOD, (entry.id, diameter.id))]
