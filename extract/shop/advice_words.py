"""The words by which advice finds its readings on a job sheet (``advice_words.yaml``)."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

from shared.data_files import read_data


@cache
def _data() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("advice_words.yaml"))
    return data


def says(name: str, text: str) -> bool:
    """Tell whether a text holds a word of the list ``name``.

    Raises:
        KeyError: no such list; a slip in our own code.
    """
    return any(re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text.lower()) for word in _data()[name])


def angle_named(forms: tuple[str, ...]) -> float | None:
    """Return the place on a circle that a position names, degrees clockwise from the top; None for none."""
    for form in forms:
        for phrase, angle in _data()["round_named"].items():
            if re.search(rf"(?<!\w){re.escape(phrase)}(?!\w)", form.lower().replace("'", " ")):
                return float(angle)
    return None
