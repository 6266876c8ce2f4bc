"""How sure it is that what strays from a face is a mark and no chance: learnt weights of its measures."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import yaml

_WEIGHTS = Path(__file__).with_name("mark_weights.yaml")


@cache
def weights() -> dict[str, dict[str, float]]:
    """Return the weights of each family by measure (bench/train_marks.py)."""
    read = yaml.safe_load(_WEIGHTS.read_text("utf-8"))
    return {
        str(family): {str(name): float(value) for name, value in named.items()}
        for family, named in read.items()
    }


def term(name: str, measures: dict[str, float]) -> float:
    """Return the value of a term: a measure, the product of two ("edge*width"), or the constant 1."""
    if name == "constant":
        return 1.0
    first, _, second = name.partition("*")
    return measures[first] * (measures[second] if second else 1.0)


def belief(family: str, measures: dict[str, float]) -> float:
    """Return how sure it is, 0 to 1.

    Args:
        family: part, patch or score: that it is a mark; deposit: that a mark may clean off.
        measures: by name; all that the family was taught with.
    """
    odds = sum(weight * term(name, measures) for name, weight in weights()[family].items())
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, odds))))
