"""Patterns over words in their normal form, kept as data; a pattern may put in another by its name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path

from extract.tokens import tokenize
from shared.data_files import read_data

_NAMED = re.compile(r"\{(\w+)\}")
#: Signs that nobody says.
_SILENT = frozenset({",", "-", "'", '"', "…", ".", "?", "!", ";", ":"})


def said_words(text: str) -> list[str]:
    """Return the words of a text in their normal form, signs left out: ``what 's left``."""
    return [token.norm for token in tokenize(text) if token.norm not in _SILENT]


class TalkPatterns:
    """The patterns of one file.

    Args:
        path: YAML, name: pattern. A pattern is a regular expression over words parted by single spaces; its
            lines are joined without one.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._compiled: dict[tuple[str, str], re.Pattern[str]] = {}

    def whole(self, name: str, words: Sequence[str]) -> re.Match[str] | None:
        """Match a pattern against all of the words."""
        return self._pattern(name, r"{}").fullmatch(" ".join(words))

    def anywhere(self, name: str, words: Sequence[str]) -> re.Match[str] | None:
        """Find a pattern somewhere among the words."""
        return self._pattern(name, r"(?<!\S){}(?!\S)").search(" ".join(words))

    def leading(self, name: str, words: Sequence[str]) -> int:
        """Return how many of the first words a pattern takes, the most that it can; 0 for none."""
        line = " ".join(words)
        pattern = self._pattern(name, r"{}(?!\S)")
        return (
            next((n for n in range(len(words), 0, -1) if pattern.fullmatch(" ".join(words[:n]))), 0)
            if (pattern.match(line))
            else 0
        )

    def trailing(self, name: str, words: Sequence[str]) -> int:
        """Return how many of the last words a pattern takes, the most that it can; 0 for none."""
        pattern = self._pattern(name, r"{}")
        starts = range(len(words))
        return next((len(words) - at for at in starts if pattern.fullmatch(" ".join(words[at:]))), 0)

    def _pattern(self, name: str, frame: str) -> re.Pattern[str]:
        found = self._compiled.get((name, frame))
        if found is None:
            found = re.compile(frame.replace("{}", f"(?:{self._filled(self._data[name])})"))
            self._compiled[name, frame] = found
        return found

    def _filled(self, text: str) -> str:
        return _NAMED.sub(lambda m: f"(?:{self._filled(self._data[m[1]])})", text)

    @cached_property
    def _data(self) -> dict[str, str]:
        data: dict[str, str] = read_data(self._path)
        return {name: re.sub(r"\n\s*", "", text.strip()) for name, text in data.items()}
