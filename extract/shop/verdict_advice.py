"""Advice on undecided readings: how probable it is that they conform."""

from __future__ import annotations

from fractions import Fraction

from extract.shop.advice import Advice, exact_value, shown, sure_readings
from extract.shop.probability import METHOD, conformance_probability
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


def verdict_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return advice for every sure reading that its uncertainty leaves undecided."""
    found: list[Advice] = []
    for item in sheet.measured.values():
        if not item.uncertainty or (item.lower is None and item.upper is None):
            continue
        lower, upper = (None if limit is None else Fraction(limit) for limit in (item.lower, item.upper))
        for entry in sure_readings(record, item.item):
            if entry.verdict != "undecided":
                continue
            chance = conformance_probability(exact_value(entry), lower, upper, Fraction(item.uncertainty) / 2)
            where = f", {sheet.place_of(entry.position, entry.item)}" if entry.position else ""
            found.append(
                Advice(
                    about=item.item,
                    text=f"{shown(exact_value(entry), item)}{where}: within its limits with a probability of "
                    f"{100 * chance:.0f} %, for a gauge of ± {shown(Fraction(item.uncertainty), item)} (k = "
                    f"2). A gauge that "
                    "tells finer, or the mean of several readings, decides.",
                    method=METHOD,
                    entries=(entry.id,),
                )
            )
    return found
