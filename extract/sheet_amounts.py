"""What a job sheet adds to bare amounts: the unit of the item beside which they were said."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from extract.number_words import ONES
from extract.spoken_quantity import Meaning, SpokenQuantity
from extract.tokens import Token, tokenize
from shared.job_sheet import JobSheet
from shared.sheet_entries import Fastener, Reading
from shared.units import KIND_OF_UNIT, convert

_THOU = Fraction(1, 1000)


class _Mention(NamedTuple):
    start: int
    end: int
    entry: Reading | Fastener


class SheetAmounts:
    """The items of a sheet by their spoken names."""

    def __init__(self, sheet: JobSheet) -> None:
        self.sheet = sheet
        self._names: dict[str, list[tuple[tuple[str, ...], Reading | Fastener]]] = {}
        for entry in sheet.measured.values():
            for phrase in entry.spoken:
                words = tuple(token.norm for token in tokenize(phrase))
                self._names.setdefault(words[0], []).append((words, entry))
        for forms in self._names.values():
            forms.sort(key=lambda form: -len(form[0]))
        self._labels = {
            tuple(token.norm for token in tokenize(phrase))
            for phrases in sheet.positions.values()
            for phrase in phrases
        }
        self._labels = {words for words in self._labels if len(words) > 1 and words[-1] in ONES}

    def labels(self, tokens: Sequence[Token]) -> frozenset[int]:
        """Return the tokens of positions that the sheet numbers ("tooth one"); they are of no amount."""
        found: set[int] = set()
        for i in range(len(tokens)):
            for words in self._labels:
                if tuple(token.norm for token in tokens[i : i + len(words)]) == words:
                    found.update(range(i, i + len(words)))
        return frozenset(found)

    def settle(
        self, tokens: Sequence[Token], quantities: Sequence[SpokenQuantity]
    ) -> tuple[SpokenQuantity, ...]:
        """Give bare and open amounts the unit of their item where one reading alone is plausible."""
        mentions = self._mentions(tokens)
        if not mentions:
            return tuple(quantities)
        last = quantities[-1].tokens[0] if quantities else 0
        return tuple(self._settled(quantity, mentions, last) for quantity in quantities)

    def _mentions(self, tokens: Sequence[Token]) -> list[_Mention]:
        found: list[_Mention] = []
        i = 0
        while i < len(tokens):
            for words, entry in self._names.get(tokens[i].norm, ()):
                if tuple(token.norm for token in tokens[i : i + len(words)]) == words:
                    found.append(_Mention(i, i + len(words), entry))
                    i += len(words) - 1
                    break
            i += 1
        return found

    def _settled(self, quantity: SpokenQuantity, mentions: Sequence[_Mention], last: int) -> SpokenQuantity:
        before = [m for m in mentions if m.end <= quantity.tokens[0]]
        # An item named behind an amount has it only where no other amount follows for it to have.
        behind = len(mentions) == 1 and mentions[0].start >= last
        entry = before[-1].entry if before else (mentions[0].entry if behind else None)
        best = quantity.best
        if entry is None or best is None or (quantity.counts and entry.measured_kind != "count"):
            return quantity
        if best.unit is not None:
            chosen = _plausible_rival(entry, quantity.meanings)
        else:
            chosen = self._bare_meaning(entry, best, quantity.meanings)
        if chosen is None:
            return quantity
        rest = tuple(m for m in quantity.meanings if m != chosen)
        return quantity._replace(meanings=(chosen._replace(cost=best.cost - 1), *rest))

    def _bare_meaning(
        self, entry: Reading | Fastener, best: Meaning, meanings: Sequence[Meaning]
    ) -> Meaning | None:
        """Return what a bare or open amount means for an item, if one meaning alone is plausible.

        As it was said goes before a point that would have to be placed first.
        """
        if best.said_unit == "degrees":
            if entry.measured_kind != "temperature":
                return None
            return _only(entry, [best._replace(unit=self.sheet.units.temperature or entry.unit)])
        if best.said_unit not in (None, "hundredths"):
            return None
        said = [best._replace(unit=entry.unit)]
        if entry.unit == "in" and best.said_unit is None and _could_be_thou(best):
            said.append(best._replace(unit="in", value=best.number * _THOU))
        if any(_plausible(entry, meaning) for meaning in said):
            return _only(entry, said)
        return _only(entry, [m._replace(unit=entry.unit) for m in meanings if m.unit is None and m.places])


def _could_be_thou(meaning: Meaning) -> bool:
    many_places = meaning.style == "decimal" and meaning.places >= 3
    return (meaning.number >= 1 and not many_places) or meaning.style == "fraction"


def _plausible_rival(entry: Reading | Fastener, meanings: Sequence[Meaning]) -> Meaning | None:
    """Return the one plausible meaning of an amount with a unit, where the likeliest cannot be or is open."""
    best = meanings[0]
    if best.unit is None or not _same_kind(best.unit, entry):
        return None
    level = [m for m in meanings if m.number == best.number and m.said_unit == best.said_unit]
    if len({m.unit for m in level}) == 1 and _plausible(entry, best):
        return None
    return _only(entry, [m for m in meanings if m.unit is not None and _same_kind(m.unit, entry)])


def _only(entry: Reading | Fastener, meanings: Sequence[Meaning]) -> Meaning | None:
    """Return the first plausible meaning if all plausible ones agree in value."""
    fitting = [meaning for meaning in meanings if _plausible(entry, meaning)]
    values = {convert(m.value, m.unit, entry.unit) for m in fitting if m.unit is not None}
    return fitting[0] if len(values) == 1 else None


def _same_kind(unit: str, entry: Reading | Fastener) -> bool:
    return KIND_OF_UNIT[unit] is not None and KIND_OF_UNIT[unit] == KIND_OF_UNIT[entry.unit]


def _plausible(entry: Reading | Fastener, meaning: Meaning) -> bool:
    """Tell whether an amount lies in the item's plausible span; without any span nothing is plausible."""
    if meaning.unit is None or (entry.measured_kind == "count" and meaning.value.denominator != 1):
        return False
    least, most = _span(entry)
    value = convert(meaning.value, meaning.unit, entry.unit)
    return least is not None and most is not None and least <= value <= most


def _span(entry: Reading | Fastener) -> tuple[Fraction | None, Fraction | None]:
    """Return the plausible span of an item: as the sheet says, else half to twice its limits."""
    if entry.plausible is not None:
        return Fraction(entry.plausible[0]), Fraction(entry.plausible[1])
    given: list[Decimal] = [limit for limit in (entry.lower, entry.nominal, entry.upper) if limit is not None]
    if not given:
        return None, None
    return Fraction(min(given)) / 2, Fraction(max(given)) * 2


_latest: list[SheetAmounts] = []


def amounts_of(sheet: JobSheet) -> SheetAmounts:
    """Return the names of a sheet, kept for the sheet that was asked for last."""
    if not _latest or _latest[0].sheet is not sheet:
        _latest[:] = [SheetAmounts(sheet)]
    return _latest[0]
