"""Light bands on an optical flat: each is half a wavelength of distance from flat."""

from __future__ import annotations

from extract.shop.method import Figure, Method, Source, Worked, require

METHOD = Method(
    name="light-bands",
    title="Flatness from light bands",
    formula="flatness = bands x wavelength / 2; helium line 587.56 nm: 0.29378 um (11.57 microinch) a band",
    valid="monochromatic helium light, flat and face clean and at one temperature; 0 to 50 bands",
    sources=(
        Source("helium line 587.56 nm, half a wave a band; seal trade text prints 0.0000116 in", "C+R"),
        Source("seal faces: up to 3 bands, leakage to be seen near 5: the same text", "R"),
    ),
)
BAND_UM = 0.58756 / 2
_USUAL, _LEAKS = 3, 5


def flatness_of_bands(bands: float) -> Worked:
    """Work out the flatness.

    Args:
        bands: bands of departure from straight, 0 to 50.

    Raises:
        CalculationOutOfRange: outside.

    Source: METHOD.
    """
    require("light bands", bands, 0, 50)
    figures = (
        Figure("bands", bands),
        Figure("flatness", bands * BAND_UM, "um"),
        Figure("flatness_inch", bands * BAND_UM / 25.4 * 1000, "uin"),
    )
    if bands <= _USUAL:
        note = f"within the usual {_USUAL} bands for a seal face"
    else:
        note = f"above the usual {_USUAL} bands for a seal face; near {_LEAKS} a leak is to be seen"
    return Worked(METHOD, figures, (note,))
