"""How flat a face is, from its light bands under an optical flat.

From one dark band to the next the distance of face and flat changes by half a wave, so the bands are
contour lines. Straight, parallel and evenly spaced they are tilt alone: a flat face. Bend over spacing is
the departure from flat in bands; N closed rings are N bands. Sources, read: a university's open course on
physical optics (122103011, module 11, lecture 4: s / x times half a wave; N rings); an army's lesson
(MM0478: nine bands of 11.6 microinches are 104.4); a lapping firm's "Reading light bands"; checks U8, U9.

A surface of up to the fourth degree is fitted to all bands at once, so that bend and uneven spacing both
count, and the tilt is taken out of it. Measured in `tests/capture/test_face_flatness.py`.
"""

from __future__ import annotations

import math

import numpy as np

from capture.face.band_cells import BandCells, band_cells
from capture.face.band_doubt import FormDoubt, doubt_of
from capture.face.band_fit import BandFit, fitted
from capture.face.band_light import BandLight, band_light
from capture.face.band_margins import bands_beyond, bands_within
from capture.face.band_reading import HELIUM_NM, BandReading, Obstacle
from capture.face.band_search import beginnings
from capture.face.face_form import QUADRIC, QUARTIC, FaceForm
from capture.face.plane import FacePlane
from capture.picture_quality import Picture

#: Fewer bands across the face tell nothing of their bend: lighting looks the same.
_FEWEST_ACROSS = 2.0
#: Closest bands that are told apart, in pixels of the picture and in places of the face; at two any sampling
#: fails (Nyquist).
_CLOSEST = 2.5
#: Of 60 drawn faces right forms leave the bands aside by at most 0.02, wrong ones by 0.04 and more; right
#: ones explain 0.55 of the variation and more, pictures without bands up to 0.3.
_MOST_ASIDE, _LEAST_EXPLAINED = 0.03, 0.4
_LEAST_SHOWN = 0.85
#: Of what the bands explain on the face, so much at least just inside its edges, and so much at most just
#: outside. With the true edges of 28 drawn faces 0.74 and more inside, 0.005 and less outside; with one 2 to
#: 7 % of the radius aside mostly under 0.62 inside or over 0.11 outside.
_LEAST_WITHIN, _MOST_BEYOND = 0.65, 0.1
#: More rings than these, of which a circle round the face's centre crosses hardly one, may be tool marks.
_MOST_RINGS, _CENTRED = 6.0, 0.5
#: No count is surer than a twentieth of a band: common practice, no source.
_LEAST_UNSURE = 0.05
#: Uncertainty up to which a count is given, in bands or as a share of them, whichever is more.
_MOST_UNSURE, _MOST_UNSURE_SHARE = 0.25, 0.15
#: A ring that is narrower for its radius is no face: its edges were not found.
_MOST_BORE = 0.97
#: Steps of the first fits, and places along the diameter that they look at.
_FIRST_STEPS, _FIRST_PLACES = 25, 110


def count_bands(picture: Picture, plane: FacePlane, wavelength_nm: float = HELIUM_NM) -> BandReading:
    """Count how many light bands a face is out of flat.

    Args:
        picture: of the face through an optical flat, in light of one colour; shape = (height, width, 3),
            uint8, blue, green, red.
        plane: where the face lies in it.
        wavelength_nm: of the light; the default is the yellow line of helium.

    Returns:
        The departure from flat with its uncertainty, or why it cannot be counted.
    """
    if not 0 < plane.bore <= _MOST_BORE:
        return BandReading("edges", wavelength_nm)
    light = band_light(picture, plane)
    if light.outside > 1 - _LEAST_SHOWN:
        return BandReading("out_of_picture", wavelength_nm)
    if light.outside + light.burnt > 1 - _LEAST_SHOWN:
        return BandReading("hidden", wavelength_nm)
    fit, doubt, cells = _best_fit(light)
    obstacle = _obstacle(light, fit, doubt, cells)
    if obstacle is None and not _ends_at_the_edges(picture, plane, fit):
        obstacle = "edges"
    if obstacle is not None:
        return BandReading(obstacle, wavelength_nm)
    return BandReading(
        None,
        wavelength_nm,
        bands=fit.form.out_of_flat,
        uncertainty_bands=_uncertainty(doubt, cells),
        across=fit.form.bands_across,
        dish=fit.form.dish,
        saddle=fit.form.saddle,
        closed=fit.form.closed,
        shown_share=cells.shown,
    )


def _best_fit(light: BandLight) -> tuple[BandFit, FormDoubt, BandCells]:
    """Return the form that foretells best what it was not fitted to, of plain ones and lobed ones."""
    thin = light.thinned(_FIRST_PLACES)
    tried: list[BandFit] = []
    for begun in beginnings(light):
        # A lobed face drags a plain form away from where a lobed one would have found it: both begin afresh.
        for freed in (QUADRIC, QUARTIC):
            best = max((fitted(thin, each, freed, _FIRST_STEPS) for each in begun), key=_explained)
            tried.append(fitted(light, best.form.weights, freed))
        tried.append(fitted(light, tried[-2].form.weights, QUARTIC))
        if min(band_cells(light, fit).usually_aside for fit in tried) <= _MOST_ASIDE:
            break
    doubts = [doubt_of(light, fit) for fit in tried]
    chosen = int(np.argmax([doubt.foretold for doubt in doubts]))
    return tried[chosen], doubts[chosen], band_cells(light, tried[chosen])


def _explained(fit: BandFit) -> float:
    return fit.explained


def _obstacle(light: BandLight, fit: BandFit, doubt: FormDoubt, cells: BandCells) -> Obstacle | None:
    if fit.explained < _LEAST_EXPLAINED:
        return "no_bands"
    if cells.shown < _LEAST_SHOWN:
        return "hidden"
    if cells.usually_aside > _MOST_ASIDE:
        return "irregular"
    if fit.form.bands_across > _MOST_RINGS and fit.form.round_about < _CENTRED:
        return "tool_marks"
    if _spacing(light, fit.form) < _CLOSEST:
        return "too_fine"
    if fit.form.bands_across < _FEWEST_ACROSS:
        return "too_few"
    if _uncertainty(doubt, cells) > max(_MOST_UNSURE, _MOST_UNSURE_SHARE * fit.form.out_of_flat):
        return "unsure"
    return None


def _ends_at_the_edges(picture: Picture, plane: FacePlane, fit: BandFit) -> bool:
    within = bands_within(picture, plane, fit.form) / fit.explained
    return within >= _LEAST_WITHIN and bands_beyond(picture, plane, fit.form) <= _MOST_BEYOND


def _spacing(light: BandLight, form: FaceForm) -> float:
    """Return the closest distance of two bands, in pixels or places, whichever are coarser."""
    return min(light.px_per_radius, light.places / 2) / max(form.steepest, 1e-9)


def _uncertainty(doubt: FormDoubt, cells: BandCells) -> float:
    """Return twice the standard uncertainty: of the fit, and of what lies aside of it."""
    return max(2 * math.hypot(doubt.bands, cells.usually_aside), _LEAST_UNSURE)
