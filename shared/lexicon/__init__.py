"""The trade lexicon: what mechanics call conditions, actions, consumables, units, commands, parts.

Data stands beside this file as commented YAML, one file a closed vocabulary; the keys are the
contract's names, the values what is said. Nothing here is decided by a sheet.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import get_args

from shared.data_files import read_data
from shared.errors import SettingError
from shared.record import Action, Condition, ConsumableName, Event
from shared.units import UNITS

_HERE = Path(__file__).parent
Phrases = dict[str, tuple[str, ...]]


@dataclass(frozen=True)
class StepWording:
    """How a usual step is said besides the words of a sheet, and which steps of a sheet it fits."""

    when: tuple[frozenset[str], ...]
    """A step fits where its name and wording hold one word of each."""
    never: frozenset[str]
    """A step with one of these does not fit."""
    say: tuple[str, ...]

    def fits(self, words: frozenset[str]) -> bool:
        """Tell whether a step of these words is the one meant."""
        return all(words & group for group in self.when) and not words & self.never


@dataclass(frozen=True)
class Lexicon:
    """Spoken forms by contract name; lower case, words parted by one space, no punctuation."""

    conditions: Phrases
    actions: Phrases
    consumables: Phrases
    units: Phrases
    commands: Phrases
    parts: Phrases
    """Parts of machines in general by snake_case name; heard but not on the sheet: kept as unlisted."""
    steps: tuple[StepWording, ...] = ()


@cache
def load_lexicon() -> Lexicon:
    """Load and check the shipped lexicon.

    Raises:
        SettingError: a name that is not in the closed vocabulary, or a vocabulary word nobody says.
    """
    return Lexicon(
        conditions=_read("conditions", get_args(Condition)),
        actions=_read("actions", get_args(Action)),
        consumables=_read("consumables", get_args(ConsumableName)),
        units=_read("units", UNITS),
        commands=_read("commands", get_args(Event)),
        parts=_read("parts", None),
        steps=_steps(),
    )


def lexicon_sha256() -> str:
    """Return the hash over all lexicon files, for the record's ``made_by``."""
    digest = hashlib.sha256()
    for path in sorted(_HERE.glob("*.yaml")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def _steps() -> tuple[StepWording, ...]:
    rules = read_data(_HERE / "steps.yaml")
    return tuple(
        StepWording(
            tuple(frozenset(group) for group in rule["when"]),
            frozenset(rule.get("not", ())),
            tuple(" ".join(phrase.lower().split()) for phrase in rule["say"]),
        )
        for rule in rules
    )


def _read(name: str, closed: tuple[str, ...] | None) -> Phrases:
    path = _HERE / f"{name}.yaml"
    data = read_data(path)
    phrases = {
        str(key): tuple(" ".join(str(p).lower().split()) for p in forms) for key, forms in data.items()
    }
    if closed is not None and set(phrases) != set(closed):
        odd = sorted(set(phrases) ^ set(closed))
        raise SettingError(f"lexicon names differ from the contract: {odd}", where=path.name)
    for key, forms in phrases.items():
        if not forms or len(set(forms)) != len(forms):
            raise SettingError(f"{key} has no spoken form or one twice", where=path.name)
    return phrases
