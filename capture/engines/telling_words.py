"""The words that tell one reading from another: numbers, units, positions."""

from __future__ import annotations

from capture.engines.numbers_heard import number_word
from shared.job_sheet import JobSheet
from shared.lexicon import load_lexicon

#: In names of units and positions, but of no weight by themselves.
_LITTLE = frozenset(["a", "an", "and", "at", "of", "off", "in", "on", "per", "the", "to", "them", "one"])
#: Stands for words that do not count.
GAP = "|"
#: Between number words these belong to the number (``a thou and a half``, ``an eighth of an inch``).
JOINTS = frozenset(["a", "an", "and", "of", "the"])
#: Written otherwise, said as a unit is.
_SAME_SOUND = {"mill": "mil", "mills": "mil"}


class TellingWords:
    """Says of a word what counts of it when two hearings of one utterance are compared.

    Args:
        sheet: whose positions count beside numbers and units.
    """

    def __init__(self, sheet: JobSheet) -> None:
        units = [form for forms in load_lexicon().units.values() for form in forms]
        positions = [form for position in sheet.positions for form in sheet.spoken_positions(position)]
        self._units = {word for form in units for word in form.split() if word.isalpha()} - _LITTLE
        self._positions = {word for form in positions for word in form.split()} - _LITTLE

    def __call__(self, word: str) -> str:
        """Return what counts of a word as the decoder writes it, empty where nothing does."""
        word = word.partition("(")[0].removesuffix("'s")  # three's thirty
        number = number_word(word)
        if number or word in self._positions:
            return number or word
        if word in self._units or any(piece in self._units for piece in word.split("_")):
            return _SAME_SOUND.get(word, word).removesuffix("s")
        if word in _SAME_SOUND:
            return _SAME_SOUND[word]
        return ""

    def of(self, text: str) -> tuple[str, ...]:
        """Return what counts of a text, in order, with :data:`GAP` where other words part two numbers.

        A zero before a point only begins a number, as a gap does: ``stage two zero point three``.
        """
        told: list[str] = []
        words = text.split()
        for at, word in enumerate(words):
            counts = self(word)
            begins = counts == "oh" and self((*words, "")[at + 1]) == "point"
            if begins or (not counts and word not in JOINTS):
                counts = GAP
            if counts and not (counts == GAP and told[-1:] == [GAP]):
                told.append(counts)
        kept = [
            counts
            for at, counts in enumerate(told)
            if counts != GAP or (number_word(told[at - 1]) and at and number_word((*told, "")[at + 1]))
        ]
        return tuple(kept)
