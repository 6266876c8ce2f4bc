"""The words that say how something is meant, from ``cues.yaml``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from shared.data_files import read_data
from shared.errors import SettingError

_CHOICE = re.compile(r"\{([^{}]*)\}")
_FILE = Path(__file__).with_name("cues.yaml")


@cache
def load_cues() -> dict[str, tuple[str, ...]]:
    """Load the cue lists: cue name to what is said for it, lower case.

    Raises:
        SettingError: a list that holds something other than distinct phrases.
    """
    data = read_data(_FILE)
    cues: dict[str, tuple[str, ...]] = {}
    for name, templates in data.items():
        if not templates or any(not isinstance(phrase, str) for phrase in templates):
            raise SettingError(f"cue {name} holds something that is no phrase", where=_FILE.name)
        phrases = [phrase for template in templates for phrase in spelled_out(template)]
        if len(set(templates)) != len(templates):
            raise SettingError(f"cue {name} holds a phrase twice", where=_FILE.name)
        cues[str(name)] = tuple(dict.fromkeys(phrases))
    return cues


def spelled_out(template: str) -> Iterator[str]:
    """Yield the phrases of a template, the innermost "{a|b|}" first; one without braces is itself."""
    choice = _CHOICE.search(template)
    if choice is None:
        yield " ".join(template.split())
        return
    for words in choice.group(1).split("|"):
        yield from spelled_out(template[: choice.start()] + words + template[choice.end() :])
