"""An utterance as words by their places: past either end there is silence, never an error."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_words import ONES, REPEATS, TEENS, TENS, ZEROS
from extract.spoken_units import unit_names_at
from extract.tokens import Token

#: Words for single figures, as codes are read out.
FIGURE_WORDS: Final = frozenset({*ONES, *ZEROS, *REPEATS})
#: Words that a code or a number run on is made of.
PIECE_WORDS: Final = frozenset({*FIGURE_WORDS, *TEENS, *TENS})


class Wording:
    """Tokens with the questions that the rooms about names and labels ask of them."""

    __slots__ = ("_pieces", "_size", "norms", "tokens")

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self._lay_out([token.norm for token in tokens])

    def _lay_out(self, norms: list[str]) -> None:
        self.norms = norms
        self._size = len(norms)
        self._pieces = [norm in PIECE_WORDS or norm[:1].isdecimal() for norm in norms]

    @classmethod
    def of_words(cls, norms: Sequence[str]) -> Wording:
        """Return a wording of bare words, for questions that need no places in a text."""
        line = cls(())
        line._lay_out(list(norms))
        return line

    def __len__(self) -> int:
        return self._size

    def __getitem__(self, i: int) -> str:
        """Return the word at ``i``; empty past the ends."""
        return self.norms[i] if 0 <= i < self._size else ""

    def is_piece(self, i: int) -> bool:
        """Tell whether the word at ``i`` can be a piece of a code: a number word or figures."""
        return 0 <= i < self._size and self._pieces[i]

    def has_unit(self, i: int) -> bool:
        """Tell whether a unit stands at ``i``, foreign ones included."""
        return bool(unit_names_at(self.tokens, i)[0])

    def measures(self, i: int) -> bool:
        """Tell whether a unit of the closed list stands at ``i``."""
        names = unit_names_at(self.tokens, i)[0]
        return bool(names) and not names[0].foreign

    def touching(self, i: int) -> bool:
        """Tell whether the token at ``i`` follows the one before it without a gap."""
        return 0 < i < len(self.tokens) and self.tokens[i].start == self.tokens[i - 1].end
