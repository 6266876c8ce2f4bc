"""Cells of tables that spreadsheets take: what was said or typed must run nowhere."""

from __future__ import annotations

import re

#: What spreadsheets begin a formula with, white space before it or not; the full-width forms count too.
_FORMULA = re.compile(r"^\s*[=+\-@＝＋－＠|%]|^[\t\r\n]")


def guarded(text: str) -> str:
    """Return a cell of text; one that a spreadsheet would take for a formula gets an apostrophe before it."""
    return f"'{text}" if _FORMULA.match(text) else text
