"""Which readings a run of words gives: items, positions and values put together at least cost.

"Vane three thirty one four thirty four and five is twenty nine" can be cut in many ways; every way
that grammar allows is followed (a beam search from left to right), each step has a cost, and the
plausible span of the item prices what the words leave open. The runners-up stay known: where one
of them is nearly as cheap and means something else, the reading becomes a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from extract import search_costs as costs
from extract.excepted_places import EXCEPTED
from extract.item_words import measured_by_verb, said_in, telling_words
from extract.mentions import Mention
from extract.number_cuts import split_cost
from extract.position_spans import ALL, MIDDLE, NEXT, OTHER, REST, UNKNOWN, PositionSpan
from extract.quantity_arcs import Quantity
from extract.relative_places import middle_of, next_of, with_other
from extract.search_board import Board
from extract.search_filing import SearchFiling
from extract.search_links import link_cost, overrules, position_link
from extract.search_states import Ahead, Found, Outset, State, counts_on, findings, keep_cheapest, unused_cost
from extract.search_values import SearchValues
from extract.sheet_phrases import STEM
from extract.tokens import Token
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

_RELATIVE = frozenset({OTHER, MIDDLE, NEXT})
_SIZES = word_set("reading_search.sizes")


class ReadingSearch:
    """The search for one job sheet."""

    def __init__(self, sheet: JobSheet) -> None:
        self._items = sheet.measured
        self._item_words = telling_words(sheet)
        self._filing: SearchFiling
        self._values: SearchValues
        self._outset: Outset
        self._watched = False

    def ways(
        self, tokens: Sequence[Token], board: Board, outset: Outset, watched: bool = False
    ) -> list[Found]:
        """Return the ways to read a run of words, the cheapest first; at least one.

        Args:
            tokens: the whole utterance.
            board: what stands where in it, and which tokens to read.
            outset: what came before.
            watched: somebody wants to see on the board what values are worth in hopeless ways, too.
        """
        self._filing = SearchFiling(self._items, board, outset)
        self._outset = outset
        self._watched = watched
        norms = [token.norm for token in tokens[board.start : board.end]]
        said = said_in(norms)
        self._values = SearchValues(self._items, self._item_words, said, board, outset, self._filing)
        states = Ahead()
        states.hand_on(board.start, self._outsets(outset))
        kept: list[State] | None = None
        for i in range(board.start, board.end):
            here = states.take(i)
            here = here if here is kept else keep_cheapest(here)
            kept = None
            if here and i + 1 not in states and board.is_plain(i):
                # Nothing can be done here but go on, with the same states at the same costs.
                kept = here
                states.hand_on(i + 1, here)
            elif here:
                self._step(tokens, board, outset, i, here, states)
        finished = [
            self._filing.flushed(state._replace(cost=state.cost + unused_cost(state)))
            for state in keep_cheapest(states.take(board.end))
        ]
        return findings([state for state in finished if state is not None])

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
        states: Ahead,
    ) -> None:
        """Move every state at token ``i`` on by all that can stand there."""

        def go(end: int, new: State) -> None:
            states.add(min(end, board.end), new)

        skip = board.skip_cost(i)
        for state in here:
            go(i + 1, state.at_cost(state.cost + skip) if skip else state)
        for mention in board.items_at(i):
            for key in mention.keys:
                extra = mention.cost + (0.0 if len(mention.keys) == 1 or key == outset.item else 0.15)
                if measured_by_verb(tokens, mention):
                    size = not _SIZES.isdisjoint(key.split("_"))
                    extra -= costs.VERB_OF_MEASURING + costs.SIZE_MEASURED * size
                lately = (outset.item, *outset.earlier)
                if 1 <= mention.cost < STEM and any(known in lately for known in mention.keys):
                    # The tail of several names means the one talked about lately.
                    extra = 0.2 + 0.1 * lately.index(key) if key in lately else mention.cost + 0.9
                for state in here:
                    for new in self._on_item(tokens, state, key, extra, mention, outset):
                        go(mention.end, new)
        for span in board.positions_at(i):
            for state in here:
                most = inf if self._watched else states.most(span.end)
                for new in self._on_position(tokens, state, span, most):
                    go(span.end, new)
        for unit, end in board.units_at(i):
            for state in here:
                go(end, state._replace(carried=unit))
        alike = board.same_as(i)
        if alike is not None:
            for state in here:
                known = self._known_at(state, alike[0][0])
                if known is not None:
                    again = board.repeated(known, i, alike[1])
                    for new in self._values.take(state, again):
                        go(alike[1], new)
        same_end = board.same_at(i)
        if board.is_barred(i):
            return
        if same_end is not None:
            for state in here:
                repeated = state.filed[-1].quantity if state.filed else outset.last
                if repeated is not None:
                    again = board.repeated(repeated, i, same_end)
                    for new in self._values.take(state, again):
                        go(same_end, new)
            return
        for quantity in board.quantities_at(i):
            for state in here:
                most = inf if self._watched else states.most(quantity.end)
                for new in self._values.take(state, quantity, most):
                    states.add(quantity.end, new)

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
            cost += costs.UNUSED_NUMBER if state.group_style in ("number", "group") else unused_cost(state)
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
        closed = self._filing.flushed(state)
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
            link = link_cost(tokens, state.last_end, start, item.measured_kind)
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
        return self._filing.flushed(state, keep_item=True)

    def _on_position(
        self, tokens: Sequence[Token], state: State, span: PositionSpan, most: float
    ) -> list[State]:
        """Name positions: for the value before ("thirty one on vane two") or for those to come.

        States that would cost more than ``most`` need not be among those returned.
        """
        keys, cost = self._fitting(state, span)
        if keys is None:
            return []
        if span.style == "number" and counts_on(state, keys[0]):
            # The value before has paid for the cut already ("… three twenty | four seventeen").
            cost -= costs.COUNTING_ON
        elif span.style in ("number", "group"):
            cost += split_cost(tokens, span.start)
        if overrules(tokens, state, span):
            cost += costs.OVERRULED
        if state.cost + span.cost + cost > most:
            return []
        found = []
        named_elsewhere = state.source == "earlier" and not self._filing.brings_back(
            state._replace(group=keys, group_style=span.style)
        )
        if state.waiting and named_elsewhere:
            return []
        if state.waiting and state.item is not None and not state.group and span.style != EXCEPTED:
            link = position_link(tokens, state.last_end, span.start)
            with_value = state._replace(
                cost=state.cost + span.cost + cost + link,
                group=keys,
                group_words=span.words,
                group_style=span.style,
                group_at=span.end,
            )
            flushed = self._filing.flushed(with_value, keep_item=True)
            if flushed is not None:
                found.append(flushed._replace(last="position", last_end=span.end))
        closed = self._filing.flushed(state, keep_item=True)
        if closed is not None:
            found.append(
                closed._replace(
                    cost=closed.cost + span.cost + cost + unused_cost(state),
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
            return (span.keys, 0.0) if span.style != "all" and not _RELATIVE & set(span.keys) else (None, 0.0)
        positions = self._items[state.item].positions
        if span.keys == (ALL,):
            if not positions or (span.count is not None and span.count != len(positions)):
                return None, 0.0
            return tuple(p for p in positions if p not in span.without) or None, 0.0
        if span.keys == (REST,):
            return self._unsaid(state, positions), 0.0
        if OTHER in span.keys:
            return with_other(span.keys, self._last_position(state), positions), 0.0
        if span.keys == (NEXT,):
            return next_of(self._last_position(state), positions), 0.0
        if span.keys == (MIDDLE,):
            return middle_of(positions), 0.0
        if span.keys == (UNKNOWN,):
            return (span.keys, 0.0) if positions else (None, 0.0)
        if all(key in positions for key in span.keys):
            return span.keys, 0.0
        if positions and span.style == "named" and state.source == "said":
            return (UNKNOWN,), costs.FOREIGN_POSITION
        return None, 0.0

    def _unsaid(self, state: State, positions: Sequence[str]) -> tuple[str, ...] | None:
        """Return the positions of which nothing was said, in these words or else before them."""
        said = {filed.position for filed in state.filed if filed.item == state.item}
        said = said or {place for item, place in self._outset.known or {} if item == state.item}
        rest = tuple(place for place in positions if place not in said)
        return rest if said and rest else None

    def _known_at(self, state: State, position: str) -> Quantity | None:
        """Return what was said for a position of the state's item, in these words or before them."""
        here = [f.quantity for f in state.filed if (f.item, f.position) == (state.item, position)]
        if here:
            return here[-1]
        return (self._outset.known or {}).get((state.item or "", position))

    def _last_position(self, state: State) -> str | None:
        """Return the position spoken of last, in these words or before them."""
        if state.group:
            return state.group[-1]
        mine = [f.position for f in state.filed if f.item == state.item and f.position is not None]
        if mine:
            return mine[-1]
        return (self._outset.last_positions or {}).get(state.item or "")
