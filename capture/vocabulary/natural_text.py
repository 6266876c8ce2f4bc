"""The hand-written lines of natural bench talk, and how often a phrase is said in them."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

TEXT_DIR = Path(__file__).parent / "text"
_LONGEST = 5


@cache
def natural_lines(folder: Path = TEXT_DIR / "natural") -> tuple[str, ...]:
    """Read the hand-written lines of all files, in the order of their names."""
    return tuple(
        line.strip()
        for path in sorted(folder.glob("*.txt"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.strip() and not line.startswith("#")
    )


def times_said(phrase: str) -> int:
    """Return how often natural talk says a phrase of up to five words; a longer one counts as never said."""
    return _phrases()[phrase]


@cache
def _phrases() -> Counter[str]:
    said: Counter[str] = Counter()
    for line in natural_lines():
        words = line.split()
        said.update(
            " ".join(words[at : at + length])
            for length in range(1, _LONGEST + 1)
            for at in range(len(words) - length + 1)
        )
    return said
