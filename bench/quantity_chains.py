"""Chains of general libraries that find amounts in text, as somebody would put them together in an afternoon.

A number library turns words into figures; what stands behind each figure is offered to pint, two
words joined at first ("foot_pound"), then multiplied ("newton * metre"), then one. No trade names
are added: pint knows thou and mil by itself.
"""

from __future__ import annotations

import importlib.util
import re
import warnings
from collections.abc import Callable
from functools import cache, lru_cache
from typing import Any

import pint

#: A magnitude with its unit in pint's words; the unit is None where none was found.
Found = tuple[float, str | None]
Chain = Callable[[str], list[Found]]

_FIGURES = re.compile(r"[-+]?\d+(?:,\d{3})+(?:\.\d+)?|[-+]?\d*\.\d+|[-+]?\d+")
_BEHIND = re.compile(r"[\s-]*(°?[^\W\d_]+(?:\s?/\s?[^\W\d_]+)?)(?:[\s-]+([^\W\d_]+))?")


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return pint's own registry, doubles for numbers."""
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=4096)
def pint_unit(name: str) -> str | None:
    """Return a unit's name if pint knows it as one, else None."""
    try:
        unit = registry().Unit(name)
    except Exception:
        # What pint raises for a word that is no unit depends on the word; any of it means "no unit".
        return None
    return str(unit) if str(unit) != "dimensionless" else None


def figures_with_units(text: str) -> list[Found]:
    """Return every figure of a text with the unit that pint sees behind it."""
    found: list[Found] = []
    for match in _FIGURES.finditer(text):
        behind = _BEHIND.match(text, match.end())
        words = [word for word in (behind.groups() if behind else ()) if word]
        found.append((float(match.group().replace(",", "")), _unit_of(words)))
    return found


def _unit_of(words: list[str]) -> str | None:
    tried = ["_".join(words), " * ".join(words)] if len(words) == 2 else []
    for name in [*tried, *words[:1]]:
        # As written first: "Nm" is no nanometre.
        unit = pint_unit(name) or pint_unit(name.lower())
        if unit is not None:
            return unit
    return None


def _text2num() -> Chain:
    from text_to_num import alpha2digit  # type: ignore[import-not-found, import-untyped, unused-ignore]

    return lambda text: figures_with_units(alpha2digit(text, "en", threshold=0))


def _word2number() -> Chain:
    from word2number import w2n  # type: ignore[import-not-found, import-untyped, unused-ignore]

    known = set(w2n.american_number_system) | {"and"}

    def figures(run: list[str]) -> str:
        try:
            return str(w2n.word_to_num(" ".join(run)))
        except (ValueError, IndexError):
            return " ".join(run)

    def chain(text: str) -> list[Found]:
        pieces: list[str] = []
        run: list[str] = []
        for word in [*text.split(), ""]:
            if word.lower() in known and (run or word.lower() != "and"):
                run.append(word.lower())
                continue
            if run:
                pieces.append(figures(run))
                run = []
            pieces.append(word)
        return figures_with_units(" ".join(pieces))

    return chain


def _quantulum3() -> Chain:
    with warnings.catch_warnings():
        # It asks for a trained classifier that it can do without.
        warnings.simplefilter("ignore")
        from quantulum3 import parser  # type: ignore[import-not-found, import-untyped, unused-ignore]

    def unit(name: str) -> str | None:
        return None if name == "dimensionless" else pint_unit(name.replace(" ", "_").replace("-", "_"))

    return lambda text: [(float(q.value), unit(q.unit.name)) for q in parser.parse(text)]


#: Name, the modules that it needs, how it is made.
_CHAINS: tuple[tuple[str, str, Callable[[], Chain]], ...] = (
    ("text2num + pint", "text_to_num", _text2num),
    ("word2number + pint", "word2number", _word2number),
    ("quantulum3", "quantulum3", _quantulum3),
)


def installed_chains() -> dict[str, Chain]:
    """Return the chains whose libraries are installed, by name."""
    return {name: make() for name, module, make in _CHAINS if importlib.util.find_spec(module) is not None}


def missing_chains() -> list[str]:
    """Return the names of the chains whose libraries are not installed."""
    return [name for name, module, _ in _CHAINS if importlib.util.find_spec(module) is None]
