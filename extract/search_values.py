"""What the search for readings does with a value: file it, let it wait for a name, or leave it."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from extract import search_costs as costs
from extract.placings import Item
from extract.position_spans import UNKNOWN
from extract.quantity_arcs import Quantity
from extract.search_board import Board
from extract.search_filing import SearchFiling
from extract.search_states import Outset, State
from shared.units import KIND_OF_UNIT


class SearchValues:
    """Takes the values of one run of words.

    Args:
        items: what the sheet measures.
        telling: for each item, the words that tell of it though it is not named.
        said: the words of the run.
        board: what stands where in it.
        outset: what came before it.
        filing: what puts values to their item and position.
    """

    def __init__(
        self,
        items: Mapping[str, Item],
        telling: Mapping[str, frozenset[str]],
        said: frozenset[str],
        board: Board,
        outset: Outset,
        filing: SearchFiling,
    ) -> None:
        self._items = items
        self._telling = telling
        self._said = said
        self._board = board
        self._outset = outset
        self._filing = filing

    def take(self, state: State, quantity: Quantity, most: float = inf) -> list[State]:
        """Take a value: to its position and item, to wait for them, or leave it unfiled.

        States that would cost more than ``most`` need not be among those returned.
        """
        cost = state.cost + quantity.cost
        left = cost - quantity.cost * 0.5 + self._leaving(state, quantity)
        found = [state.leaving(left, quantity)] if left <= most else []
        if cost > most or self._board.is_count(quantity):
            return found
        if (state.filed and self._board.torn(state.filed[-1].quantity, quantity)) or (
            state.unfiled and self._board.torn(state.unfiled[-1], quantity)
        ):
            cost += costs.TORN
        last = state.last
        state = state.at_value(cost, quantity.end)
        if state.item is None:
            if self._board.item_ahead(quantity.end):
                found.append(
                    state._replace(cost=state.cost + costs.EACH_VALUE, waiting=(*state.waiting, quantity))
                )
            found += self._by_kind(state, quantity, most)
            return found
        item = self._items[state.item]
        if state.source == "earlier" and not self._filing.brings_back(state):
            if item.positions and not state.group:
                # Its position may stand behind it ("thirty microns mid").
                more = (*state.waiting, quantity)
                found.append(state._replace(cost=state.cost + costs.EACH_VALUE + costs.WAITING, waiting=more))
            return found
        fresh = state.source == "said" and quantity.unit is not None and not state.group
        if (state.source in ("context", "kind") or fresh) and not self._filing.placed(state, quantity):
            others = self._by_kind(state._replace(item=None, source="", group=()), quantity, most)
            if fresh and item.measured_kind == "time":
                # "Held ten bar for half an hour": the time that the name is of comes behind.
                others = [other._replace(item=state.item, source="said") for other in others]
            found += others
        if len(state.group) > 1:
            if self._filing.placed(state, quantity):
                found.append(
                    state._replace(cost=state.cost + costs.EACH_VALUE, taken=(*state.taken, quantity))
                )
        elif state.group or not item.positions:
            named = (
                state.source == "said" and last == "item" and all(f.item != state.item for f in state.filed)
            )
            position = state.group[0] if state.group else None
            found += self._filing.file(state, quantity, position, most=most)
            if self._board.item_ahead(quantity.end) and (
                not item.positions or state.source in ("context", "earlier")
            ):
                # It may as well belong to an item named behind it.
                loose = state._replace(
                    item=None,
                    source="loose" if state.source == "said" else "",
                    group=(),
                    waiting=(quantity,),
                    cost=state.cost + costs.EACH_VALUE + costs.NAMED_IN_VAIN * (named and not item.positions),
                )
                found.append(loose if not state.waiting else state)
        else:
            found.append(
                state._replace(
                    cost=state.cost + costs.EACH_VALUE + costs.WAITING, waiting=(*state.waiting, quantity)
                )
            )
        return found

    def _leaving(self, state: State, quantity: Quantity) -> float:
        """Return what it costs to file nothing for a value."""
        if self._board.is_count(quantity):
            return 0.1
        if self._board.is_pronoun(quantity):
            return costs.UNFILED_ONE
        rest = costs.UNFILED_REST if state.last == "value" and state.last_end == quantity.start else 0.0
        if self._outset.correcting:
            return costs.UNFILED_BESIDE_ITEM
        if self._at_position(state, quantity):
            return costs.UNFILED_AT_POSITION
        beside = (
            state.item is not None
            and state.source == "said"
            and not any(f.item == state.item for f in state.filed)
        )
        if beside and state.item is not None and self._filing.placed(state, quantity):
            return costs.UNFILED_BESIDE_ITEM
        return costs.UNFILED + rest

    def _at_position(self, state: State, quantity: Quantity) -> bool:
        """Whether a value with a fitting unit stands right behind a position of the item talked about."""
        key = state.item or self._outset.item
        if state.last != "position" or state.group_style != "named" or quantity.unit is None or key is None:
            return False
        positions = self._items[key].positions
        return all(p in positions for p in state.group) and bool(
            self._filing.placed(state._replace(item=key), quantity)
        )

    def _by_kind(self, state: State, quantity: Quantity, most: float) -> list[State]:
        """Infer the item that nobody named from the unit said or the positions named."""
        if quantity.unit is None:
            return []
        found = []
        unknown = state.group == (UNKNOWN,)
        unit = quantity.unit.unit
        kind = KIND_OF_UNIT[unit] if unit is not None else None
        named_before = self._board.named_before(quantity)
        for key, item in self._items.items():
            if (kind is not None and kind != item.measured_kind) or bool(state.group) != bool(item.positions):
                continue
            if state.group and not unknown and not all(p in item.positions for p in state.group):
                continue
            named = state._replace(item=key, source="kind")
            told = len(self._telling[key] & self._said)
            passed = (
                0.0
                if key in named_before or (told and item.measured_kind == "pressure")
                else costs.NAMED_ANOTHER
            )
            named = named.at_cost(
                state.cost + costs.FROM_KIND + passed + self._filing.unlikely(named, quantity, told)
            )
            if named.cost > most:
                continue
            if len(state.group) > 1:
                found.append(named._replace(taken=(quantity,), cost=named.cost + costs.EACH_VALUE))
            else:
                found += self._filing.file(
                    named, quantity, state.group[0] if state.group else None, most=most
                )
        return found
