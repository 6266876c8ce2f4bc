"""What a job sheet adds to bare amounts: the unit of the item beside which they were said."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

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

    def settle(
        self, tokens: Sequence[Token], quantities: Sequence[SpokenQuantity]
    ) -> tuple[SpokenQuantity, ...]:
        """Give bare and open amounts the unit of their item where one reading alone is plausible."""
        mentions = self._mentions(tokens)
        if not mentions:
            return tuple(quantities)
        return tuple(self._settled(quantity, mentions) for quantity in quantities)

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

    def _settled(self, quantity: SpokenQuantity, mentions: Sequence[_Mention]) -> SpokenQuantity:
        before = [m for m in mentions if m.end <= quantity.tokens[0]]
        entry = before[-1].entry if before else (mentions[0].entry if len(mentions) == 1 else None)
        if entry is None or not quantity.meanings or quantity.counts:
            return quantity
        fitting = [m for m in _in_unit_of(entry, quantity.meanings, self.sheet) if _plausible(entry, m)]
        if len({convert(m.value, m.unit, entry.unit) for m in fitting if m.unit}) != 1:
            return quantity
        chosen = fitting[0]
        if (
            quantity.best is not None
            and quantity.best.unit is not None
            and chosen.number != quantity.best.number
        ):
            # A repair of figures that were printed with their unit: only where what stands there cannot be.
            stands = [
                m
                for m in quantity.meanings[:1]
                if m.unit and _same_kind(m.unit, entry) and _plausible(entry, m)
            ]
            if stands or not _same_kind(quantity.best.unit, entry):
                return quantity
        rest = tuple(m for m in quantity.meanings if m != chosen)
        return quantity._replace(meanings=(chosen._replace(cost=quantity.meanings[0].cost - 1), *rest))


def _same_kind(unit: str, entry: Reading | Fastener) -> bool:
    return KIND_OF_UNIT[unit] is not None and KIND_OF_UNIT[unit] == KIND_OF_UNIT[entry.unit]


def _in_unit_of(entry: Reading | Fastener, meanings: Sequence[Meaning], sheet: JobSheet) -> list[Meaning]:
    kind = entry.measured_kind
    found: list[Meaning] = []
    for meaning in meanings:
        if meaning.unit is not None:
            if _same_kind(meaning.unit, entry):
                found.append(meaning)
        elif meaning.said_unit == "degrees":
            if kind == "temperature":
                found.append(meaning._replace(unit=sheet.units.temperature or entry.unit))
        elif meaning.said_unit == "pounds":
            continue
        elif meaning.said_unit in (None, "hundredths"):
            found.append(meaning._replace(unit=entry.unit))
            if entry.unit == "in" and meaning.said_unit is None:
                found.append(meaning._replace(unit="in", said_unit=None, value=meaning.number * _THOU))
    return found


def _plausible(entry: Reading | Fastener, meaning: Meaning) -> bool:
    if meaning.unit is None:
        return False
    value = convert(meaning.value, meaning.unit, entry.unit)
    least, most = _span(entry)
    return (least is None or value >= least) and (most is None or value <= most)


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
