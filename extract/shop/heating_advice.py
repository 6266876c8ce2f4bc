"""Advice on heating: a part that was made hotter than bearings may be."""

from __future__ import annotations

from extract.shop.advice import Advice, exact_value, shown, spoken_text, sure_readings
from extract.shop.advice_words import says
from extract.shop.heating import HOTTEST_C, METHOD
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from shared.units import convert


def heating_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return advice for every part that was heated above what its bearing stands."""
    found: list[Advice] = []
    for item in sheet.readings:
        text = spoken_text(item)
        if item.measured_kind != "temperature" or not says("heated", text) or "bearing" not in text:
            continue
        hot = [
            e
            for e in sure_readings(record, item.item)
            if convert(exact_value(e), item.unit, "degC") > HOTTEST_C
        ]
        if hot:
            most = max(exact_value(e) for e in hot)
            celsius = float(convert(most, item.unit, "degC"))
            found.append(
                Advice(
                    about=item.item,
                    text=f"{shown(most, item)} is {celsius:.0f} °C: published limits for heating a bearing "
                    f"are 120 to 125 °C. "
                    "Ask its maker before it is used.",
                    method=METHOD,
                    entries=tuple(e.id for e in hot),
                    ask="bearing heated above 120 °C",
                )
            )
    return found
