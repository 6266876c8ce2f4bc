"""Which readings a run of words gives: items, positions and values put together at least cost.

"Vane three thirty one four thirty four and five is twenty nine" can be cut in many ways; every way
that grammar allows is followed (a beam search from left to right), each step has a cost, and the
plausible span of the item prices what the words leave open. The runners-up stay known: where one
of them is nearly as cheap and means something else, the reading becomes a question.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from extract.mentions import Mention
from extract.placings import Placing
from extract.position_spans import ALL, UNKNOWN, PositionSpan
from extract.quantity_arcs import Quantity, split_cost
from extract.search_board import Board
from extract.sheet_phrases import STEM
from extract.spoken_units import UnitName
from extract.tokens import Token
from shared.job_sheet import JobSheet
from shared.units import KIND_OF_UNIT

_BEAM = 40
_WORST = 6.0
#: Costs, in the currency of number readings: 0 is plain, 1 needs a reason, 3 is a last resort.
_UNFILED = 2.4
#: The same where an item was named and the number is of its kind.
_UNFILED_BESIDE_ITEM = 4.5
_EACH_VALUE = 0.3
#: A value whose position has not come yet.
_WAITING = 0.1
_FOREIGN_POSITION = 1.5
_UNFILED_ONE = 0.5
_SKIPPED_NUMBER = 3.0
_FROM_CONTEXT = 0.6
_FROM_EARLIER = 0.4
_FROM_KIND = 1.7
_SECOND_VALUE = 1.3
_NO_POSITION = 1.5
#: What a bare number is the likelier a position for counting on from the last one.
_COUNTING_ON = 0.55
_UNUSED_POSITION = 0.35
#: A bare number taken for a position that no value comes for.
_UNUSED_NUMBER = 1.8
_WRONG_POSITION = 2.5
_UNEVEN = 2.5


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
    cost: float = _FROM_CONTEXT
    earlier: tuple[str, ...] = ()
    """Items talked about before that, the latest first; a position that only they have brings them back."""
    correcting: bool = False
    """The words put something right, so that a bare value is meant to be one."""


class ReadingSearch:
    """The search for one job sheet."""

    def __init__(self, sheet: JobSheet) -> None:
        self._items = sheet.measured
        self._board: Board
        self._outset: Outset

    def ways(self, tokens: Sequence[Token], board: Board, outset: Outset) -> list[Found]:
        """Return the ways to read a run of words, the cheapest first; at least one.

        Args:
            tokens: the whole utterance.
            board: what stands where in it, and which tokens to read.
            outset: what came before.
        """
        self._board = board
        self._outset = outset
        states: dict[int, list[State]] = {board.start: self._outsets(outset)}
        i = board.start
        while i < board.end:
            here = _kept(states.pop(i, []))
            if here:
                self._step(tokens, board, outset, i, here, states)
            i += 1
        finished = [
            self._flushed(state._replace(cost=state.cost + _unused(state)))
            for state in _kept(states.get(board.end, []))
        ]
        return _distinct([state for state in finished if state is not None])

    def _outsets(self, outset: Outset) -> list[State]:
        starts = [State(0.0)]
        if outset.item is not None:
            group = (outset.position,) if outset.position is not None else ()
            carried = (outset.carried or {}).get(outset.item)
            starts.append(
                State(0.0, outset.item, "context", group, "", "context" if group else "", carried=carried)
            )
            if group:
                starts.append(State(0.1, outset.item, "context", (), carried=carried))
        for rank, item in enumerate(outset.earlier):
            starts.append(State(0.3 * rank, item, "earlier", carried=(outset.carried or {}).get(item)))
        return starts

    def _step(
        self,
        tokens: Sequence[Token],
        board: Board,
        outset: Outset,
        i: int,
        here: list[State],
        states: dict[int, list[State]],
    ) -> None:
        """Move every state at token ``i`` on by all that can stand there."""

        def go(end: int, new: State) -> None:
            states.setdefault(min(end, board.end), []).append(new)

        skip = board.skip_cost(i)
        for state in here:
            go(i + 1, state._replace(cost=state.cost + skip) if skip else state)
        for mention in board.items_at(i):
            for key in mention.keys:
                extra = mention.cost + (0.0 if len(mention.keys) == 1 or key == outset.item else 0.15)
                lately = (outset.item, *outset.earlier)
                if 1 <= mention.cost < STEM and any(known in lately for known in mention.keys):
                    # The tail of several names means the one talked about lately.
                    extra = 0.2 + 0.1 * lately.index(key) if key in lately else mention.cost + 0.9
                for state in here:
                    for new in self._on_item(tokens, state, key, extra, mention, outset):
                        go(mention.end, new)
        for span in board.positions_at(i):
            for state in here:
                for new in self._on_position(tokens, board, state, span):
                    go(span.end, new)
        for unit, end in board.units_at(i):
            for state in here:
                go(end, state._replace(carried=unit))
        same_end = board.same_at(i)
        if board.is_barred(i):
            return
        if same_end is not None:
            for state in here:
                repeated = state.filed[-1].quantity if state.filed else outset.last
                if repeated is not None:
                    again = board.repeated(repeated, i, same_end)
                    for new in self._on_value(state, again, board):
                        go(same_end, new)
            return
        for quantity in board.quantities_at(i):
            for state in here:
                for new in self._on_value(state, quantity, board):
                    go(quantity.end, new)

    # -- items ---------------------------------------------------------------------------------

    def _on_item(
        self,
        tokens: Sequence[Token],
        state: State,
        key: str,
        cost: float,
        mention: Mention,
        outset: Outset,
    ) -> list[State]:
        """Name an item: values that wait may be its, positions named just before may be its too."""
        item = self._items[key]
        source, start, end = ("stem" if mention.cost >= STEM else "said"), mention.start, mention.end
        carried = (outset.carried or {}).get(key) if state.item != key else state.carried
        group = tuple(p for p in state.group if p in item.positions or p in (ALL, UNKNOWN))
        fits = group == state.group
        if not fits:
            cost += _UNUSED_NUMBER if state.group_style in ("number", "group") else _unused(state)
        base = state._replace(
            cost=state.cost + cost,
            item=key,
            source=source,
            last="item",
            last_end=end,
            group=group if fits else (),
            carried=carried,
        )
        if state.group and state.source == "context" and state.last != "position":
            # A position left over from before belongs to the item of before.
            base = base._replace(group=())
        if not state.waiting and not state.taken:
            return [base]
        closed = self._flushed(state)
        found = []
        if closed is not None:
            found.append(
                closed._replace(
                    cost=closed.cost + cost,
                    item=key,
                    source=source,
                    last="item",
                    last_end=end,
                    group=(),
                    carried=carried,
                )
            )
        if state.waiting and not state.taken:
            link = _link_cost(tokens, state.last_end, start, item.measured_kind)
            attached = self._file_waiting(base._replace(cost=base.cost + link))
            if attached is not None:
                found.append(attached)
        return found

    def _file_waiting(self, state: State) -> State | None:
        """File waiting values under the state's item, where it has no positions or they are known."""
        assert state.item is not None
        item = self._items[state.item]
        if item.positions and not state.group:
            return state._replace(last="item")
        return self._flushed(state, keep_item=True)

    # -- positions -----------------------------------------------------------------------------

    def _on_position(
        self, tokens: Sequence[Token], board: Board, state: State, span: PositionSpan
    ) -> list[State]:
        """Name positions: for the value before ("thirty one on vane two") or for those to come."""
        keys, cost = self._fitting(state, span)
        if keys is None:
            return []
        if span.style in ("number", "group"):
            cost += split_cost(tokens, span.start)
        if span.style == "number" and _counts_on(state, keys[0]):
            cost -= _COUNTING_ON
        found = []
        named_elsewhere = state.source == "earlier" and not self._brings_back(
            state._replace(group=keys, group_style=span.style)
        )
        if state.waiting and named_elsewhere:
            return []
        if state.waiting and state.item is not None and not state.group:
            link = _position_link(tokens, state.last_end, span.start)
            with_value = state._replace(
                cost=state.cost + span.cost + cost + link,
                group=keys,
                group_words=span.words,
                group_style=span.style,
            )
            flushed = self._flushed(with_value, keep_item=True)
            if flushed is not None:
                found.append(flushed._replace(last="position", last_end=span.end))
        closed = self._flushed(state, keep_item=True)
        if closed is not None:
            found.append(
                closed._replace(
                    cost=closed.cost + span.cost + cost + _unused(state),
                    group=keys,
                    group_words=span.words,
                    group_style=span.style,
                    group_at=span.end,
                    last="position",
                    last_end=span.end,
                )
            )
        return found

    def _fitting(self, state: State, span: PositionSpan) -> tuple[tuple[str, ...] | None, float]:
        """Return the positions of a span as the state's item has them, and what that costs."""
        if state.item is None:
            return (span.keys, 0.0) if span.style != "all" else (None, 0.0)
        positions = self._items[state.item].positions
        if span.keys == (ALL,):
            if not positions or (span.count is not None and span.count != len(positions)):
                return None, 0.0
            return tuple(positions), 0.0
        if span.keys == (UNKNOWN,):
            return (span.keys, 0.0) if positions else (None, 0.0)
        if all(key in positions for key in span.keys):
            return span.keys, 0.0
        if positions and span.style == "named" and state.source == "said":
            return (UNKNOWN,), _FOREIGN_POSITION
        return None, 0.0

    # -- values --------------------------------------------------------------------------------

    def _on_value(self, state: State, quantity: Quantity, board: Board) -> list[State]:
        """Take a value: to its position and item, to wait for them, or leave it unfiled."""
        leave = self._leaving(state, quantity, board)
        cost = state.cost + quantity.cost
        found = [
            state._replace(
                cost=cost - quantity.cost * 0.5 + leave,
                unfiled=(*state.unfiled, quantity),
                last_end=quantity.end,
            )
        ]
        if board.is_count(quantity):
            return found
        state = state._replace(cost=cost, last="value", last_end=quantity.end)
        if state.item is None:
            if board.item_ahead(quantity.end):
                found.append(
                    state._replace(cost=state.cost + _EACH_VALUE, waiting=(*state.waiting, quantity))
                )
            found += self._by_kind(state, quantity)
            return found
        item = self._items[state.item]
        if state.source == "earlier" and not self._brings_back(state):
            if item.positions and not state.group:
                # Its position may stand behind it ("thirty microns mid").
                more = (*state.waiting, quantity)
                found.append(state._replace(cost=state.cost + _EACH_VALUE + _WAITING, waiting=more))
            return found
        if state.source in ("context", "kind") and not self._placed(state, quantity):
            found += self._by_kind(state._replace(item=None, source="", group=()), quantity)
        if len(state.group) > 1:
            if self._placed(state, quantity):
                found.append(state._replace(cost=state.cost + _EACH_VALUE, taken=(*state.taken, quantity)))
        elif state.group or not item.positions:
            found += self._file(state, quantity, state.group[0] if state.group else None)
            if board.item_ahead(quantity.end) and (
                not item.positions or state.source in ("context", "earlier")
            ):
                # It may as well belong to an item named behind it.
                loose = state._replace(
                    item=None,
                    source="loose" if state.source == "said" else "",
                    group=(),
                    waiting=(quantity,),
                    cost=state.cost + _EACH_VALUE,
                )
                found.append(loose if not state.waiting else state)
        else:
            found.append(
                state._replace(cost=state.cost + _EACH_VALUE + _WAITING, waiting=(*state.waiting, quantity))
            )
        return found

    def _brings_back(self, state: State) -> bool:
        """Whether the positions named are an earlier item's and not those of the item talked about."""
        if not state.group or state.group_style not in ("named", "group", "number", "unknown"):
            return False
        now = self._items[self._outset.item].positions if self._outset.item is not None else []
        if state.group == (UNKNOWN,):
            return not any(position.isdigit() for position in now)
        return not all(position in now for position in state.group)

    def _leaving(self, state: State, quantity: Quantity, board: Board) -> float:
        """Return what it costs to file nothing for a value."""
        if board.is_count(quantity):
            return 0.1
        if board.is_pronoun(quantity):
            return _UNFILED_ONE
        if self._outset.correcting:
            return _UNFILED_BESIDE_ITEM
        beside = (
            state.item is not None
            and state.source == "said"
            and not any(f.item == state.item for f in state.filed)
        )
        if beside and state.item is not None and self._placed(state, quantity):
            return _UNFILED_BESIDE_ITEM
        return _UNFILED

    def _by_kind(self, state: State, quantity: Quantity) -> list[State]:
        """Infer the item that nobody named from the unit said or the positions named."""
        if quantity.unit is None and not state.group:
            return []
        found = []
        for key, item in self._items.items():
            unknown = state.group == (UNKNOWN,) and quantity.unit is not None
            if state.group and not unknown and not all(p in item.positions for p in state.group):
                continue
            if bool(state.group) != bool(item.positions):
                continue
            if quantity.unit is None or (
                quantity.unit.unit is not None and KIND_OF_UNIT[quantity.unit.unit] != item.measured_kind
            ):
                continue
            named = state._replace(item=key, source="kind", cost=state.cost + _FROM_KIND)
            if len(state.group) > 1:
                found.append(named._replace(taken=(quantity,), cost=named.cost + _EACH_VALUE))
            else:
                found += self._file(named, quantity, state.group[0] if state.group else None)
        return found

    def _placed(self, state: State, quantity: Quantity) -> list[Placing]:
        assert state.item is not None
        return self._board.placings(quantity, self._items[state.item], state.carried)

    def _file(
        self, state: State, quantity: Quantity, position: str | None, note: str = "", counted: bool = False
    ) -> list[State]:
        """File a value in every way that it can be placed."""
        assert state.item is not None
        if quantity.value is None:
            return self._file_vague(state, quantity, position)
        cost = state.cost + self._source_cost(state) + (0.0 if counted else _EACH_VALUE)
        if any(f.item == state.item and f.position == position for f in state.filed):
            cost += _SECOND_VALUE
        if position == UNKNOWN:
            position, note = None, f"no such position here: {state.group_words}"
        found = []
        for placing in self._placed(state, quantity):
            filed = Filed(
                state.item, position, quantity, placing, note, state.source, state.group_style, state.group_at
            )
            found.append(
                state._replace(
                    cost=cost + placing.cost,
                    filed=(*state.filed, filed),
                    group=(),
                    group_style="",
                    carried=placing.carried or state.carried,
                )
            )
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
            return self._outset.cost + _FROM_EARLIER
        return self._outset.cost if state.source == "context" else 0.0

    # -- closing -------------------------------------------------------------------------------

    def _flushed(self, state: State, keep_item: bool = True) -> State | None:
        """File what waits: values of a group, values in the order of the positions, lone values."""
        if state.taken:
            return self._close_group(state)
        if not state.waiting:
            return state
        values = state.waiting
        state = state._replace(waiting=())
        if state.item is None or (state.source == "earlier" and not state.group):
            price = _UNFILED_BESIDE_ITEM if state.source == "loose" or self._outset.correcting else _UNFILED
            return state._replace(cost=state.cost + price * len(values), unfiled=(*state.unfiled, *values))
        item = self._items[state.item]
        if state.group:
            if len(state.group) == len(values) or len(values) == 1:
                return self._close_group(state._replace(taken=values))
            return self._close_group(
                state._replace(
                    taken=values[-len(state.group) :],
                    cost=state.cost + _UNEVEN,
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
            state = state._replace(cost=state.cost + _UNEVEN)
        return self._in_turn(
            state._replace(cost=state.cost + _NO_POSITION), values, [None] * len(values), "position not heard"
        )

    def _going_on(self, state: State, values: Sequence[Quantity], last: str) -> State | None:
        """File values behind a named position for the positions after it, where they come out even."""
        assert state.item is not None
        positions = self._items[state.item].positions
        rest = positions[positions.index(last) + 1 :] if last in positions else []
        if len(rest) == len(values):
            return self._in_turn(state._replace(cost=state.cost + 0.5), values, list(rest), "", "in_turn")
        return self._in_turn(
            state._replace(cost=state.cost + _NO_POSITION), values, [None] * len(values), "position not heard"
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
            state._replace(cost=state.cost + _UNEVEN, unfiled=(*state.unfiled, *spare)),
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
            ways = self._file(state._replace(group_style=style), quantity, position, note, counted=True)
            if not ways:
                return None
            state = min(ways, key=lambda s: s.cost)
        return state


def sure_of(ways: Sequence[Found], margin: float) -> list[list[tuple[float, Filed]]]:
    """Return, for each reading of the cheapest way, what else it may be within a margin of cost.

    Each inner list starts with (0, the reading itself); a runner-up that leaves the value out or
    files nothing on the same words is no rival: it gives no other value to ask about.
    """
    best = ways[0]
    rivals: list[list[tuple[float, Filed]]] = []
    for filed in best.filed:
        group: list[tuple[float, Filed]] = [(0.0, filed)]
        for way in ways[1:]:
            behind = way.cost - best.cost
            if behind > margin:
                break
            for other in way.filed:
                if (
                    _same_words(filed, other)
                    and _means_else(filed, other)
                    and not any(not _means_else(known, other) for _, known in group)
                ):
                    group.append((behind, other))
        rivals.append(group)
    return rivals


def _same_words(first: Filed, second: Filed) -> bool:
    return first.quantity.start < second.quantity.end and second.quantity.start < first.quantity.end


def _means_else(first: Filed, second: Filed) -> bool:
    return (first.item, first.position, first.placing.value) != (
        second.item,
        second.position,
        second.placing.value,
    )


def _kept(states: list[State]) -> list[State]:
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
    worst = ordered[0].cost + _WORST
    return [state for state in ordered[:_BEAM] if state.cost <= worst]


def _distinct(states: list[State]) -> list[Found]:
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


def _counts_on(state: State, position: str) -> bool:
    """Whether a position is the next after that of the reading before."""
    last = state.filed[-1].position if state.filed else None
    return last is not None and last.isdigit() and position.isdigit() and int(position) == int(last) + 1


def _unused(state: State) -> float:
    """Return what it costs that a position was named and no value came for it."""
    if not state.group or state.taken or state.waiting:
        return 0.0
    if state.group_style in ("number", "group"):
        return _UNUSED_NUMBER
    return _UNUSED_POSITION if state.last == "position" else 0.0


def _link_cost(tokens: Sequence[Token], end: int, start: int, kind: str | None) -> float:
    """Return what it costs that a value belongs to an item named behind it."""
    between = [t.norm for t in tokens[end:start]]
    if kind == "count" and not between:
        return 0.0
    if any(word in ("on", "for", "of", "as", "in") for word in between) and len(between) <= 4:
        return 0.1
    if not between or between == ["the"]:
        return 0.5 if kind != "torque" else 1.5
    return 0.8 + 0.15 * len(between)


def _position_link(tokens: Sequence[Token], end: int, start: int) -> float:
    """Return what it costs that a value belongs to a position named behind it."""
    between = [t.norm for t in tokens[end:start]]
    if any(word in ("on", "for", "at", "in", "under") for word in between):
        return 0.0
    return 0.15 if not between else 0.3 + 0.15 * len(between)
