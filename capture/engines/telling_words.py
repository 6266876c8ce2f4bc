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
#: What may stand alone between two numbers besides names.
_BETWEEN = JOINTS | frozenset(
    [
        "at", "be", "but", "by", "down", "er", "final", "first", "for", "found", "from", "gets", "got",
        "i", "in", "is", "it", "just", "left", "like", "limit", "make", "makes", "minus", "no", "not",
        "now", "off", "on", "or", "over", "plus", "reads", "says", "so", "sorry", "than", "that",
        "then", "to", "um", "up", "wait", "was", "were", "with", "yes",
    ]
)  # fmt: skip
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
        names = [form for entry in (*sheet.measured.values(), *sheet.parts) for form in entry.spoken]
        self._named = {word for form in names for word in form.split()} | _BETWEEN
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

    def breaks_a_number(self, text: str) -> bool:
        """Tell whether one word that has no business there stands between two numbers.

        ``twenty seven pull eight nine``: most likely a word of the number itself, misheard.
        """
        words = text.split()
        return any(
            number_word(before)
            and number_word(after)
            and not (self(word) or word in self._named or "'" in word)
            for before, word, after in zip(words, words[1:], words[2:], strict=False)
        )

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
