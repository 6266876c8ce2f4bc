"""What stands where in a run of words, laid out for the search: items, positions, units, walls."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import chain, pairwise

from extract.mentions import Mention, Mentions
from extract.moved_amounts import only_moved
from extract.number_cuts import split_cost
from extract.numbers import is_number_word
from extract.places_in_names import names_other_item
from extract.placings import Item, Placing, placings
from extract.position_labels import owns_value
from extract.position_spans import PositionSpan, position_spans
from extract.quantity_arcs import Quantity, alternatives_at, between_at, quantities_at
from extract.sheet_phrases import STEM, WEAK
from extract.spoken_units import UnitName, unit_names_at
from extract.tokens import Token
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.units import same_kind

#: What it costs to step over a word that belongs to a number.
_SKIPPED = 5.0
#: What it costs to make nothing of an item, a position, a "same again" that was named.
_PASSED_ITEM = 2.2
#: The same where the item's whole name leads to a value or its place: "mounted clearance drive end point
#: five" is never the clearance talked about before, whatever value that would make.
_PASSED_LEADING = 5.0
_PASSED_POSITION = 2.0
_PASSED_ALL = 0.4
_PRONOUN_AS_NUMBER = 0.9
_PASSED_SAME = 1.5
_PASSED_SAME_AS = 3.0
_BETWEEN_VALUES = frozenset({"and", ",", "then", "&", "a", "the", ";", "um", "uh", "er", "next"})
_PRONOUN_BEFORE = word_set("search_board.pronoun_before")
#: Right behind these a "one" is a pronoun even before a number ("that last one sixteen").
_PRONOUN_LEADS = frozenset(
    {"the", "that", "this", "other", "last", "first", "which", "new", "old", "same", "fresh", "spare"}
) | word_set("search_board.superlatives")
_MORE = frozenset({"plus", "minus"})
_SAME_WHAT = word_set("search_board.same_what")
#: Behind these a "one" is a pronoun before any number.
_SUPERLATIVES = word_set("search_board.superlatives")
_ONE_AND = frozenset({"hundred", "thousand", "point", "half", "quarter"})
_IS = frozenset({"is", "'s", "was", "reads"})
_LEADING = _IS | {",", ".", ":", "at", "are", "were", "now"}
_GOES_ON = frozenset({",", ".", "and", "then", "now", "as", "well"})
_ONE_GOES_ON = frozenset({"again", "is", "'s", "was", "reads", "came", "comes", "now"})
_PRONOUN_AFTER = word_set("search_board.pronoun_after")


class Board:
    """One run of words, tokens ``start`` to before ``end`` of an utterance."""

    def __init__(
        self,
        sheet: JobSheet,
        tokens: Sequence[Token],
        mentions: Mentions,
        start: int,
        end: int,
        *,
        walls: Iterable[int] = (),
        counts: Iterable[int] = (),
    ) -> None:
        self.start, self.end = start, end
        self._tokens = tokens
        self._walls = frozenset(walls)
        self._counts = frozenset(counts)
        self._correcting = bool(mentions.cues("correction"))
        self._items: dict[int, list[Mention]] = defaultdict(list)
        for mention in mentions.of("item"):
            inside = start <= mention.start and mention.end <= end
            if inside and not only_moved(tokens, self._walls, mention) and not _runs_on(mention, mentions):
                self._items[mention.start].append(mention)
        self._place_starts = frozenset(
            m.start for m in mentions.of("position") if m.cost < WEAK and m.end - m.start > 1
        )
        self._parts = frozenset(
            m.start for m in mentions.of("part", "other_part") if m.kind == "part" or m.cost < 1
        )
        self._findings = frozenset(m.start for m in mentions.of("condition"))
        self._last_item = max(self._items, default=-1)
        self._positions: dict[int, list[PositionSpan]] = defaultdict(list)
        for span in chain.from_iterable(map(self._with_one, position_spans(sheet, tokens, mentions))):
            inside = start <= span.start and span.end <= end
            if (
                inside
                and span.style in ("number", "group")
                and self._counts.intersection(range(span.start, span.end))
            ):
                continue
            free = not self._walls.intersection(range(span.start, span.end))
            if inside and free and not self._of_barred(span) and not names_other_item(span, mentions, sheet):
                self._positions[span.start].append(span)
        self._quantities: dict[int, list[Quantity]] = {}
        self._sheet = sheet
        self._repeated: dict[tuple[int, int], Quantity] = {}
        self._held: list[object] = []
        self._placed: dict[tuple[int, str, int], list[Placing]] = {}
        self._named_before: dict[tuple[int, str | None], frozenset[str]] = {}
        self._passed: dict[int, float] = {}
        for i, mentioned in self._items.items():
            if any(mention.cost < 1 for mention in mentioned):
                leads = any(mention.cost < WEAK and self._leads(mention.end) for mention in mentioned)
                self._passed[i] = _PASSED_LEADING if leads else _PASSED_ITEM
        for i, spans in self._positions.items():
            for span in spans:
                cost = _PASSED_POSITION if span.style == "named" and span.cost < 0.5 else _PASSED_ALL
                if span.style == "named" and span.end < end and self.quantities_at(span.end):
                    cost = _PASSED_POSITION
                if span.style in ("named", "all"):
                    self._passed[i] = max(cost, self._passed.get(i, 0.0))
        self._same = {m.start: m.end for m in mentions.cues("same_value") if start <= m.start < end}

    def _leads(self, at: int) -> bool:
        """Whether a value, or a place, stands at a token or behind the verb there."""
        at += at < self.end and self._tokens[at].norm in _LEADING
        return at < self.end and bool(self.quantities_at(at) or self._positions.get(at))

    def _of_barred(self, span: PositionSpan) -> bool:
        """Whether a place is that of a barred number right before it ("spec's two thou inboard, …")."""
        behind = self._tokens[span.end].norm if span.end < self.end else ""
        return span.start - 1 in self._walls and span.style == "named" and behind in (",", "and", ".")

    def _with_one(self, span: PositionSpan) -> list[PositionSpan]:
        """Take the pronoun of "the middle one" into its position, or leave it to the value behind."""
        at = span.end
        if span.style == "named" and self._tokens[at - 1].norm == "one" and at - span.start > 1:
            # A sheet may call it "top one" itself.
            lead = self._tokens[at - 2].norm in _PRONOUN_LEADS
            longer = lead and any(q.end > at for q in quantities_at(self._tokens, at - 1))
            return [span, replace(span, end=at - 1)] if longer else [span]
        if span.style != "named" or at >= self.end or self._tokens[at].norm not in ("one", "ones"):
            return [span]
        following = self._tokens[at + 1].norm if at + 1 < self.end else ""
        led = span.start > 0 and self._tokens[span.start - 1].norm in _PRONOUN_LEADS
        amounts = quantities_at(self._tokens, at)
        measured = any(q.unit is not None or q.end > at + 1 for q in amounts)
        unit_behind = any(q.unit is not None and q.number_end == at + 1 for q in amounts)
        if is_number_word(self._tokens[at - 1]) or unit_behind or following in _ONE_AND:
            # "The free side one hundred and twenty".
            return [span]
        if not led and (measured or following not in _ONE_GOES_ON):
            return [span]
        whole = replace(span, end=at + 1)
        # "One twenty on the top one eighteen on the bottom".
        return [whole, span] if measured else [whole]

    def quantities_at(self, i: int) -> list[Quantity]:
        """Return the quantities that can start at a token, alternatives joined by "or" among them."""
        if i not in self._quantities:
            found = [self._without_place(q) for q in quantities_at(self._tokens, i)]
            found = [q for q in found if not self._takes_place(q)]
            if self._tokens[i].norm == "one" and i and self._tokens[i - 1].norm in _PRONOUN_LEADS:
                found = [replace(q, cost=q.cost + _PRONOUN_AS_NUMBER) for q in found]
            if i and self._tokens[i - 1].norm == "between":
                # "Between fifteen and sixteen" is one value that nobody knows exactly.
                found = between_at(self._tokens, found) or found
            found += alternatives_at(self._tokens, found)
            self._quantities[i] = [
                replace(q, cost=q.cost + split_cost(self._tokens, q.end))
                if split_cost(self._tokens, q.end)
                else q
                for q in found
                if not self.cuts(q) and not self._names_hour(q.end) and not self._is_which_one(q)
            ]
        return self._quantities[i]

    def _without_place(self, quantity: Quantity) -> Quantity:
        """Take "stage" for no unit where the next place begins with it ("… three five stage three")."""
        unit, end = quantity.unit, quantity.number_end
        if unit is None or not unit.foreign or end not in self._place_starts:
            return quantity
        return replace(quantity, unit=None, end=end)

    def _takes_place(self, quantity: Quantity) -> bool:
        """Whether a number ends in a place ("point five | quarter two is …", "oh one | two's four …")."""
        if quantity.end - quantity.start > 1 and owns_value(self._tokens, quantity.end - 1):
            return True
        return any(
            at in self._place_starts and self._tokens[at].norm in ("quarter", "half", "third")
            for at in range(quantity.start + 1, quantity.end)
        )

    def _is_which_one(self, quantity: Quantity) -> bool:
        """Whether a number begins with the "one" of "the worst one eighteen thou"."""
        i = quantity.start
        if self._tokens[i].norm != "one" or quantity.end == i + 1 or not i:
            return False
        following = self._tokens[i + 1].norm
        return (
            self._tokens[i - 1].norm in _SUPERLATIVES
            and following not in _ONE_AND
            and bool(is_number_word(self._tokens[i + 1]))
        )

    def _names_hour(self, end: int) -> bool:
        """Whether an "o'clock" follows, so that the last figure says where and not how much."""
        words = [token.norm for token in self._tokens[end : end + 2]]
        return words[:1] in (["o'clock"], ["oclock"]) or words == ["o", "clock"]

    def placings(self, quantity: Quantity, item: Item, carried: UnitName | None) -> list[Placing]:
        """Return what a quantity may be worth for an item; worked out once."""
        key = (id(quantity), item.item, id(carried))
        if key not in self._placed:
            # Holding both keeps their ids from being given away while the board lives.
            self._held += [quantity, carried]
            self._placed[key] = placings(quantity, item, self._sheet, carried)
        return self._placed[key]

    def amounts(self) -> list[Quantity]:
        """Return the quantities that were looked at so far, by where they start."""
        return [quantity for at in sorted(self._quantities) for quantity in self._quantities[at]]

    def placed(self) -> list[tuple[Quantity, str, list[Placing]]]:
        """Return what was worked out so far: a quantity, an item, what the one is worth for the other."""
        held = (thing for thing in self._held[::2] if isinstance(thing, Quantity))
        return [(q, item, found) for q, ((_, item, _), found) in zip(held, self._placed.items(), strict=True)]

    def item_ahead(self, i: int) -> bool:
        """Whether an item is named at a token or behind it."""
        return i <= self._last_item

    def named_before(self, quantity: Quantity) -> frozenset[str]:
        """Return the items of a quantity's kind that are named in full before it; all where none is."""
        place = (quantity.start, quantity.unit.unit if quantity.unit is not None else None)
        if place not in self._named_before:
            self._named_before[place] = self._named_of_kind(*place)
        return self._named_before[place]

    def _named_of_kind(self, start: int, kind: str | None) -> frozenset[str]:
        measured = self._sheet.measured
        named = {
            key
            for at, mentions in self._items.items()
            for m in mentions
            for key in m.keys
            if at < start and m.cost <= STEM and kind and same_kind(kind, measured[key].unit)
        }
        return frozenset(named or measured)

    def items_at(self, i: int) -> list[Mention]:
        """Return the items named at a token."""
        return self._items.get(i, [])

    def positions_at(self, i: int) -> list[PositionSpan]:
        """Return the positions named at a token."""
        return self._positions.get(i, [])

    def same_at(self, i: int) -> int | None:
        """Return the end of "the same again" at a token, None where it does not stand."""
        end = self._same.get(i)
        if end is None or not self._repeats(i, end):
            return None
        # "Same at the seal", where the place is called "at the seal".
        return end - 1 if end - 1 > i and end - 1 in self._positions else end

    def same_as(self, i: int) -> tuple[tuple[str, ...], int] | None:
        """Return (position, end) of "the same as four" at a token, None where it does not stand."""
        end = self._same.get(i)
        if end is None or end + 1 >= self.end or self._tokens[end].norm != "as":
            return None
        at = end + 2 if self._tokens[end + 1].norm in ("the", "on", "at") else end + 1
        spans = [span for span in self.positions_at(at) if len(span.keys) == 1]
        best = max(spans, key=lambda span: span.end, default=None)
        return (best.keys, best.end) if best is not None else None

    def _repeats(self, i: int, end: int) -> bool:
        listing = self._tokens[end - 1].norm in ("on", "for", "at")
        if end < self.end and not listing and (end in self._parts or self.quantities_at(end)):
            # "Same impeller", "the same thirty six".
            return False
        words = [t.norm for t in self._tokens[i:end]]
        if words[0] == "so":
            # "So is vane two"; "so is the seat" tells of a part.
            article = end < self.end and self._tokens[end].norm == "the"
            return end + article in self._positions
        more = (i for i in range(end, self.end - 1) if self._tokens[i].norm in _MORE)
        if any(not self._walls.isdisjoint((i + 1, i + 2)) for i in more):
            # "Same at the coupling end plus half a thou".
            return False
        following = self._tokens[end].norm if end < len(self._tokens) else ""
        if words[-1] == "same" and (following in _SAME_WHAT or end in self._findings):
            # "Both sides, the same feeler".
            return False
        if words == ["as", "well"] or words == ["same", "on"]:
            return words != ["as", "well"]
        return (
            following not in ("as", "way", "time", "size", "one", "thing", "bolts", "old") or len(words) > 2
        )

    def run_together(self, quantities: Sequence[Quantity]) -> bool:
        """Whether values follow one another with nothing but "and" and the like between."""
        for first, second in pairwise(quantities):
            between = [t.norm for t in self._tokens[first.end : second.start]]
            if not all(word in _BETWEEN_VALUES for word in between):
                return False
        return True

    def torn(self, first: Quantity, second: Quantity) -> bool:
        """Whether two values touch that can be one number said by its hundreds ("one eighty")."""
        if first.end != second.start or first.unit is not None or first.value is None:
            return False
        return 0 < first.value < 10 and any(q.end == second.end for q in self.quantities_at(first.start))

    def repeated(self, quantity: Quantity, start: int, end: int) -> Quantity:
        """Return a quantity said once more by "the same again"; one object for each place."""
        key = (id(quantity), start)
        if key not in self._repeated:
            self._repeated[key] = replace(quantity, start=start, end=end, number_end=end, cost=0.0)
        return self._repeated[key]

    def units_at(self, i: int) -> list[tuple[UnitName, int]]:
        """Return a unit announced for what follows ("in thou", "in microns")."""
        if self._tokens[i].norm != "in" or i + 1 >= self.end:
            return []
        names, end = unit_names_at(self._tokens, i + 1)
        if not names or names[0].foreign or names[0].unit is None or end > self.end:
            return []
        return [(names[0], end)]

    def is_plain(self, i: int) -> bool:
        """Whether nothing begins at a token, and stepping over it costs nothing."""
        named = i in self._items or i in self._positions or i in self._same
        return not named and not self.quantities_at(i) and not self.units_at(i) and not self.skip_cost(i)

    def is_barred(self, i: int) -> bool:
        """Whether a token belongs to no reading."""
        return i in self._walls

    def cuts(self, quantity: Quantity) -> bool:
        """Whether a quantity runs into a wall, or over the end of the run."""
        return quantity.end > self.end or not self._walls.isdisjoint(range(quantity.start, quantity.end))

    def is_count(self, quantity: Quantity) -> bool:
        """Whether a number only counts things."""
        return quantity.start in self._counts

    def is_pronoun(self, quantity: Quantity) -> bool:
        """Whether a "one" is probably no number."""
        if quantity.end - quantity.start != 1 or self._tokens[quantity.start].norm != "one":
            return False
        before = self._tokens[quantity.start - 1].norm if quantity.start else ""
        following = self._tokens[quantity.end].norm if quantity.end < len(self._tokens) else ""
        return before in _PRONOUN_BEFORE or following in _PRONOUN_AFTER

    def skip_cost(self, i: int) -> float:
        """Return what it costs to step over a token unread."""
        passed = self._passed.get(i, 0.0)
        if i in self._same and (self.same_at(i) is not None or self.same_as(i) is not None):
            passed = max(passed, _PASSED_SAME if self.same_as(i) is None else _PASSED_SAME_AS)
        return passed + self._number_cost(i)

    def _number_cost(self, i: int) -> float:
        if i in self._walls or i in self._counts:
            return 0.0
        token = self._tokens[i]
        if token.norm == "one" and not self._number_goes_on(i + 1) and not self._is_told_one(i):
            before = self._tokens[i - 1].norm if i else ""
            following = self._tokens[i + 1].norm if i + 1 < len(self._tokens) else ""
            if before in _PRONOUN_LEADS and i + 1 < self.end and self.quantities_at(i + 1):
                # "Shaft nut, new one, forty four".
                return 0.1
            if any(q.unit is not None for q in self.quantities_at(i)):
                return _SKIPPED
            beside = self._number_beside(i)
            if not beside or following in _PRONOUN_AFTER or before in _PRONOUN_LEADS:
                return 0.1 if before in _PRONOUN_LEADS else 0.3
        if is_number_word(token) or (token.norm in ("oh", "o") and i and is_number_word(self._tokens[i - 1])):
            return _SKIPPED
        return _SKIPPED if self.quantities_at(i) else 0.0

    def _is_told_one(self, i: int) -> bool:
        """Whether a "one" is what a place, or the item, is said to have ("inboard's one", "no, it's one")."""
        if i < 2 or self._tokens[i - 1].norm not in _IS:
            return False
        last = i + 1 >= self.end or self._tokens[i + 1].norm in _GOES_ON or bool(self._positions.get(i + 1))
        of = any(s.end == i - 1 and s.cost < WEAK for spans in self._positions.values() for s in spans)
        of = of or any(m.end == i - 1 and m.cost < 1 for ms in self._items.values() for m in ms)
        return last and (of or (self._correcting and self._tokens[i - 2].norm in ("it", "that")))

    def _number_goes_on(self, i: int) -> bool:
        """Whether what follows makes a number of the word before ("one point five", "one and a half")."""
        return split_cost(self._tokens, i) >= 1

    def _number_beside(self, i: int) -> bool:
        beside = [self._tokens[k] for k in (i - 1, i + 1) if 0 <= k < len(self._tokens)]
        return any(is_number_word(token) for token in beside)


def _runs_on(mention: Mention, mentions: Mentions) -> bool:
    """Whether a name's last word begins a part's ("end play on the worm", of the worm wheel)."""
    return mention.cost > 0 and any(
        mention.start < m.start < mention.end < m.end for m in mentions.of("part", "other_part")
    )
