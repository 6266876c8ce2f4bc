"""Whether a word that can mean a finding or an action means one, by its neighbours (``senses.yaml``)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from shared.data_files import read_data

_FILE = Path(__file__).with_name("senses.yaml")


@dataclass(frozen=True, slots=True)
class Sense:
    """One rule: where it holds and what it refuses; words of a phrase are joined by an underscore."""

    words: frozenset[str]
    if_before: frozenset[str]
    if_after: frozenset[str]
    not_before: frozenset[str]
    not_after: frozenset[str]
    need_before: frozenset[str]
    need_after: frozenset[str]
    need_machine: bool
    """Only where a part follows ("came out of the casing")."""

    def refuses(self, before: str, after: str, part_follows: bool) -> bool:
        """Whether the neighbours show that the word means something else."""
        if (self.if_before and before not in self.if_before) or (
            self.if_after and after not in self.if_after
        ):
            return False
        if before in self.not_before or after in self.not_after:
            return True
        if (self.need_before and before not in self.need_before) or (
            self.need_after and after not in self.need_after
        ):
            return True
        return self.need_machine and not part_follows


@cache
def _senses(kind: str) -> dict[str, tuple[Sense, ...]]:
    data: dict[str, list[dict[str, Any]]] = read_data(_FILE)
    by_word: dict[str, list[Sense]] = {}
    for rule in data[kind]:
        sense = Sense(
            words=_words(rule, "words"),
            if_before=_words(rule, "if_before"),
            if_after=_words(rule, "if_after"),
            not_before=_words(rule, "not_before"),
            not_after=_words(rule, "not_after"),
            need_before=_words(rule, "need_before"),
            need_after=_words(rule, "need_after"),
            need_machine=bool(rule.get("need_machine", False)),
        )
        for word in sense.words:
            by_word.setdefault(word, []).append(sense)
    return {word: tuple(senses) for word, senses in by_word.items()}


def _words(rule: dict[str, Any], name: str) -> frozenset[str]:
    return frozenset(str(rule.get(name, "")).replace('"', "").split())


def senses_allow(kind: str, words: list[str], before: str, after: str, part_follows: bool) -> bool:
    """Tell whether nothing beside a condition's or an action's words shows that they mean something else.

    Args:
        kind: condition or action.
        words: of the phrase.
        before: the word before it, empty where there is none.
        after: the word behind it.
        part_follows: a part is named within a few words behind it.
    """
    return not any(
        sense.refuses(before, after, part_follows) for sense in _senses(kind).get("_".join(words), ())
    )
