"""Cautions of the sheet, each brought up at the stage of the work that it belongs to, once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pydantic import BaseModel

from extract.heard import Heard
from extract.talk_patterns import said_words
from shared.job_sheet import JobSheet
from shared.sheet_entries import words_of

FIRST = "The maker's instructions, local codes and licensed practice come first."
_NAMES = ("part", "item", "step", "photo", "consumable")


class CautionLine(BaseModel):
    """One caution of the sheet on the board."""

    text: str
    up: bool
    """Whether it has come up; one without words of its own stands from the start."""


class Cautions:
    """Which cautions have come up.

    A caution's words are names of the sheet's parts, readings, steps or consumables, or plain words; whatever
    such a name is called aloud brings it up.
    """

    def __init__(self, sheet: JobSheet) -> None:
        self._sheet = sheet
        called = list(_called(sheet))
        self._keys = [
            {key for key, forms in called for phrase in caution.when if phrase in forms}
            for caution in sheet.cautions
        ]
        self._up = [not caution.when for caution in sheet.cautions]

    def hear(self, pieces: Sequence[Heard]) -> list[str]:
        """Return the texts of the cautions that talk of the job brings up for the first time."""
        named = {
            (mention.kind, key)
            for piece in pieces
            for mention in piece.mentions.of(*_NAMES)
            if mention.cost < 1
            for key in mention.keys
        }
        lines = [f" {' '.join(said_words(piece.utterance.text))} " for piece in pieces]
        new: list[str] = []
        for number, caution in enumerate(self._sheet.cautions):
            said = any(
                f" {' '.join(said_words(phrase))} " in line for phrase in caution.when for line in lines
            )
            if not self._up[number] and (said or self._keys[number] & named):
                self._up[number] = True
                new.append(caution.text)
        return new

    def lines(self) -> list[CautionLine]:
        """Return all cautions in the order of the sheet."""
        texts = (caution.text for caution in self._sheet.cautions)
        return [CautionLine(text=text, up=up) for text, up in zip(texts, self._up, strict=True)]


def _called(sheet: JobSheet) -> Iterable[tuple[tuple[str, str], set[str]]]:
    """Yield everything that the sheet names, by kind and name, with all that it is called."""
    for part in sheet.parts:
        yield ("part", part.part), {words_of(part.part), *part.spoken}
    for item in sheet.measured.values():
        yield ("item", item.item), {words_of(item.item), *item.spoken}
    for step in sheet.steps:
        yield ("step", step.step), {words_of(step.step), *step.spoken}
    for photo in sheet.photos:
        yield ("photo", photo.of), {words_of(photo.of), *photo.spoken}
    for consumable in sheet.consumables:
        yield ("consumable", consumable.name), {words_of(consumable.name), *consumable.spoken}
