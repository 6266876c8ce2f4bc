"""Which stage a picture was asked for at: "picture of the seat face as left"."""

from __future__ import annotations

from functools import cache

from extract.cues import load_cues
from shared.record import Stage


def stage_said(words: str) -> Stage:
    """Return the stage that the words of a command name; either where they name none, or both.

    Args:
        words: as heard.
    """
    said = f" {' '.join(words.lower().split())} "
    found: list[Stage] = [stage for stage, forms in _forms() if any(f" {form} " in said for form in forms)]
    return found[0] if len(found) == 1 else "either"


@cache
def _forms() -> tuple[tuple[Stage, tuple[str, ...]], ...]:
    cues = load_cues()
    return ("as_found", cues["as_found"]), ("as_left", cues["as_left"])
