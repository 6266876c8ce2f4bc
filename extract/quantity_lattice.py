"""Which numbers with which units an utterance holds: the cheapest way to read all its number words.

Every reading of every number, with every unit that can stand behind it, is an edge from its first
token to the token after it; stepping over a number word costs much, so that no value is made of
part of a number. The cheapest path is found from the end to the start in one pass.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.bench_talk import Talk
from extract.digit_groups import group_starts
from extract.number_words import NUMBER_WORDS
from extract.numbers import is_number_word
from extract.quantity_edges import Edge, crosses, edges_at
from extract.tokens import Token

#: What a quantity costs by itself: fewer are likelier.
_EACH = 0.5
#: What stepping over a number word costs, and over a word that may be one.
_UNREAD = 4.0
_UNREAD_SOFT = 3.0
#: Names of parts that mean nothing without the number before them.
_PARTS = frozenset(
    {
        "tenths",
        "hundredths",
        "thousandths",
        "thousands",
        "sixteenths",
        "eighths",
        "quarters",
        "fourths",
        "halves",
    }
)
#: … and these behind a number.
_PART = frozenset({"quarter", "eighth", "sixteenth", "tenth", "hundredth", "thousandth"})


def cheapest_reading(tokens: Sequence[Token], eaten: frozenset[int], talk: Talk) -> list[list[Edge]]:
    """Return, in order, the quantities of the cheapest path, each with its rivals on the same tokens.

    The first of each list is the one on the path. A quantity right behind an unread number word is
    left out: it would be part of a number.
    """
    n = len(tokens)
    borders = group_starts(tokens)
    best = [0.0] * (n + 1)
    # Of each start only the choice is kept, so that a long utterance stays small in memory.
    choices: list[list[Edge] | None] = [None] * n
    for i in range(n - 1, -1, -1):
        step = best[i + 1]
        chosen: Edge | None = None
        edges: list[Edge] = []
        if i not in eaten:
            edges = edges_at(tokens, i, eaten, talk)
            if borders:
                edges = [edge for edge in edges if not crosses(borders, i + 1, edge.end)]
            step += _unread_cost(tokens, i, bool(edges))
        for edge in edges:
            cost = edge.cost + _EACH + best[edge.end]
            if cost < step - 1e-9 or (chosen is not None and cost <= step and edge.end > chosen.end):
                step, chosen = cost, edge
        best[i] = step
        if chosen is not None:
            choices[i] = [chosen, *_rivals(chosen, edges)]
    return _walk(tokens, eaten, choices)


def _rivals(chosen: Edge, edges: Sequence[Edge]) -> list[Edge]:
    rivals = [edge for edge in edges if edge.end == chosen.end and edge is not chosen and not edge.foreign]
    return sorted(rivals, key=lambda edge: edge.meaning.cost)


def _walk(
    tokens: Sequence[Token], eaten: frozenset[int], choices: Sequence[list[Edge] | None]
) -> list[list[Edge]]:
    path: list[list[Edge]] = []
    i = 0
    unread = False
    while i < len(tokens):
        edges = choices[i]
        if edges is None:
            unread = i not in eaten and _unread_cost(tokens, i, False) > 1
            i += 1
            continue
        if not edges[0].foreign and not unread:
            path.append(edges)
        unread = False
        i = edges[0].end
    return path


def _unread_cost(tokens: Sequence[Token], i: int, starts_amount: bool) -> float:
    norm = tokens[i].norm
    if norm == "one":
        return _UNREAD_SOFT if starts_amount else 0.6
    if norm == "oh":
        return 0.8 if starts_amount or (i and tokens[i - 1].norm in NUMBER_WORDS) else 0.0
    if norm in NUMBER_WORDS or norm[0].isdecimal():
        return 0.0 if norm == "point" and not starts_amount else _UNREAD
    cut = norm in _PART and i > 0 and is_number_word(tokens[i - 1])
    return _UNREAD_SOFT if starts_amount or cut or norm in _PARTS else 0.0
