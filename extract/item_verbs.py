"""Verbs that name an item by how it is measured ("heated them to …"), from ``item_verbs.yaml``."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

from extract.cues import spelled_out
from extract.spoken_forms import other_number
from shared.data_files import read_data

_FILE = Path(__file__).with_name("item_verbs.yaml")


class ItemVerb(NamedTuple):
    """One such way of speaking."""

    kind: str
    """Of what is measured."""
    words: frozenset[str]
    """One of them is in the item's name or in what it is called."""
    without: frozenset[str]
    """None of them is."""
    of: frozenset[str]
    """Last words of the item's name, where "~" among the words said stands for what is before them."""
    say: tuple[str, ...]

    def said_of(self, owner: str) -> tuple[str, ...]:
        """Return the words with the item's owner in them, in both numbers."""
        owners = dict.fromkeys((owner, other_number(owner)))
        return tuple(phrase.replace("~", one) for one in owners for phrase in self.say)


@cache
def load_item_verbs() -> tuple[ItemVerb, ...]:
    """Load the list."""
    rules = read_data(_FILE)
    return tuple(
        ItemVerb(
            rule["kind"],
            frozenset(rule.get("words", ())),
            frozenset(rule.get("without", ())),
            frozenset(rule.get("of", ())),
            tuple(dict.fromkeys(phrase for template in rule["say"] for phrase in spelled_out(template))),
        )
        for rule in rules
    )
