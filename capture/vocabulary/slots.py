"""What a job sheet puts into the slots of bench talk: its items, values, positions, parts, words.

A line with a slot in it belongs to every sheet; filled, it belongs to one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from random import Random

from capture.vocabulary.natural_text import times_said
from capture.vocabulary.spoken_numbers import NUMBER_WORDS, below_hundred, digits_of, number_words, paired
from shared.job_sheet import JobSheet
from shared.lexicon import Lexicon
from shared.sheet_entries import Fastener, Reading

Measured = Reading | Fastener

#: Where a sheet gives neither limits nor a plausible span: what is met on the bench
#: (common practice, no source).
_USUAL_SPAN = {
    "in": ("0.001", "2.5"), "mm": ("0.01", "120"), "um": ("1", "600"), "ft_lb": ("5", "300"),
    "in_lb": ("5", "200"), "N_m": ("2", "400"),
    "psi": ("1", "300"), "bar": ("0.2", "40"), "kPa": ("5", "900"),
    "degC": ("5", "130"), "degF": ("40", "300"), "rpm": ("300", "3600"),
    "mm_s": ("0.1", "15"), "g": ("1", "90"),
    "count": ("1", "24"), "min": ("1", "60"), "s": ("1", "90"), "percent": ("1", "100"),
}  # fmt: skip
#: How many names of the sheet itself are drawn for each of the trade's.
_OWN_SHARE = 2
_USUAL_STEP = {"in": "0.001", "mm": "0.01", "bar": "0.1", "mm_s": "0.1", "um": "1"}
_NATO = [
    "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo",
    "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor",
    "whiskey", "x-ray", "yankee", "zulu",
]  # fmt: skip
_GAUGES = (
    "feeler",
    "dial indicator",
    "micrometer",
    "mic",
    "caliper",
    "dial",
    "torque wrench",
    "depth mic",
    "tach",
)


def many(phrase: str) -> bool:
    """Tell whether a part's name is a plural (``lip seals``)."""
    return phrase.endswith("s") and not phrase.endswith(("ss", "'s", "bellows"))


@dataclass(frozen=True)
class ValueSpan:
    """The values that an item may be said to have: from, to, and the step between two of them."""

    low: Decimal
    high: Decimal
    plausible_low: Decimal
    plausible_high: Decimal
    step: Decimal


def value_span(entry: Measured) -> ValueSpan:
    """Return the span of values worth hearing: well beyond the limits, for what is out must be heard too."""
    limits = [v for v in (entry.lower, entry.nominal, entry.upper) if v is not None]
    usual_low, usual_high = map(Decimal, _USUAL_SPAN[entry.unit])
    low, high = entry.plausible or ((min(limits) / 4, max(limits) * 3) if limits else (usual_low, usual_high))
    near_low, near_high = low, high
    if limits:
        reach = max(limits) - min(limits) if len(limits) > 1 else abs(limits[0])
        near_low, near_high = max(low, min(limits) - 2 * reach), min(high, max(limits) + 2 * reach)
    places = [-int(v.as_tuple().exponent) for v in limits] or [
        -int(Decimal(_USUAL_STEP.get(entry.unit, "1")).as_tuple().exponent)
    ]
    step = Decimal(1).scaleb(-max(0, *places)) if max(places) > 0 else Decimal(1)
    return ValueSpan(near_low, near_high, low, high, step)


def draw_value(span: ValueSpan, rng: Random) -> Decimal:
    """Draw one value: half near the limits, half anywhere plausible (evenly by size, small ones too)."""
    if rng.random() < 0.55:
        low, high = span.low, span.high
    else:
        low, high = span.plausible_low, span.plausible_high
        if low >= 0 and high > 20 * max(low, span.step) and rng.random() < 0.7:
            high = max(low + span.step, high / (2 ** rng.randrange(1, 7)))
    step = span.step
    if rng.random() < 0.15:
        step = step / 2 if step < 1 else step
    elif rng.random() < 0.15:
        step = step * 5
    steps = int((high - low) / step)
    value = (low / step).to_integral_value() * step + rng.randrange(steps + 1) * step
    return abs(value)


class SheetWords:
    """Draws words for slots from one sheet and the trade lexicon; the same seed draws the same."""

    def __init__(self, sheet: JobSheet, lexicon: Lexicon, rng: Random) -> None:
        self.rng = rng
        self.sheet = sheet
        self.items = list(sheet.measured.values())
        self.torques = [entry for entry in self.items if entry.measured_kind == "torque"]
        self.placed = [entry for entry in self.items if entry.positions]
        self._spans = {entry.item: value_span(entry) for entry in self.items}
        self._units = {unit: speakable_units(forms) for unit, forms in lexicon.units.items()}
        self.parts = [form for part in sheet.parts for form in part.spoken]
        self.all_parts = _with_trade(self.parts, lexicon.parts)
        self.one_part = [form for form in self.all_parts if not many(form)]
        self.many_parts = [form for form in self.all_parts if many(form)]
        self.consumables = _with_trade(
            [form for c in sheet.consumables for form in c.spoken], lexicon.consumables
        )
        self.photos = [form for photo in sheet.photos for form in photo.spoken] or self.one_part
        self.steps = [form for step in sheet.steps for form in step.spoken] or ["turns freely"]
        self.commands = [form for forms in lexicon.commands.values() for form in forms]
        self.conditions = _as_often_as_said(lexicon.conditions)
        self.actions = _as_often_as_said(lexicon.actions)

    def value(self, entry: Measured) -> str:
        """Say a value of an item in one of its styles."""
        return number_words(draw_value(self._spans[entry.item], self.rng), entry.unit, self.rng)

    def unit(self, entry: Measured) -> str:
        """Say an item's unit, or another one of its kind now and then; empty where it is not said."""
        if entry.unit == "in" or self.rng.random() < 0.1:
            return ""
        return self.rng.choice(self._units[entry.unit] or [""])

    def position(self, entry: Measured) -> str:
        """Say one of an item's positions (of the sheet's, where the item has none)."""
        known = entry.positions or list(self.sheet.positions)
        return self.rng.choice(self.sheet.spoken_positions(self.rng.choice(known))) if known else "number one"

    def gauge(self) -> str:
        """Say a gauge."""
        own = [entry.gauge for entry in self.items if entry.gauge]
        return self.rng.choice(own if own and self.rng.random() < 0.5 else list(_GAUGES))

    def identifier(self) -> str:
        """Say a work order, tag or serial: digits, pairs, letters."""
        rng = self.rng
        digits = "".join(rng.choice("0123456789") for _ in range(rng.randrange(2, 7)))
        said = digits_of(digits, rng.choice(("oh", "oh", "zero")))
        if len(digits) in (3, 4) and digits[0] != "0" and rng.random() < 0.4:
            said = paired(int(digits))
        roll = rng.random()
        letter = rng.choice((rng.choice("abcdefghjklmnpqrstuvwxyz"), rng.choice(_NATO).replace("-", " ")))
        if roll < 0.2:
            return f"{letter} {said}"
        if roll < 0.4:
            return f"{letter} dash {said}"
        return f"{said} {letter}" if roll < 0.5 else said

    def small_count(self) -> str:
        """Say how many of something."""
        return below_hundred(self.rng.choice((1, 2, 2, 3, 3, 4, 4, 5, 6, 6, 8, 12)))


def _as_often_as_said(forms: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Return the trade's names, each as often as natural talk suggests; a name never heard stands once."""
    return [
        form
        for names in forms.values()
        for form in names
        for _ in range(1 + int(2 * times_said(form) ** 0.75))
    ]


def _with_trade(own: list[str], forms: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Return the sheet's names, so often that two of three drawn are its own, and the trade's."""
    trade = _as_often_as_said(forms)
    return own * max(1, round(_OWN_SHARE * len(trade) / max(1, len(own)))) + trade


def speakable_units(forms: tuple[str, ...]) -> list[str]:
    """Return the spoken names among a unit's forms: words and single letters, no abbreviations or signs."""
    kept = []
    for form in forms:
        words = form.split()
        if all(w.isalpha() and w.isascii() and (len(w) == 1 or len(w) > 3 or w in {"bar", "off", "of", "per"})
               for w in words):  # fmt: skip
            kept.append(form)
    return [form for form in kept if form not in {"g", "off", "of them"}]


def is_number_word(word: str) -> bool:
    """Tell whether a word can be part of a spoken number."""
    return word in NUMBER_WORDS
