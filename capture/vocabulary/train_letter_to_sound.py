"""Make ``letter_to_sound.txt`` from the CMU dictionary that comes with pocketsphinx, and measure it.

Run ``python -m capture.vocabulary.train_letter_to_sound``; takes about two minutes on one core.
Letters and phones are aligned by Viterbi training (each letter stands for none, one or two phones);
contexts are then kept only where they beat the answer of the next narrower one.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from random import Random

from capture.vocabulary.letter_to_sound import TABLE, Sounds, Table, contexts, narrower, sounds_of
from capture.vocabulary.pronunciations import general_dictionary

_VOWELS = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"]
)
_ROUNDS = 5
_LEAST_GAIN = 2
HELD_BACK_SHARE = 20
"""One word in so many is held back for measuring."""

Cost = Callable[[str, Sounds], float]
Aligned = tuple[str, list[Sounds]]


def split_words(seed: int = 7) -> tuple[dict[str, list[Sounds]], dict[str, list[Sounds]]]:
    """Return (training, held back): plain words of the dictionary with all their pronunciations."""
    known = {
        word: [tuple(form.split()) for form in forms]
        for word, forms in general_dictionary().items()
        if re.fullmatch(r"[a-z]{2,}", word)
    }
    words = sorted(known)
    Random(seed).shuffle(words)  # noqa: S311  not for secrets
    cut = len(words) // HELD_BACK_SHARE
    return {w: known[w] for w in words[cut:]}, {w: known[w] for w in words[:cut]}


def _first_cost(letter: str, sounds: Sounds) -> float:
    if not sounds:
        return 2.5
    wrong_kind = sum((sound in _VOWELS) != (letter in "aeiouy") for sound in sounds)
    return (1.5 if len(sounds) == 1 else 4.0) + 2 * wrong_kind


def align(word: str, sounds: Sounds, cost: Cost) -> list[Sounds] | None:
    """Return the cheapest share of ``sounds`` for each letter, or None where two a letter do not reach."""
    count = len(sounds)
    best: list[dict[int, tuple[float, int]]] = [{0: (0.0, 0)}]
    for letter in word:
        row: dict[int, tuple[float, int]] = {}
        for at, (so_far, _) in best[-1].items():
            for taken in range(min(2, count - at) + 1):
                price = so_far + cost(letter, sounds[at : at + taken])
                if at + taken not in row or price < row[at + taken][0]:
                    row[at + taken] = (price, taken)
        best.append(row)
    if count not in best[-1]:
        return None
    shares: list[Sounds] = []
    end = count
    for row in reversed(best[1:]):
        taken = row[end][1]
        shares.append(sounds[end - taken : end])
        end -= taken
    return shares[::-1]


def _cost_of(table: dict[tuple[str, Sounds], float]) -> Cost:
    return lambda letter, share: table.get((letter, share), 12.0)


def align_all(words: dict[str, list[Sounds]]) -> list[Aligned]:
    """Align the first pronunciation of every word."""
    cost: Cost = _first_cost
    aligned: list[Aligned] = []
    for _ in range(_ROUNDS):
        found = ((word, align(word, forms[0], cost)) for word, forms in words.items())
        aligned = [(word, shares) for word, shares in found if shares is not None]
        pairs = Counter(
            (letter, share) for word, shares in aligned for letter, share in zip(word, shares, strict=True)
        )
        letters = Counter(letter for word, _ in aligned for letter in word)
        table = {pair: -math.log(n / letters[pair[0]]) for pair, n in pairs.items()}
        cost = _cost_of(table)
    return aligned


def grow_table(aligned: Iterable[Aligned], least_gain: int = _LEAST_GAIN) -> Table:
    """Return contexts whose own answer is right ``least_gain`` times more often than the narrower one's."""
    counts: defaultdict[str, Counter[Sounds]] = defaultdict(Counter)
    for word, shares in aligned:
        for at, share in enumerate(shares):
            for context in contexts(word, at):
                counts[context][share] += 1
    table: Table = {}
    for context in sorted(counts, key=lambda c: (len(c), c)):
        answer, right = counts[context].most_common(1)[0]
        inherited = _inherited(context, table)
        if inherited is None or (answer != inherited and right - counts[context][inherited] >= least_gain):
            table[context] = answer
    return table


def _inherited(context: str, table: Table) -> Sounds | None:
    while len(context) > 2:
        context = narrower(context)
        if context in table:
            return table[context]
    return None


def edit_distance(first: Sounds, second: Sounds) -> int:
    """Return the Levenshtein distance between two sequences."""
    row = list(range(len(second) + 1))
    for n, one in enumerate(first, 1):
        corner, row[0] = row[0], n
        for at, other in enumerate(second, 1):
            corner, row[at] = row[at], min(row[at] + 1, row[at - 1] + 1, corner + (one != other))
    return row[-1]


def error_rates(table: Table, held_back: dict[str, list[Sounds]]) -> tuple[float, float]:
    """Return (phone error rate, share of words with any error), against the nearest pronunciation listed."""
    wrong = phones = words = 0
    for word, forms in held_back.items():
        said = sounds_of(word, table)
        errors, length = min((edit_distance(said, form), len(form)) for form in forms)
        wrong, phones, words = wrong + errors, phones + length, words + (errors > 0)
    return wrong / phones, words / len(held_back)


def main() -> None:
    """Write the table and print its error rates."""
    training, held_back = split_words()
    table = grow_table(align_all(training))
    phone_errors, word_errors = error_rates(table, held_back)
    head = (
        "// Made from the CMU dictionary of the pocketsphinx package by train_letter_to_sound.py.\n"
        f"// {len(training)} words trained on, {len(held_back)} held back: {100 * phone_errors:.1f} % "
        f"of phones wrong, {100 * word_errors:.1f} % of words with an error.\n"
    )
    lines = [" ".join((context, *sounds)) for context, sounds in table.items()]
    TABLE.write_text(head + "\n".join(lines) + "\n", encoding="ascii")
    print(head, len(table), "contexts")


if __name__ == "__main__":
    main()
