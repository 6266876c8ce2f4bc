"""The printable sheet of markers that give the pictures of seal faces their scale."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import typst

from api.report.wording import CLOSING, DECONTAMINATION
from capture.face.marker import MARKER_MM, marker_cells
from shared.errors import OutputUnwritable, ReportError

_TEMPLATE = Path(__file__).with_suffix(".typ")
#: Each with another number, for talking about them.
_MARKERS = 12
_BAR_MM = 100
#: A printer that is off by more makes diameters wrong by more than a third of what is allowed (1.5 per cent).
_BAR_SLACK_MM = 0.5
#: Common practice, no source: lapped faces are brittle and marked by anything harder.
_HANDLING = "Lay nothing on a lapped face, and touch it with clean gloves only: it chips and scratches."


def marker_sheet_pdf() -> bytes:
    """Return the sheet as PDF, the same bytes every time.

    Raises:
        ReportError: the typesetter refused.
    """
    sheet = {
        "side_mm": round(MARKER_MM),
        "bar_mm": _BAR_MM,
        "bar_slack_mm": _BAR_SLACK_MM,
        "markers": [{"number": n, "cells": marker_cells(n).tolist()} for n in range(_MARKERS)],
        "cautions": [DECONTAMINATION, _HANDLING],
        "closing": CLOSING,
    }
    with TemporaryDirectory(prefix="witnessmark-") as folder:
        (Path(folder) / "main.typ").write_bytes(_TEMPLATE.read_bytes())
        (Path(folder) / "sheet.json").write_text(json.dumps(sheet), "utf-8")
        try:
            pdf = typst.compile(
                str(Path(folder) / "main.typ"),
                root=folder,
                ignore_system_fonts=True,
                format="pdf",
                timestamp=datetime(1970, 1, 1, tzinfo=UTC),
            )
        except (typst.TypstError, OSError) as exc:
            raise ReportError(f"the marker sheet could not be typeset: {exc}") from exc
    assert isinstance(pdf, bytes)
    return pdf


def write_marker_sheet(path: Path | str) -> None:
    """Write the sheet.

    Raises:
        OutputUnwritable: it cannot be written there.
        ReportError: the typesetter refused.
    """
    path = Path(path)
    pdf = marker_sheet_pdf()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(pdf)
    except OSError as exc:
        raise OutputUnwritable(
            f"the marker sheet cannot be written ({exc.strerror})", where=str(path)
        ) from exc
