"""Readings read back: the last ones, or those of the item and the places that were asked for."""

from __future__ import annotations

from collections.abc import Sequence

from api.live.spoken_values import said_value
from api.report.wording import VERDICT_WORDS, item_words, position_words
from extract.heard import Heard
from extract.sheet_phrases import WEAK
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord

#: What is longer nobody listens to.
MOST_SAID = 3


def read_back(pieces: Sequence[Heard], record: RebuildRecord, sheet: JobSheet) -> str:
    """Return in words what "read back" asks for.

    Args:
        pieces: the utterance as it was read.
        record: so far.
        sheet: of the job.
    """
    items = _named(pieces, "item")
    places = _named(pieces, "position")
    said = [r for r in record.readings if r.standing and (not items or r.item in items)]
    here = [r for r in said if r.position in places] if places else said
    if not here:
        about = [item_words(item) for item in sheet.measured if item in items]
        about += [position_words(sheet, place) for place in sheet.positions if place in places]
        return f"{', '.join(about)}: no reading yet" if about else "no reading yet"
    here.sort(key=lambda reading: (reading.evidence.utterance, reading.evidence.start_s))
    shown = here[-MOST_SAID:]
    if not items and not places:
        shown = _last_meant(pieces, shown)
    more = f". And {len(here) - len(shown)} more" if (items or places) and len(here) > len(shown) else ""
    return said_readings(sheet, shown, always_named=True) + more


def said_readings(sheet: JobSheet, readings: Sequence[ReadingEntry], *, always_named: bool = False) -> str:
    """Return readings as they are read back: "vane one, thirty one, within"; a question has no value.

    Args:
        sheet: of the job.
        readings: in the order to be said.
        always_named: the item's name comes first; else only where readings are of several items.
    """
    several = len({reading.item for reading in readings}) > 1
    said: list[str] = []
    named = ""
    for reading in readings:
        place = position_words(sheet, reading.position, reading.item)
        item = item_words(reading.item)
        name = item if (several or always_named or not place) and item != named else ""
        named = item if name else named
        said.append(", ".join(word for word in (name, place, _value(sheet, reading)) if word))
    return ". ".join(said)


def _value(sheet: JobSheet, reading: ReadingEntry) -> str:
    if reading.needs_review or reading.value_exact is None:
        return "still a question"
    value = said_value(sheet, reading.value_exact, reading.unit)
    return value if reading.verdict == "no_limit" else f"{value}, {VERDICT_WORDS[reading.verdict].lower()}"


def _last_meant(pieces: Sequence[Heard], shown: list[ReadingEntry]) -> list[ReadingEntry]:
    """Return the last one for "the last one", those of the last breath for "that" and "it", else all."""
    forms = [mention.form.split() for piece in pieces for mention in piece.mentions.of("command")]
    if any("one" in form or "reading" in form for form in forms):
        return shown[-1:]
    if any("that" in form or "it" in form for form in forms):
        return [r for r in shown if r.evidence.utterance == shown[-1].evidence.utterance]
    return shown


def _named(pieces: Sequence[Heard], kind: str) -> set[str]:
    """Return the items or positions that the words behind the command name."""
    found: set[str] = set()
    for piece in pieces:
        behind = max((mention.end for mention in piece.mentions.of("command")), default=0)
        for mention in piece.mentions.of(kind):
            plain = mention.cost < WEAK and (kind == "item" or mention.end - mention.start > 1)
            # "Back clearance" begins with the order's own last word.
            if plain and mention.end > behind:
                found.update(mention.keys)
    return found
