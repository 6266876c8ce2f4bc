"""The report as PDF/A-3b with ``record.json`` attached, typeset by typst with the fonts of its wheel.

The same record gives the same bytes: no system font, no clock. The document's date, which PDF/A
wants, is when the work ended or started as far as known, else the first day of 1970.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import typst

from api.report.view import ReportView
from shared.errors import ReportError

RECORD_NAME = "record.json"
SIGNED_NAME = "signed-record.json"
_TEMPLATE = Path(__file__).parent / "report.typ"
_PARTS = tuple(_TEMPLATE.with_name(name) for name in ("advice.typ", "faces.typ", "signature.typ"))
_DATE_UNKNOWN = datetime(1970, 1, 1, tzinfo=UTC)
_SUFFIXES = {b"\xff\xd8\xff": "jpg", b"\x89PNG": "png", b"RIFF": "webp", b"GIF8": "gif"}


def report_pdf(
    view: ReportView, pictures: Mapping[str, bytes], record_json: bytes, signed_record: bytes | None = None
) -> bytes:
    """Return the document.

    Args:
        view: the prepared view.
        pictures: encoded picture files by the name that the view shows them under.
        record_json: attached as ``record.json``, byte for byte.
        signed_record: attached as ``signed-record.json``, byte for byte, where the record is signed.

    Raises:
        ReportError: the typesetter refused (a damaged picture, for instance).
    """
    date = _date_of(record_json)
    files: dict[str, bytes] = {"main.typ": _TEMPLATE.read_bytes(), RECORD_NAME: record_json}
    files |= {part.name: part.read_bytes() for part in _PARTS}
    shown = _place_files(asdict(view), pictures, files)
    attached = {} if signed_record is None else {SIGNED_NAME: signed_record}
    files |= attached
    files["view.json"] = json.dumps(shown, ensure_ascii=False).encode()
    files["attached.json"] = json.dumps(list(attached)).encode()
    fields = ("year", "month", "day", "hour", "minute", "second")
    files["date.json"] = json.dumps({name: getattr(date, name) for name in fields}).encode()
    try:
        return _typeset(files, date)
    except (typst.TypstError, OSError) as exc:
        raise ReportError(
            f"the PDF could not be typeset: {exc}", remedy="report.html and record.json are complete"
        ) from exc


def _typeset(files: Mapping[str, bytes], date: datetime) -> bytes:
    # In a folder of its own: handed over in memory, the typesetter takes text files only.
    with TemporaryDirectory(prefix="witnessmark-") as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        pdf = typst.compile(
            str(Path(folder) / "main.typ"),
            root=folder,
            ignore_system_fonts=True,
            format="pdf",
            pdf_standards="a-3b",
            timestamp=date,
        )
    assert isinstance(pdf, bytes)
    return pdf


def _place_files(
    shown: dict[str, Any], pictures: Mapping[str, bytes], files: dict[str, bytes]
) -> dict[str, Any]:
    """Put drawings and pictures beside the template and their names into the view."""
    for group in [*shown["found"], *shown["left"]]:
        if group["plot"] is not None:
            name = f"plot-{len(files)}.svg"
            files[name] = group["plot"].encode()
            group["plot"] = name
    for photo in shown["photos"]:
        photo["image"] = _place_picture(pictures.get(photo["shown"], b""), files)
    for face in shown["faces"]:
        for kind in ("annotated", "strip"):
            face[f"{kind}_image"] = _place_picture(pictures.get(face[kind], b""), files)
    return shown


def _place_picture(data: bytes, files: dict[str, bytes]) -> str | None:
    """Put a picture beside the template and return its name; None for a kind that cannot be typeset."""
    suffix = next((s for magic, s in _SUFFIXES.items() if data.startswith(magic)), None)
    if suffix is None:
        return None
    name = f"picture-{len(files)}.{suffix}"
    files[name] = data
    return name


def _date_of(record_json: bytes) -> datetime:
    job = json.loads(record_json)["job"]
    for moment in (job["ended"], job["started"]):
        if moment:
            try:
                date = datetime.fromisoformat(moment)
            except ValueError:
                continue
            return date.astimezone(UTC) if date.tzinfo else date.replace(tzinfo=UTC)
    return _DATE_UNKNOWN
