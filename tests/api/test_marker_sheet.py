"""The printable marker sheet: exact sizes in the PDF itself, readable markers, nothing off the paper."""

from __future__ import annotations

import io
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest

from api.marker_sheet import marker_sheet_pdf, write_marker_sheet
from shared.errors import OutputUnwritable

_MM = 72 / 25.4
_FINE = 20  # pixels a millimetre


def filled_boxes(pdf: bytes) -> list[tuple[float, float, float, float]]:
    """Left, bottom, right, top of every filled path, millimetres, as a printer would place them."""
    boxes, stack, matrix, path = [], [], np.eye(3), []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) == 1
        for operands, operator in pikepdf.parse_content_stream(document.pages[0]):
            name, numbers = str(operator), operands
            if name == "q":
                stack.append(matrix)
            elif name == "Q":
                matrix = stack.pop()
            elif name == "cm":
                a, b, c, d, e, f = map(float, numbers)
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            elif name == "re":
                x, y, w, h = map(float, numbers)
                path += [(x, y), (x + w, y + h)]
            elif name in ("m", "l"):
                path.append((float(numbers[0]), float(numbers[1])))
            elif name in ("f", "f*", "F"):
                at = np.column_stack([np.array(path), np.ones(len(path))]) @ matrix
                low, high = at[:, :2].min(0) / _MM, at[:, :2].max(0) / _MM
                boxes.append((*low.tolist(), *high.tolist()))
                path = []
            elif name in ("S", "n", "s"):
                path = []
    return boxes


def printed(boxes: list[tuple[float, float, float, float]]) -> np.ndarray:
    paper = np.full((297 * _FINE, 210 * _FINE), 255, np.uint8)
    for left, bottom, right, top in boxes:
        rows = slice(round((297 - top) * _FINE), round((297 - bottom) * _FINE))
        paper[rows, round(left * _FINE) : round(right * _FINE)] = 0
    return paper


def test_markers_and_bar_have_their_exact_size_on_paper() -> None:
    boxes = filled_boxes(marker_sheet_pdf())
    widths = [right - left for left, _, right, _ in boxes]
    assert max(widths) == pytest.approx(100.0, abs=0.01)
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(book).detectMarkers(printed(boxes))
    assert sorted(numbers.ravel().tolist()) == list(range(12))
    for four in np.asarray(corners, float).reshape(-1, 4, 2):
        sides = np.hypot(*(four - np.roll(four, 1, axis=0)).T) / _FINE
        # The detector's corners are whole pixels, a twentieth of a millimetre.
        assert sides == pytest.approx(20.0, abs=0.11)


def test_a_marker_is_exactly_twenty_millimetres_over_its_black_boxes() -> None:
    boxes = np.array(filled_boxes(marker_sheet_pdf()))
    cells = boxes[(boxes[:, 2] - boxes[:, 0]) < 4]
    first = cells[(cells[:, 0] < cells[:, 0].min() + 25) & (cells[:, 3] > cells[:, 3].max() - 25)]
    assert first[:, 2].max() - first[:, 0].min() == pytest.approx(20.0, abs=0.002)
    assert first[:, 3].max() - first[:, 1].min() == pytest.approx(20.0, abs=0.002)


def test_everything_fits_a4_and_letter_paper() -> None:
    boxes = np.array(filled_boxes(marker_sheet_pdf()))
    assert boxes[:, 0].min() > 8
    assert boxes[:, 2].max() < 202
    # A letter page ends 279.4 mm below its top.
    assert 297 - boxes[:, 1].min() < 265


def test_the_same_bytes_every_time_and_written_where_told(tmp_path: Path) -> None:
    path = tmp_path / "new" / "markers.pdf"
    write_marker_sheet(path)
    assert path.read_bytes() == marker_sheet_pdf()
    with pytest.raises(OutputUnwritable, match="marker sheet cannot be written"):
        write_marker_sheet(path / "markers.pdf")
