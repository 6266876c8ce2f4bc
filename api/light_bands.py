"""Light bands of a face under an optical flat: for people and for programs."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Any

from capture.face.band_reading import CAUTIONS, BandReading
from capture.face.band_ring import planes_under_flat
from capture.face.flatness import count_bands
from capture.face.inspection import Inspection


def bands_of(inspection: Inspection, wavelength_nm: float) -> BandReading | None:
    """Count the light bands of the face in a picture; None where no face was found.

    Bands hide a face from the ring finder; of the places where it may be, the first whose bands can be
    counted and end at its edges is taken.
    """
    known = inspection.found.plane
    refused: list[BandReading] = []
    for plane in chain([known] if known is not None else [], planes_under_flat(inspection.picture)):
        reading = count_bands(inspection.picture, plane, wavelength_nm)
        if reading.bands is not None:
            return reading
        refused.append(reading)
    return refused[0] if refused else None


def band_rows(reading: BandReading | None) -> Iterator[tuple[str, str]]:
    """Yield what the bands say, with the cautions that belong to it."""
    if reading is None:
        yield (
            "flat",
            "not counted: no face was found; take it so that both edges stand out of what is about them",
        )
        return
    if reading.bands is None or reading.um is None:
        yield "flat", f"not counted: {reading.advice}"
        return
    unsure_bands, unsure_um = reading.uncertainty_bands or 0.0, reading.uncertainty_um or 0.0
    bands = f"{reading.bands:.1f} ± {unsure_bands:.1f} light bands out of flat"
    light = f"light of {reading.wavelength_nm:g} nm, {reading.band_um:.3f} µm a band"
    yield "flat", f"{bands}, {reading.um:.2f} ± {unsure_um:.2f} µm ({light})"
    yield from (("", caution) for caution in CAUTIONS)


def band_json(reading: BandReading | None) -> dict[str, Any] | None:
    """Return the same for programs; None where no face was found."""
    if reading is None:
        return None

    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 4)

    return {
        "obstacle": reading.obstacle,
        "advice": reading.advice,
        "wavelength_nm": reading.wavelength_nm,
        "bands": rounded(reading.bands),
        "uncertainty_bands": rounded(reading.uncertainty_bands),
        "um": rounded(reading.um),
        "uncertainty_um": rounded(reading.uncertainty_um),
    }
