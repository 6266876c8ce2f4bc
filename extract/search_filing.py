"""Filing in the search: values put to their item and position, one way for each placing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import inf

from extract import search_costs as costs
from extract.conformity import judge
from extract.placings import Item, Placing, is_plausible, span_of
from extract.position_spans import UNKNOWN
from extract.quantity_arcs import Quantity
from extract.search_board import Board
from extract.search_states import Filed, Outset, State
from shared.units import KIND_OF_UNIT, decimal_text


class SearchFiling:
    """Files values for one run of words."""

    def __init__(self, items: Mapping[str, Item], board: Board, outset: Outset) -> None:
        self._items = items
        self._board = board
        self._tests = {key for key, item in items.items() if item.measured_kind in ("pressure", "time")}
        self._outset = outset

    def brings_back(self, state: State) -> bool:
        """Whether the positions named are an earlier item's and not those of the item talked about."""
        if not state.group or state.group_style not in ("named", "group", "number", "unknown"):
            return False
        now = self._items[self._outset.item].positions if self._outset.item is not None else []
        if state.group == (UNKNOWN,):
            return not any(position.isdigit() for position in now)
        return not all(position in now for position in state.group)

    def placed(self, state: State, quantity: Quantity) -> list[Placing]:
        """Return the ways that a quantity can stand in the item of a state."""
        assert state.item is not None
        return self._board.placings(quantity, self._items[state.item], state.carried)

    def unlikely(self, state: State, quantity: Quantity, told: int) -> float:
        """Return how much less likely an item of the right kind is than one that fits in all.

        ``told``: so many words of its name are said; two tell more than one, three no more than two.
        """
        if quantity.unit is None or state.group or state.item is None or state.item not in self._tests:
            return 0.0
        item = self._items[state.item]
        within = any(judge(placing.value, item) == "within" for placing in self.placed(state, quantity))
        return (0.0 if within else costs.KIND_OUTSIDE) - costs.WORD_OF_ITEM * min(told, 2)

    def _placed_after(self, state: State, quantity: Quantity) -> list[Placing]:
        """Return the placings of a value; bare decimals go on from the whole of the value before them.

        "A hundred and sixty point oh three drive end and point oh two non drive end".
        """
        found = self.placed(state, quantity)
        before = [f.placing.value for f in state.filed if f.item == state.item]
        part = quantity.value
        if not before or part is None or quantity.unit is not None or quantity.number.style != "decimal":
            return found
        if not 0 < part < 1 or before[-1] < 1 or any(placing.plausible for placing in found):
            return found
        item = self._items[state.item or ""]
        mended = Fraction(before[-1].numerator // before[-1].denominator) + part
        if not is_plausible(float(mended), span_of(item)):
            return found
        return [Placing(mended, None, 0.3, "decimals behind the whole of the value before", True), *found]

    def file(
        self,
        state: State,
        quantity: Quantity,
        position: str | None,
        note: str = "",
        counted: bool = False,
        most: float = inf,
    ) -> list[State]:
        """File a value in every way that it can be placed at a cost of no more than ``most``."""
        assert state.item is not None
        if quantity.value is None:
            return self._file_vague(state, quantity, position)
        cost = state.cost + self._source_cost(state) + (0.0 if counted else costs.EACH_VALUE)
        if any(f.item == state.item and f.position == position for f in state.filed):
            cost += costs.SECOND_VALUE
        if position == UNKNOWN:
            position, note = None, f"no such position here: {state.group_words}"
        found = []
        for placing in self._placed_after(state, quantity):
            if cost + placing.cost > most:
                continue
            filed = Filed(
                state.item, position, quantity, placing, note, state.source, state.group_style, state.group_at
            )
            found.append(state.filing(cost + placing.cost, filed, placing.carried or state.carried))
        return found

    def _file_vague(self, state: State, quantity: Quantity, position: str | None) -> list[State]:
        """File "a couple of thou" without a value where the unit fits the item."""
        item = self._items[state.item or ""]
        unit = quantity.unit
        if unit is None or unit.unit is None or KIND_OF_UNIT[unit.unit] != item.measured_kind:
            return []
        placing = Placing(quantity.number.value, unit.unit, 0.0, "nobody counted", True, unit)
        filed = Filed(
            item.item,
            position if position != UNKNOWN else None,
            quantity,
            placing,
            "only about so much was said",
            state.source,
            state.group_style,
        )
        return [
            state._replace(cost=state.cost + self._source_cost(state), filed=(*state.filed, filed), group=())
        ]

    def _source_cost(self, state: State) -> float:
        if any(filed.source == state.source for filed in state.filed):
            return 0.0
        if state.source == "earlier":
            return self._outset.cost + costs.FROM_EARLIER
        return self._outset.cost if state.source == "context" else 0.0

    def flushed(self, state: State, keep_item: bool = True) -> State | None:
        """File what waits: values of a group, values in the order of the positions, lone values."""
        if state.taken:
            return self._close_group(state)
        if not state.waiting:
            return state
        values = state.waiting
        state = state._replace(waiting=())
        if state.item is None or (state.source == "earlier" and not state.group):
            price = (
                costs.UNFILED_BESIDE_ITEM
                if state.source == "loose" or self._outset.correcting
                else costs.UNFILED
            )
            return state._replace(cost=state.cost + price * len(values), unfiled=(*state.unfiled, *values))
        item = self._items[state.item]
        if state.group:
            if len(state.group) == len(values) or len(values) == 1:
                return self._close_group(state._replace(taken=values))
            return self._close_group(
                state._replace(
                    taken=values[-len(state.group) :],
                    cost=state.cost + costs.UNEVEN,
                    unfiled=(*state.unfiled, *values[: -len(state.group)]),
                )
            )
        if not item.positions:
            return self._in_turn(state, values, [None] * len(values), "")
        placed = [f.position for f in state.filed if f.item == state.item and f.position is not None]
        if placed and len(values) > 1:
            return self._going_on(state, values, placed[-1])
        if len(values) == len(item.positions) and len(values) > 1 and self._board.run_together(values):
            note = "" if len(values) > 2 else "positions not said; taken in the sheet's order"
            return self._in_turn(
                state._replace(cost=state.cost + (0.2 if not note else 0.8)),
                values,
                list(item.positions),
                note,
                "in_turn",
            )
        if len(values) > 1:
            state = state._replace(cost=state.cost + costs.UNEVEN)
        return self._in_turn(
            state._replace(cost=state.cost + costs.NO_POSITION),
            values,
            [None] * len(values),
            "position not heard",
        )

    def _going_on(self, state: State, values: Sequence[Quantity], last: str) -> State | None:
        """File values behind a named position for the positions after it, where they come out even."""
        assert state.item is not None
        positions = self._items[state.item].positions
        rest = positions[positions.index(last) + 1 :] if last in positions else []
        if len(rest) == len(values):
            price = 0.5 + costs.PLACE_AS_DIGIT * _places_as_digits([state.filed[-1].quantity, *values], rest)
            return self._in_turn(state._replace(cost=state.cost + price), values, list(rest), "", "in_turn")
        return self._in_turn(
            state._replace(cost=state.cost + costs.NO_POSITION),
            values,
            [None] * len(values),
            "position not heard",
        )

    def _close_group(self, state: State) -> State | None:
        values, group = state.taken, state.group
        state = state._replace(taken=(), waiting=(), group=())
        style = state.group_style
        if len(values) == 1:
            return self._in_turn(state, values * len(group), list(group), "", style)
        if len(values) == len(group):
            return self._in_turn(state, values, list(group), "", style)
        short = min(len(values), len(group))
        note = f"{len(values)} values for {len(group)} positions"
        spare = values[short:]
        return self._in_turn(
            state._replace(cost=state.cost + costs.UNEVEN, unfiled=(*state.unfiled, *spare)),
            values[:short],
            list(group[:short]),
            note,
            style,
        )

    def _in_turn(
        self,
        state: State,
        values: Sequence[Quantity],
        positions: Sequence[str | None],
        note: str,
        style: str = "",
    ) -> State | None:
        """File values for positions in turn, each by its cheapest placing given the one before."""
        for quantity, position in zip(values, positions, strict=True):
            styled = state if state.group_style == style else state._replace(group_style=style)
            ways = self.file(styled, quantity, position, note, counted=True)
            if not ways:
                return None
            state = min(ways, key=lambda s: s.cost)
        return state


def _places_as_digits(values: Sequence[Quantity], places: Sequence[str]) -> int:
    """Count the values that end in the digit of the place behind them ("one 44.975 | two 44.977").

    Such a digit is the place far oftener than a last decimal that happens to be so.
    """
    return sum(
        value.value is not None
        and value.number.style == "decimal"
        and decimal_text(value.value).endswith(place)
        for value, place in zip(values, places, strict=False)
    )
