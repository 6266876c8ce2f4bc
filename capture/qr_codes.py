"""QR codes (ISO/IEC 18004) in a picture: tags and badges held up to a camera, worn, tilted, greasy.

Read by zxing-cpp (Apache-2.0): it read more rendered tags than the two readers of OpenCV, in a tenth of their
time, and never another text (figures in ``tests/capture/test_qr_codes.py``). The looks after the first add
most where a tag is greasy, out of focus, moving or in the dark.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.file_kinds import HEAD_BYTES, file_kind
from capture.picture_size import picture_size
from shared.errors import PictureUnreadable

#: A camera's frame; larger ones come from nobody who holds up a tag.
MOST_PIXELS = 8_400_000
#: Below this size a tag's squares may be less than two pixels: a second look is taken at twice the size.
_FINE_PX = 2000

Grey = NDArray[np.uint8]


def read_qr_codes(frame: bytes) -> tuple[str, ...]:
    """Return the texts of the QR codes in a picture, each once; looked at again only where there are none.

    Args:
        frame: JPEG, PNG or WebP.

    Raises:
        PictureUnreadable: no such picture, damaged, or too large.
    """
    grey = _grey(frame)
    return next((found for look in _LOOKS if (found := _read(look(grey)))), ())


def _grey(frame: bytes) -> Grey:
    kind, size = file_kind(frame[:HEAD_BYTES]), picture_size(frame)
    if kind is None or kind.family != "picture" or size is None:
        raise PictureUnreadable("this is no picture that we know", expected="a JPEG, PNG or WebP frame")
    if not 0 < size[0] * size[1] <= MOST_PIXELS:
        raise PictureUnreadable(
            f"it has {size[0]} x {size[1]} pixels", expected=f"at most {MOST_PIXELS / 1e6:.1f} megapixels"
        )
    try:
        grey = cv2.imdecode(np.frombuffer(frame, np.uint8), cv2.IMREAD_GRAYSCALE)
    except cv2.error:
        grey = None
    if grey is None or not grey.size:
        raise PictureUnreadable("it is cut off or damaged", remedy="send the next frame")
    return np.ascontiguousarray(grey, np.uint8)


def _read(grey: Grey) -> tuple[str, ...]:
    import zxingcpp

    only = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    found = zxingcpp.read_barcodes(grey, formats=only, text_mode=zxingcpp.TextMode.Plain)
    return tuple(dict.fromkeys(code.text for code in found if code.valid and code.text))


def _twice(grey: Grey) -> Grey:
    if max(grey.shape) > _FINE_PX:
        return grey
    return np.asarray(cv2.resize(grey, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC), np.uint8)


def _sharper(grey: Grey) -> Grey:
    """Return a picture with specks taken out, light evened and edges drawn."""
    even = cv2.createCLAHE(3, (8, 8)).apply(cv2.medianBlur(grey, 3))
    return np.asarray(cv2.addWeighted(even, 2.2, cv2.GaussianBlur(even, (0, 0), 2), -1.2, 0), np.uint8)


def _looks() -> Iterator[Callable[[Grey], Grey]]:
    yield lambda grey: grey
    yield _twice
    yield _sharper
    yield lambda grey: _twice(_sharper(grey))


_LOOKS = tuple(_looks())
