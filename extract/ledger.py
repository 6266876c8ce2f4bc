"""All entries of a rebuild in the order they were filed; nothing said is ever taken out.

A correction supersedes, a strike strikes, a value measured again replaces the one before at its
place; what was replaced stays, with what replaced it and why.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from copy import copy

from extract.quantity_arcs import Quantity
from shared.record import ConditionEntry, Entry, EventEntry, Evidence, ReadingEntry, SupersededWhy

#: A correction without a place means a reading of the last so many utterances.
_LATELY = 3


class Ledger:
    """Entries and events, with what is needed to correct them later."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.events: list[EventEntry] = []
        self._numbers: dict[str, int] = {}
        self._by_id: dict[str, Entry] = {}
        self._quantities: dict[str, Quantity | None] = {}
        self._at_utterance: dict[str, int] = {}
        self.changed: dict[str, None] = {}
        """Ids filed or superseded since it was last emptied."""
        self.now = 0
        """Number of the utterance that is being read."""

    def copy(self) -> Ledger:
        """Return a ledger that can go on by itself."""
        made = copy(self)
        made.entries = [entry.model_copy() for entry in self.entries]  # superseding marks them
        made._by_id = {entry.id: entry for entry in made.entries}
        made.events, made.changed = [*self.events], {**self.changed}
        made._numbers, made._quantities = {**self._numbers}, {**self._quantities}
        made._at_utterance = {**self._at_utterance}
        return made

    def new_id(self, prefix: str) -> str:
        """Return the next id of a kind of entry: r1, r2, c1 …"""
        self._numbers[prefix] = self._numbers.get(prefix, 0) + 1
        return f"{prefix}{self._numbers[prefix]}"

    def file(self, entry: Entry, quantity: Quantity | None = None) -> None:
        """Add an entry; a reading replaces the one that stood at its place."""
        self.entries.append(entry)
        self.changed[entry.id] = None
        self._by_id[entry.id] = entry
        self._at_utterance[entry.id] = self.now
        if isinstance(entry, ReadingEntry):
            self._quantities[entry.id] = quantity

    def take_changed(self) -> list[Entry]:
        """Return copies of the entries filed or superseded since this was last asked for."""
        taken = [self._by_id[entry_id].model_copy(deep=True) for entry_id in self.changed]
        self.changed.clear()
        return taken

    def file_event(self, event: str, part: str | None, evidence: Evidence) -> EventEntry:
        """Add a command heard."""
        filed = EventEntry(id=self.new_id("e"), event=event, part=part, evidence=evidence)  # type: ignore[arg-type]
        self.events.append(filed)
        return filed

    def supersede(self, entry: Entry, by: str, why: SupersededWhy) -> None:
        """Mark an entry as replaced."""
        entry.superseded_by, entry.superseded_why = by, why
        self.changed[entry.id] = None

    def put_back(self, entry: Entry) -> None:
        """Let an entry stand again."""
        entry.superseded_by = entry.superseded_why = None
        self.changed[entry.id] = None

    def entry(self, entry_id: str) -> Entry | None:
        """Return an entry by its id."""
        return self._by_id.get(entry_id)

    def readings(self) -> Iterator[ReadingEntry]:
        """Yield all readings in the order filed."""
        return (entry for entry in self.entries if isinstance(entry, ReadingEntry))

    def standing_reading(
        self, item: str, position: str | None, stage: str | None = None
    ) -> ReadingEntry | None:
        """Return the last standing reading of a place; of any stage where none is given."""
        found = [
            r
            for r in self.readings()
            if r.standing
            and r.item == item
            and r.position == position
            and (stage is None or r.stage == stage)
        ]
        return found[-1] if found else None

    def has_condition(self, part: str, condition: str) -> bool:
        """Tell whether a condition of a part stands already."""
        return any(
            isinstance(e, ConditionEntry) and e.standing and (e.part, e.condition) == (part, condition)
            for e in self.entries
        )

    def last_reading(self) -> ReadingEntry | None:
        """Return the standing reading filed last, if that was lately."""
        for entry in reversed(self.entries):
            if isinstance(entry, ReadingEntry) and entry.standing:
                return entry if self.now - self._at_utterance[entry.id] <= _LATELY else None
        return None

    def reading_quantity(self, entry_id: str) -> Quantity | None:
        """Return the spoken quantity of a reading."""
        return self._quantities.get(entry_id)

    def age_of(self, entry: Entry) -> int:
        """Return how many utterances ago an entry was filed."""
        return self.now - self._at_utterance[entry.id]

    def last_filed(self, whole_utterance: bool, but: Collection[str] = ()) -> list[Entry]:
        """Return the standing entry filed last, or all of the utterance that it is from.

        Args:
            whole_utterance: all that one utterance gave.
            but: ids that do not count.
        """
        standing = [entry for entry in self.entries if entry.standing and entry.id not in but]
        if not standing:
            return []
        if not whole_utterance:
            return standing[-1:]
        at = self._at_utterance[standing[-1].id]
        return [entry for entry in standing if self._at_utterance[entry.id] == at]
