"""How far the search over an utterance has come, and what it finds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import NamedTuple

from extract import search_costs as costs
from extract.excepted_places import EXCEPTED
from extract.placings import Placing
from extract.position_spans import ALL, UNKNOWN
from extract.quantity_arcs import Quantity
from extract.spoken_units import UnitName


class Filed(NamedTuple):
    """One reading as the search put it together."""

    item: str
    position: str | None
    quantity: Quantity
    placing: Placing
    note: str = ""
    """Why it cannot stand as it is, empty where it can."""
    source: str = "said"
    """Where the item is from: said, context (named earlier), kind (only its unit or position fits)."""
    position_style: str = ""
    """How the position was named; empty where it was not, in these words."""
    position_at: int = -1
    """Token behind the words that named the position; -1 where they are not in these words."""


class State(NamedTuple):
    """How far one way of reading has come."""

    cost: float
    item: str | None = None
    source: str = ""
    """Where the item is from: said, context, kind."""
    group: tuple[str, ...] = ()
    """Positions that wait for values."""
    group_words: str = ""
    group_style: str = ""
    group_at: int = -1
    taken: tuple[Quantity, ...] = ()
    """Values taken for a group of several positions."""
    waiting: tuple[Quantity, ...] = ()
    """Values that wait for an item or a position."""
    filed: tuple[Filed, ...] = ()
    unfiled: tuple[Quantity, ...] = ()
    carried: UnitName | None = None
    last: str = ""
    """What came last: item, position, value or nothing."""
    last_end: int = 0

    def at_cost(self, cost: float) -> State:
        """Return the same state at another cost; quicker than replacing it by name."""
        return State._make((cost, *self[1:]))

    def at_value(self, cost: float, end: int) -> State:
        """Return the same state right behind a value that ends before token ``end``."""
        _, item, source, group, words, style, at, taken, waiting, filed, unfiled, carried, _, _ = self
        return State(
            cost, item, source, group, words, style, at, taken, waiting, filed, unfiled, carried, "value", end
        )

    def leaving(self, cost: float, quantity: Quantity) -> State:
        """Return the same state with a value left unfiled."""
        _, item, source, group, words, style, at, taken, waiting, filed, unfiled, carried, last, _ = self
        unfiled, end = (*unfiled, quantity), quantity.end
        return State(
            cost, item, source, group, words, style, at, taken, waiting, filed, unfiled, carried, last, end
        )

    def filing(self, cost: float, reading: Filed, carried: UnitName | None) -> State:
        """Return the state with a reading filed, its position used up."""
        _, item, source, _, words, _, at, taken, waiting, filed, unfiled, _, last, end = self
        filed = (*filed, reading)
        return State(
            cost, item, source, (), words, "", at, taken, waiting, filed, unfiled, carried, last, end
        )


class Found(NamedTuple):
    """One way to read the whole run, with what it costs."""

    cost: float
    filed: tuple[Filed, ...]
    unfiled: tuple[Quantity, ...]
    item: str | None
    """The item that the talk is about at its end."""
    position: str | None
    """A position that was named and still waits for its value."""


@dataclass(frozen=True, slots=True)
class Outset:
    """What the talk was about before these words."""

    item: str | None = None
    position: str | None = None
    carried: Mapping[str, UnitName] | None = None
    """The unit last spoken for each item."""
    last: Quantity | None = None
    """The value last said, for "the same again"."""
    cost: float = 0.6
    earlier: tuple[str, ...] = ()
    """Items talked about before that, the latest first; a position that only they have brings them back."""
    last_positions: Mapping[str, str] | None = None
    """The position of each item's last reading, for "the other end"."""
    known: Mapping[tuple[str, str], Quantity] | None = None
    """What was said for each item and position, for "the same as four"."""
    correcting: bool = False
    """The words put something right, so that a bare value is meant to be one."""


def sure_of(ways: Sequence[Found], margin: float) -> list[list[tuple[float, Filed]]]:
    """Return, for each reading of the cheapest way, what else it may be within a margin of cost.

    Each inner list starts with (0, the reading itself); a runner-up that leaves the value out or
    files nothing on the same words is no rival: it gives no other value to ask about.
    """
    best = ways[0]
    near = [way for way in ways[1:] if way.cost - best.cost <= margin and not _says_the_same(best, way)]
    rivals: list[list[tuple[float, Filed]]] = []
    for filed in best.filed:
        group: list[tuple[float, Filed]] = [(0.0, filed)]
        for way in near:
            for other in way.filed:
                if (
                    _same_words(filed, other)
                    and not _only_less_plausible(filed, other)
                    and _means_else(filed, other)
                    and not any(not _means_else(known, other) for _, known in group)
                ):
                    group.append((way.cost - best.cost, other))
        rivals.append(group)
    return rivals


def _says_the_same(best: Found, way: Found) -> bool:
    """Whether two ways differ only in which words they take the values from, or in one said once more."""
    first = {(f.item, f.position, f.placing.value) for f in best.filed}
    second = {(f.item, f.position, f.placing.value) for f in way.filed}
    repeated = {(item, None, value) for item, _, value in first}
    return first <= second and second - first <= repeated


def _only_less_plausible(best: Filed, other: Filed) -> bool:
    """Whether another reading asks for a value that the sheet calls implausible where the best does not."""
    return best.placing.plausible and not other.placing.plausible


def _same_words(first: Filed, second: Filed) -> bool:
    return first.quantity.start < second.quantity.end and second.quantity.start < first.quantity.end


def _means_else(first: Filed, second: Filed) -> bool:
    return (first.item, first.position, first.placing.value) != (
        second.item,
        second.position,
        second.placing.value,
    )


class Ahead:
    """States by the token that they have come to; one that is sure to be dropped there is left out.

    Two of three ways are dearer than :func:`keep_cheapest` allows, and most are known to be so before they
    are made.
    """

    def __init__(self) -> None:
        self._states: dict[int, list[State]] = {}
        self._most: dict[int, float] = {}

    def __contains__(self, at: int) -> bool:
        """Whether a state has come to a token."""
        return at in self._states

    def most(self, at: int) -> float:
        """Return the cost above which nobody need come to a token."""
        return self._most.get(at, inf)

    def add(self, at: int, state: State) -> None:
        """Let a state come to a token."""
        most = self._most.get(at, inf)
        if state.cost > most:
            return
        if state.cost + costs.WORST < most:
            self._most[at] = state.cost + costs.WORST
        self._states.setdefault(at, []).append(state)

    def hand_on(self, at: int, states: list[State]) -> None:
        """Let states come together to a token where nobody is."""
        self._states[at] = states

    def take(self, at: int) -> list[State]:
        """Return the states that have come to a token; none is left there."""
        return self._states.pop(at, [])


def keep_cheapest(states: list[State]) -> list[State]:
    """Keep the cheapest states, one for each that has the same in hand."""
    if len(states) < 2:
        return states
    best: dict[tuple[object, ...], State] = {}
    for state in states:
        key = (
            state.item,
            state.source,
            state.group,
            state.taken,
            state.waiting,
            state.filed,
            state.unfiled,
            id(state.carried),
            state.last,
        )
        known = best.get(key)
        if known is None or state.cost < known.cost:
            best[key] = state
    ordered = sorted(best.values(), key=lambda s: s.cost)
    worst = ordered[0].cost + costs.WORST
    return [state for state in ordered[: costs.BEAM] if state.cost <= worst]


def findings(states: list[State]) -> list[Found]:
    """Return finished states as findings, the cheapest of each meaning, cheapest first."""
    best: dict[tuple[object, ...], Found] = {}
    for state in states:
        key = tuple((f.item, f.position, f.placing.value, f.quantity.start) for f in state.filed)
        waiting = state.group[0] if len(state.group) == 1 and state.group[0] not in (ALL, UNKNOWN) else None
        found = Found(
            state.cost, state.filed, state.unfiled, state.item if state.source == "said" else None, waiting
        )
        known = best.get(key)
        if known is None or found.cost < known.cost:
            best[key] = found
    return sorted(best.values(), key=lambda f: (round(f.cost, 6), -len(f.filed))) or [
        Found(0.0, (), (), None, None)
    ]


def counts_on(state: State, position: str) -> bool:
    """Whether a position is the next after that of the reading before."""
    last = state.filed[-1].position if state.filed else None
    return last is not None and last.isdigit() and position.isdigit() and int(position) == int(last) + 1


def unused_cost(state: State) -> float:
    """Return what it costs that a position was named and no value came for it."""
    if not state.group or state.taken or state.waiting or state.group_style == EXCEPTED:
        return 0.0
    if state.group_style in ("number", "group"):
        return costs.UNUSED_NUMBER
    return costs.UNUSED_POSITION if state.last == "position" else 0.0
