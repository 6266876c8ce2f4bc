"""How a word that no dictionary holds is probably said: letters to sounds by their neighbours.

A table gives for a letter among its neighbours (up to four on each side) the sounds it stands for;
the widest context that the table knows decides (a decision tree with default answers: Daelemans and
van den Bosch 1996, "Language-independent data-oriented grapheme-to-phoneme conversion"). The table is
made from the CMU dictionary by ``python -m capture.vocabulary.train_letter_to_sound``, which also
measures it on words held back: see the head of ``letter_to_sound.txt``.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

TABLE = Path(__file__).parent / "letter_to_sound.txt"
WIDEST = 8
EDGE = "#"

Sounds = tuple[str, ...]
Table = dict[str, Sounds]


def contexts(word: str, at: int) -> Iterator[str]:
    """Yield the contexts of one letter from narrow to wide: ``t``, ``t.o``, ``#t.o``, ``#t.oo`` …

    The dot stands after the letter itself, so that left and right cannot be mixed up.
    """
    padded = EDGE * 4 + word + EDGE * 4
    centre = at + 4
    for width in range(WIDEST + 1):
        left, right = width // 2, (width + 1) // 2
        yield f"{padded[centre - left : centre + 1]}.{padded[centre + 1 : centre + 1 + right]}"


def narrower(context: str) -> str:
    """Return the context that is one neighbour narrower."""
    left, right = context.split(".")
    return f"{left}.{right[:-1]}" if len(right) >= len(left) else f"{left[1:]}.{right}"


@cache
def load_table(path: Path = TABLE) -> Table:
    """Read the table: a line ``context sound sound``; no sound where the letter is silent."""
    table: Table = {}
    for line in path.read_text(encoding="ascii").splitlines():
        if line and not line.startswith("//"):
            context, *sounds = line.split()
            table[context] = tuple(sounds)
    return table


def sounds_of(word: str, table: Table | None = None) -> Sounds:
    """Return the probable CMU phones of a word of letters a to z; empty for a word without any letter."""
    table = load_table() if table is None else table
    letters = "".join(c for c in word.lower() if "a" <= c <= "z")
    said: list[str] = []
    for at in range(len(letters)):
        best: Sounds = ()
        for context in contexts(letters, at):
            best = table.get(context, best)
        said.extend(best)
    return tuple(said)
