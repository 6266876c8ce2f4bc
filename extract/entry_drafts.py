"""Entries of parts, consumables, steps and the like before they are filed."""

from __future__ import annotations

from dataclasses import dataclass, field

from shared.record import Action, Candidate, Condition, ConsumableName


@dataclass
class Doubts:
    """Why an entry must be asked about, and what it may be."""

    reasons: list[str] = field(default_factory=list)
    candidates: list[Candidate] = field(default_factory=list)

    def ask(self, reason: str, *candidates: Candidate) -> None:
        """Make a question of the entry."""
        if reason not in self.reasons:
            self.reasons.append(reason)
        self.candidates += [c for c in candidates if c not in self.candidates]


@dataclass
class ConditionDraft:
    """What a part was found like."""

    part: str
    condition: Condition
    location: str | None
    unlisted: bool
    start: int
    rule: str
    doubts: Doubts = field(default_factory=Doubts)
    repairs: tuple[str, ...] = ()


@dataclass
class PartDraft:
    """What was done with a part."""

    part: str
    action: Action
    quantity: int | None
    serial: str | None
    unlisted: bool
    start: int
    rule: str
    doubts: Doubts = field(default_factory=Doubts)
    repairs: tuple[str, ...] = ()
    goes_back: bool = False
    """Whether the words only say that it goes back, which a new one does as well."""


@dataclass
class ConsumableDraft:
    """A consumable that was used."""

    name: ConsumableName
    applied_to: str | None
    start: int
    rule: str
    doubts: Doubts = field(default_factory=Doubts)
    repairs: tuple[str, ...] = ()


@dataclass
class StepDraft:
    """A step that was said to be done or left out."""

    step: str
    done: bool
    witness: str | None
    start: int
    rule: str
    doubts: Doubts = field(default_factory=Doubts)


@dataclass
class NoteDraft:
    """Something to be remembered."""

    text: str
    start: int
    rule: str
    doubt: str = ""
    """Why it must be asked about."""


@dataclass
class DeviationDraft:
    """A deviation that the speaker declares."""

    item: str | None
    part: str | None
    position: str | None
    start: int
    rule: str
