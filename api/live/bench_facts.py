"""What happened at a bench besides talk, read off a job's chain: who was there, gauges, lots, witnesses.

Each happened at a place of the job's sound, so that it can be laid beside what was said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from api.signing.chain import Link
from shared.record import Evidence

#: After the last sound of a recording: nobody listened any more.
AFTER_ALL = 1e9


@dataclass(frozen=True, order=True)
class Place:
    """A place in a job's sound."""

    recording: int
    """Number in the job; 0 before the first."""
    at_s: float


@dataclass(frozen=True)
class Presence:
    """Somebody signed in at the bench."""

    who: str
    """As events name him."""
    since: Place
    until: Place | None
    """None while he is still there."""


@dataclass(frozen=True)
class GaugeUse:
    """A gauge that was taken into use."""

    since: Place
    gauge: str
    kind: str
    calibrated_until: str | None
    """Date, ISO 8601; None where its calibration does not end."""
    expired: bool
    """When it was taken."""
    said: str | None
    """How it was called, where it was said and not scanned."""


@dataclass(frozen=True)
class PartLot:
    """Serial or lot of a new part."""

    place: Place
    part: str
    what: str
    """``serial`` or ``lot``."""
    code: str


@dataclass
class BenchFacts:
    """All of it."""

    presences: list[Presence] = field(default_factory=list)
    gauges: list[GaugeUse] = field(default_factory=list)
    lots: list[PartLot] = field(default_factory=list)
    witnessed: dict[str, str] = field(default_factory=dict)
    """Who witnessed, by hold point."""
    known_by: dict[str, str] = field(default_factory=dict)
    """How the witness was known, by hold point; a badge alone once was enough."""
    passed: dict[str, str] = field(default_factory=dict)
    """Who went on without a witness, by hold point."""

    def present_at(self, place: Place) -> list[str]:
        """Return who was signed in at the bench at a place, in the order in which they came."""
        there = (one for one in self.presences if one.since <= place)
        return [one.who for one in there if one.until is None or place < one.until]

    @property
    def people(self) -> list[str]:
        """Everybody who was signed in at the bench, in the order in which they came."""
        return list(dict.fromkeys(one.who for one in self.presences))

    @property
    def here(self) -> list[str]:
        """Who is there now."""
        return [one.who for one in self.presences if one.until is None]


def facts_of(chain: Sequence[Link]) -> BenchFacts:
    """Return what a job's events tell besides talk."""
    facts = BenchFacts()
    for link in chain:
        told: Mapping[str, Any] = link.payload
        match link.kind:
            case "recording_begun" if link.by is not None:
                _came(facts, link.by, Place(int(told["recording"]), 0.0))
            case "joined":
                _came(facts, str(told["who"]), place_in(told))
            case "left":
                _went(facts, str(told["who"]), place_in(told))
            case "recording_ended":
                for who in facts.here:
                    _went(facts, who, Place(int(told["recording"]), AFTER_ALL))
            case "gauge_used":
                facts.gauges.append(_gauge(told))
            case "part_lot":
                facts.lots.append(PartLot(place_in(told), told["part"], told["what"], told["code"]))
            case "witnessed" if link.by is not None:
                facts.witnessed[told["step"]] = link.by
                facts.known_by[told["step"]] = told.get("known_by", "badge alone")
            case "hold_passed" if link.by is not None:
                facts.passed[told["step"]] = link.by
    return facts


def place_in(payload: Mapping[str, Any]) -> Place:
    """Return where in the job's sound an event happened."""
    return Place(int(payload["recording"]), float(payload["at_s"]))


def place_of(evidence: Evidence) -> Place | None:
    """Return where in its job's sound something was said; None where nobody said it."""
    if not evidence.recording.isdecimal() or evidence.utterance < 0:
        return None
    return Place(int(evidence.recording), evidence.start_s)


def _came(facts: BenchFacts, who: str, place: Place) -> None:
    if who not in facts.here:
        facts.presences.append(Presence(who, place, None))


def _went(facts: BenchFacts, who: str, place: Place) -> None:
    facts.presences = [
        Presence(who, one.since, place) if one.who == who and one.until is None else one
        for one in facts.presences
    ]


def _gauge(told: Mapping[str, Any]) -> GaugeUse:
    return GaugeUse(
        place_in(told), told["gauge"], told["kind"], told["calibrated_until"], told["expired"], told["said"]
    )
