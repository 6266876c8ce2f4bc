"""The report as one HTML file that needs nothing else: styles, drawings and pictures are inside it."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.report.view import ReportView

_HERE = Path(__file__).parent
_MEDIA_TYPES = {
    b"\xff\xd8\xff": "image/jpeg",
    b"\x89PNG": "image/png",
    b"RIFF": "image/webp",
    b"GIF8": "image/gif",
}


def report_html(view: ReportView, pictures: Mapping[str, bytes]) -> str:
    """Return the page.

    Args:
        view: the prepared view.
        pictures: encoded picture files by the name that the view shows them under; one that is
            absent is named on the page instead.
    """
    template = _templates().get_template("report.html.j2")
    css = (_HERE / "report.css").read_text(encoding="utf-8")
    urls = {name: url for name, data in pictures.items() if (url := _data_url(data))}
    return template.render(view=view, pictures=urls, css=css) + "\n"


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(_HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )


def _data_url(data: bytes) -> str | None:
    """Return a picture as a data URL, or None for a kind that browsers do not show."""
    for magic, media_type in _MEDIA_TYPES.items():
        if data.startswith(magic):
            return f"data:{media_type};base64,{base64.b64encode(data).decode('ascii')}"
    return None
