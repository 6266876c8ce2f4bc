"""What the talk has been about: item, position, part, stage; how long that holds."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import NamedTuple

from extract.quantity_arcs import Quantity
from extract.search_states import Outset
from extract.spoken_units import UnitName
from shared.record import Stage

#: An item holds for so many utterances of job talk in which nothing is said of it.
_ITEM_HOLDS = 8
#: A position that waits for its value holds for the next job utterances only.
_POSITION_HOLDS = 2
_PART_HOLDS = 4
_REMEMBERED = 4
_FRESH = 0.6
_STALE = 0.15


class SaidOfPart(NamedTuple):
    """A condition or an action that was said of a part."""

    kind: str
    key: str
    form: str


class StageRun(NamedTuple):
    """Readings of one item, one behind another, at a stage that was said outright for the first."""

    stage: Stage
    last: int
    """The number of the utterance that gave the last of them."""
    positions: frozenset[str | None]


@dataclass
class TalkContext:
    """State between utterances; the builder owns it."""

    item: str | None = None
    item_age: int = 0
    item_weak: bool = False
    """Whether only a part of the item's name was said, and no value since."""
    item_moved: bool = False
    """Whether it was named only where something was taken out or put in, and no value since."""
    earlier: tuple[str, ...] = ()
    """Items talked about before, the latest first."""
    position: str | None = None
    position_age: int = 0
    carried: dict[str, UnitName] = field(default_factory=dict)
    last: Quantity | None = None
    parts: tuple[str, ...] = ()
    part_unlisted: bool = False
    part_age: int = 0
    said: tuple[SaidOfPart, ...] = ()
    """What the last utterance about parts said of them, for "the outboard as well"."""
    doubted_last: bool = False
    """Whether a reading of the utterance that gave readings last was asked about."""
    unread_last: bool = False
    """Whether the last job utterance gave a number that belongs to nothing of the sheet, and no reading."""
    asked_last: bool = False
    """Whether the last utterance asked for a limit or whether a figure is right."""
    pictured_last: bool = False
    """Whether the last job utterance asked for a picture."""
    measured_last: bool = False
    """Whether the last job utterance gave readings and said nothing of a part."""
    announced: tuple[str, Stage, int] | None = None
    """An item named without its value, the stage said with it, and the number of the utterance."""
    phase: Stage | None = None
    """as_found or as_left, from the last reading or word that showed it."""
    last_positions: dict[str, str] = field(default_factory=dict)
    """The position of each item's last reading."""
    known: dict[tuple[str, str], Quantity] = field(default_factory=dict)
    """What was said last for each item and position."""
    item_stages: dict[str, Stage] = field(default_factory=dict)
    """The stage of each item's last reading."""
    found_at: dict[tuple[str, str | None], int] = field(default_factory=dict)
    """By item and position, the number of the utterance that gave its last reading as found."""
    outright: dict[str, StageRun] = field(default_factory=dict)
    """By item of one stage, the run of readings that the words put at the other stage."""
    built_at: int = -1
    """The number of the last utterance that said of a part that it is new, fitted or goes back."""
    built: dict[str, int] = field(default_factory=dict)
    """By part that is new or was fitted, the number of the utterance that last said so."""
    gauge: dict[str, str] = field(default_factory=dict)
    """The gauge said to be in use, by the sheet's kind of gauge."""

    def copy(self) -> TalkContext:
        """Return a context that can move on by itself."""
        return replace(
            self,
            carried=dict(self.carried),
            gauge=dict(self.gauge),
            item_stages=dict(self.item_stages),
            found_at=dict(self.found_at),
            outright=dict(self.outright),
            built=dict(self.built),
            last_positions=dict(self.last_positions),
            known=dict(self.known),
        )

    def outset(self) -> Outset:
        """Return what a reading may go on from."""
        if self.item is None or self.item_age > _ITEM_HOLDS:
            return Outset(
                None,
                None,
                self.carried,
                self.last,
                earlier=self._earlier(),
                last_positions=self.last_positions,
            )
        position = self.position if self.position_age <= _POSITION_HOLDS else None
        return Outset(
            self.item,
            position,
            self.carried,
            self.last,
            _FRESH + _STALE * self.item_age,
            self.earlier,
            self.last_positions,
            self.known,
        )

    def stage_goes_on(self, item: str) -> Stage | None:
        """Return the stage of an item's last reading while the talk is still about the item."""
        if item != self.item or self.item_age > _ITEM_HOLDS:
            return None
        return self.item_stages.get(item)

    def built_since_found(self, item: str, position: str | None) -> bool:
        """Return whether a part went in after this place was measured as found: now it is as left."""
        return self.built_at > self.found_at.get((item, position), self.built_at)

    def name_item(self, item: str, *, weakly: bool = False, moved: bool = False) -> None:
        """The talk is about this item now.

        Args:
            item: which.
            weakly: only a part of its name was said.
            moved: it was named where something was taken out or put in.
        """
        self.item_weak, self.item_moved = weakly, moved
        if item != self.item:
            self.position = None
            self.earlier = self._earlier(item)
        self.item, self.item_age = item, 0

    def _earlier(self, but: str | None = None) -> tuple[str, ...]:
        known = ((self.item,) if self.item is not None else ()) + self.earlier
        return tuple(item for item in dict.fromkeys(known) if item != but)[:_REMEMBERED]

    def name_position(self, position: str | None) -> None:
        """A position was named and waits for its value; None once it has it."""
        self.position, self.position_age = position, 0

    def name_parts(self, parts: tuple[str, ...], unlisted: bool = False) -> None:
        """The talk is about these parts now."""
        self.parts, self.part_unlisted, self.part_age = parts, unlisted, 0

    def focus(self) -> tuple[tuple[str, ...], bool] | None:
        """Return the parts that "it" or "them" means, and whether they are off the sheet."""
        if not self.parts or self.part_age > _PART_HOLDS:
            return None
        return self.parts, self.part_unlisted

    def grow_older(self) -> None:
        """One more utterance of job talk has been heard."""
        self.item_age += 1
        self.position_age += 1
        self.part_age += 1
