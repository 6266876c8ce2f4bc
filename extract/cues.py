"""The words that say how something is meant, from ``cues.yaml``."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import yaml

from shared.errors import SettingError

_FILE = Path(__file__).with_name("cues.yaml")


@cache
def load_cues() -> dict[str, tuple[str, ...]]:
    """Load the cue lists: cue name to what is said for it, lower case.

    Raises:
        SettingError: a list that holds something other than distinct phrases.
    """
    data = yaml.safe_load(_FILE.read_text(encoding="utf-8"))
    cues: dict[str, tuple[str, ...]] = {}
    for name, phrases in data.items():
        if not phrases or any(not isinstance(phrase, str) for phrase in phrases):
            raise SettingError(f"cue {name} holds something that is no phrase", where=_FILE.name)
        if len(set(phrases)) != len(phrases):
            raise SettingError(f"cue {name} holds a phrase twice", where=_FILE.name)
        cues[str(name)] = tuple(phrases)
    return cues
