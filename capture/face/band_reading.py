"""What is read of light bands, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: The yellow line of helium, nanometres: checks U8.
HELIUM_NM = 587.56

Obstacle = Literal[
    "no_bands",
    "too_few",
    "too_fine",
    "hidden",
    "irregular",
    "tool_marks",
    "unsure",
    "out_of_picture",
    "edges",
]

#: Why bands cannot be counted, and what to do.
OBSTACLES: dict[Obstacle, str] = {
    "no_bands": "no light bands stand out of the face: clean and dry face and flat, use light of one colour "
    "only, look squarely and shade the room's lamps",
    "too_few": "fewer than two bands cross the face: press the flat lightly at one side until five to ten do",
    "too_fine": "the bands lie too close to be told apart in this picture: clean dust off, press the flat "
    "until five to ten bands cross the face, or come nearer",
    "hidden": "bands are seen on a part of the face only: clean it, lay the flat over all of it, shade it",
    "irregular": "the bands cannot be followed over the whole face: clean it, shade it, press the "
    "flat until five to ten bands cross the face and take it again, or count by eye",
    "tool_marks": "these are many rings round the face's own centre, as tool marks make them: press the flat "
    "at one side; bands move, tool marks stay",
    "unsure": "the bands are too faint or the picture too coarse to count to a quarter of a band: come "
    "nearer, focus, keep other light away",
    "edges": "the bands do not end where the edges of the face were found: take the picture squarely, with a "
    "dark ground about the face and in its bore",
    "out_of_picture": "the face is not wholly in the picture: take it again",
}

CAUTIONS = (
    "A still picture cannot tell up from down: press the flat at the edge to tell a dish from a crown.",
    "The flat's own error comes on top, and warmth bends both: wait until the bands rest.",
    "A step of whole bands, and waves narrower than a band, are not seen. Flatness alone never passes a "
    "face: the maker's rule does.",
)


@dataclass(frozen=True, slots=True)
class BandReading:
    """What light bands say of a face's flatness. Where they cannot be counted all numbers are None."""

    obstacle: Obstacle | None
    """Why they cannot be counted; None where they can."""
    wavelength_nm: float
    bands: float | None = None
    """Out of flat, in bands."""
    uncertainty_bands: float | None = None
    """Of that, at 95 %; without the flat's own error."""
    across: float | None = None
    """Bands that cross the face, tilt included."""
    dish: float | None = None
    """Bands of departure of the dish or crown alone, inner edge to outer."""
    saddle: float | None = None
    """Bands of departure of the saddle alone; a cylinder shows as both."""
    closed: bool | None = None
    """Whether the bands run round the bore."""
    shown_share: float | None = None
    """Share of the face, 0 to 1, on which bands are seen."""

    @property
    def um(self) -> float | None:
        """Out of flat, in micrometres: half a wave a band (checks U8, U9)."""
        return None if self.bands is None else self.bands * self.band_um

    @property
    def uncertainty_um(self) -> float | None:
        """Of that, at 95 %."""
        return None if self.uncertainty_bands is None else self.uncertainty_bands * self.band_um

    @property
    def band_um(self) -> float:
        """What a band is, in micrometres."""
        return self.wavelength_nm / 2000

    @property
    def advice(self) -> str:
        """What to do where they cannot be counted; empty where they can."""
        return "" if self.obstacle is None else OBSTACLES[self.obstacle]
