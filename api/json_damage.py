"""Why bytes are no JSON, in words for whoever gave the file."""

from __future__ import annotations

import json


def json_damage(data: str | bytes, error: Exception) -> str:
    """Return what is wrong with a text that could not be read as JSON, and where.

    Args:
        data: the text.
        error: what the reader raised.
    """
    if not data.strip():
        return "the file is empty"
    if isinstance(error, UnicodeDecodeError):
        return f"no text (byte {error.start})"
    if isinstance(error, json.JSONDecodeError):
        return f"damaged, cut off or no JSON at line {error.lineno}, column {error.colno}"
    return f"no JSON that can be trusted: {error}"
