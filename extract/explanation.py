"""The path from the words of one utterance to its entries, as plain data for people and programs."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True)
class Naming:
    """Something that the words name."""

    words: str
    """As heard."""
    token: int
    kind: str
    """In words of the trade: measured, place, part, condition, action, cue …"""
    names: tuple[str, ...]
    """What it may be; one unless the words are the tail of several names."""
    found_by: str
    cost: float


@dataclass(frozen=True)
class ClauseSaid:
    """A clause and how it is meant."""

    words: str
    mood: str
    """stated, question, conditional, future, elsewhere (another machine or time)."""
    hedged: bool


@dataclass(frozen=True)
class BarredNumber:
    """A number that no reading may use."""

    words: str
    why: str


@dataclass(frozen=True)
class Amount:
    """One thing that a run of words can mean as an amount."""

    words: str
    value: str | None
    """In units as said, decimal; None where nobody counted."""
    unit: str | None
    """As said: thou, mm, pounds …; None where none was."""
    cost: float
    about: bool


@dataclass(frozen=True)
class Worth:
    """What an amount may be worth for one item."""

    words: str
    item: str
    value: str
    unit: str
    how: str
    cost: float
    plausible: bool
    """Whether the item's plausible range allows it."""
    range: str
    """That range, in the item's unit; empty where the sheet gives nothing to tell by."""


@dataclass(frozen=True)
class Link:
    """One value at its item and place, in a way to read the words."""

    words: str
    item: str
    position: str | None
    value: str | None
    unit: str
    item_from: str
    """said, carried on, an earlier one, its unit or the part alone."""


@dataclass(frozen=True)
class Way:
    """One way to read a run of words, with what it costs."""

    words: str
    cost: float
    taken: bool
    links: tuple[Link, ...]
    puts_right: bool
    """Whether the run puts right what was said before."""
    refused: int
    """How many of its values may not stand, since nothing said what they measure."""


@dataclass(frozen=True)
class DoubtRaised:
    """Why a reading must be asked about, and what found it."""

    about: str
    reason: str
    rule: str


@dataclass(frozen=True)
class Outcome:
    """An entry, or something else that the words did."""

    kind: str
    """reading, condition, part action, consumable, step, note, deviation, command, job."""
    id: str
    status: str
    """filed, asked or replaced."""
    text: str
    rule: str
    reason: str = ""
    """Why it is asked about or replaced."""
    question: str = ""
    replaced_by: str = ""
    """Id of what replaced it later on."""


@dataclass(frozen=True)
class LeftOut:
    """What was said and not filed."""

    what: str
    why: str


@dataclass
class Explanation:
    """How one utterance was read."""

    utterance: int
    """Number in the recording, from 0, as in an entry's evidence."""
    start_s: float
    words: str
    talk: str = "chatter"
    """job, command, paused or chatter."""
    why: str = "there is nothing in it"
    before: list[str] = field(default_factory=list)
    """What the talk was about before."""
    tokens: list[str] = field(default_factory=list)
    named: list[Naming] = field(default_factory=list)
    clauses: list[ClauseSaid] = field(default_factory=list)
    barred: list[BarredNumber] = field(default_factory=list)
    amounts: list[Amount] = field(default_factory=list)
    worth: list[Worth] = field(default_factory=list)
    ways: list[Way] = field(default_factory=list)
    doubts: list[DoubtRaised] = field(default_factory=list)
    outcomes: list[Outcome] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    def to_data(self) -> dict[str, Any]:
        """Return it as plain data, ready for JSON."""
        return asdict(self)
