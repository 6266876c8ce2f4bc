"""A reading before it is filed: what was read, how sure, and by which rule."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from extract.quantity_arcs import Quantity
from shared.record import Candidate, Stage
from shared.units import decimal_text


@dataclass
class ReadingDraft:
    """One reading as the words gave it."""

    item: str
    position: str | None
    stage: Stage
    value: Fraction | None
    """In the item's unit; None where no candidate leads."""
    unit: str
    said_unit: str | None
    rule: str
    start: int
    """First token that it stands on."""
    end: int
    """Token after the last."""
    quantity: Quantity | None = None
    reasons: list[str] = field(default_factory=list)
    """Why it must be asked about; empty where it is sure."""
    candidates: list[Candidate] = field(default_factory=list)
    repairs: list[str] = field(default_factory=list)
    corrects: str | None = None
    """Id of the entry that it puts right."""
    confidence: float = 1.0
    known_again: bool = False
    """Said to be measured once more."""
    unsettles: bool = True
    """Whether it leaves a sure reading at its place open where it is doubtful itself."""
    heard_first: Fraction | None = None
    """Its value before something left that open."""
    open_by_words: bool = False
    """Whether what was said leaves the value open, and not only how it was heard."""

    @property
    def sure(self) -> bool:
        """Whether it can stand without a question."""
        return not self.reasons

    def ask(self, reason: str, *candidates: Candidate, leads: bool = True, by_ear: bool = False) -> None:
        """Make a question of it.

        Args:
            reason: why.
            candidates: what it may be instead.
            leads: whether its value stays as the likeliest.
            by_ear: whether that is open only because of how it was heard; the sheet may tell then which
                value leads (:mod:`extract.leading_values`).
        """
        if reason not in self.reasons:
            self.reasons.append(reason)
        for candidate in candidates:
            if candidate not in self.candidates:
                self.candidates.append(candidate)
        self.open_by_words = self.open_by_words or not (leads or by_ear)
        if not leads and self.value is not None:
            self.heard_first = self.value
            # What is asked about is offered: a question without its number cannot be answered.
            mine = value_candidate(self.value, self.unit)
            if mine not in self.candidates:
                self.candidates.append(mine)
            self.value = None

    def place(self) -> tuple[str, str | None]:
        """Return where it belongs: item and position."""
        return self.item, self.position


@dataclass(frozen=True)
class LooseNumber:
    """A number heard that made no reading."""

    words: str
    value: Fraction | None
    unit: str | None
    reason: str
    quantity: Quantity
    start: int = 0
    end: int = 0


def value_candidate(value: Fraction, unit: str) -> Candidate:
    """Return a candidate that differs by its value."""
    text = decimal_text(value)
    return Candidate(value=float(text), value_exact=text, unit=unit)


@dataclass
class ReadingTalk:
    """What an utterance gave."""

    drafts: list[ReadingDraft] = field(default_factory=list)
    loose: list[LooseNumber] = field(default_factory=list)
    about_item: bool = False
    """Whether it names an item or a position of the item talked about."""
