"""find_quantities beside chains of general libraries, on the same phrases in words and as printed.

Exact: every value and unit of a phrase right and nothing extra, in whatever unit the chain names
them. Wrong: values with a unit that match nothing said. "emits nothing" shows how many phrases hold
no amount at all. The rate is phrases a second on one core, the best of three rounds.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from bench.quantity_chains import Chain, Found, installed_chains, missing_chains, registry
from extract.quantities import find_quantities

DATA = Path(__file__).parents[1] / "tests" / "extract" / "data"
#: Phrases that no rule was tuned on, then those that rules were.
TABLES = {
    "held out": ("quantities_held_out.tsv", "quantities_kept.tsv"),
    "tuned on": ("quantities_tuned.tsv", "quantities_later.tsv", "quantities_fresh.tsv"),
}
_PINT_NAMES = {
    "in": "inch", "mm": "millimeter", "um": "micrometer", "ft_lb": "force_pound * foot",
    "in_lb": "force_pound * inch", "N_m": "newton * meter", "psi": "psi", "bar": "bar", "kPa": "kilopascal",
    "degC": "degC", "degF": "degF", "rpm": "revolutions_per_minute", "mm_s": "millimeter / second",
    "g": "gram", "min": "minute", "s": "second", "percent": "percent",
}  # fmt: skip
_ROUNDS = 3
_CLOSE = 1e-6


class Phrase(NamedTuple):
    """One line of a table."""

    words: str
    printed: str
    amounts: list[tuple[float | None, str | None]]
    """What was said; a value of None: nobody counted."""


def read_phrases(names: Sequence[str]) -> list[Phrase]:
    """Return the lines of phrase tables."""
    phrases = []
    for name in names:
        for line in (DATA / name).read_text("utf-8").splitlines():
            if line.startswith("#"):
                continue
            words, printed, expected = line.split("\t")
            amounts: list[tuple[float | None, str | None]] = []
            for part in expected.split(";") if expected != "-" else []:
                value, *unit = part.split()
                amounts.append((None if value == "~" else float(value), unit[0] if unit else None))
            phrases.append(Phrase(words, printed, amounts))
    return phrases


def ours(text: str) -> list[Found]:
    """Return what find_quantities finds, units in pint's words; what nobody counted is left out."""
    return [(q.value, _PINT_NAMES.get(q.unit or "")) for q in find_quantities(text) if q.value is not None]


def same_amount(found: Found, said: tuple[float | None, str | None]) -> bool:
    """Tell whether an amount found is the one said, units converted."""
    value, unit = said
    if value is None:
        return False
    wanted = _PINT_NAMES.get(unit or "")
    if wanted is None or found[1] is None:
        return wanted is None and found[1] is None and _close(found[0], value)
    quantity = registry().Quantity
    try:
        magnitude = quantity(found[0], found[1]).to(wanted).magnitude
    except Exception:
        # Another kind of thing, or a unit that pint cannot convert: not what was said.
        return False
    return _close(float(magnitude), value)


def _close(first: float, second: float) -> bool:
    return abs(first - second) <= _CLOSE * max(abs(first), abs(second), 1e-9)


def score_chain(chain: Chain, phrases: Sequence[Phrase], printed: bool) -> dict[str, float]:
    """Return the share of phrases read exactly, in percent, and the count of wrong values with a unit."""
    exact = wrong = 0
    for phrase in phrases:
        found = chain(phrase.printed if printed else phrase.words)
        # A chain cannot say "a couple of thou"; leaving it out counts as right for all of them.
        said = [amount for amount in phrase.amounts if amount[0] is not None]
        exact += len(found) == len(said) and all(map(same_amount, found, said))
        wrong += sum(
            1 for one in found if one[1] is not None and not any(same_amount(one, amount) for amount in said)
        )
    return {"exact_percent": round(100 * exact / len(phrases), 1), "wrong": wrong}


def phrases_a_second(chain: Chain, phrases: Sequence[Phrase]) -> int:
    """Return how many phrases a chain reads in a second, on one core."""
    texts = [text for phrase in phrases for text in (phrase.words, phrase.printed)]
    best = float("inf")
    for _ in range(_ROUNDS):
        start = time.process_time()
        for text in texts:
            chain(text)
        best = min(best, time.process_time() - start)
    return round(len(texts) / best)


def measure() -> dict[str, Any]:
    """Score every chain that is installed; name those that are not."""
    chains: dict[str, Chain] = {
        "emits nothing": lambda _: [], **installed_chains(), "find_quantities": ours,
    }  # fmt: skip
    figures: dict[str, Any] = {}
    for title, names in TABLES.items():
        phrases = read_phrases(names)
        scores: dict[str, Any] = {"phrases": len(phrases)}
        for name, chain in chains.items():
            words, printed = (score_chain(chain, phrases, form) for form in (False, True))
            scores[name] = {
                "exact_words_percent": words["exact_percent"],
                "exact_print_percent": printed["exact_percent"],
                "wrong_words": words["wrong"],
                "wrong_print": printed["wrong"],
            }
            if chain is not chains["emits nothing"]:
                scores[name]["phrases_a_second"] = phrases_a_second(chain, phrases)
        figures[title] = scores
    if missing_chains():
        figures["not installed"] = ", ".join(missing_chains()) + "; pip install .[compare] adds them"
    return figures
