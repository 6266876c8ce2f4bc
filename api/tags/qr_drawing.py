"""A QR code drawn, to be printed."""

from __future__ import annotations

import io

import segno

#: Levels of ISO/IEC 18004: M mends 15 % of a code, Q 25 %. Tags get dirty; badges are worn.
LEVEL = "q"


def qr_svg(text: str) -> str:
    """Return a QR code as SVG with its quiet zone of four squares."""
    out = io.BytesIO()
    segno.make(text, error=LEVEL, micro=False).save(
        out, kind="svg", scale=6, border=4, xmldecl=False, svgns=True, omitsize=False
    )
    return out.getvalue().decode()
