"""Which part and stage a photo shows, by a file name such as ``seat_as_found.jpg`` or ``SeatFace 2.jpeg``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from shared.job_sheet import JobSheet
from shared.sheet_entries import Stage, words_of

_WORD = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+|[^\W\d_]+")
#: "left" alone is a side of the pump, so only "as left" is a stage.
_STAGES: tuple[tuple[tuple[str, ...], Stage], ...] = (
    (("as", "found"), "as_found"), (("asfound",), "as_found"), (("before",), "as_found"),
    (("found",), "as_found"),
    (("as", "left"), "as_left"), (("asleft",), "as_left"), (("after",), "as_left"),
)  # fmt: skip
#: A part's name written without a gap is told by this many letters or more.
_LEAST_JOINED = 6


@dataclass(frozen=True, slots=True)
class NamedPhoto:
    """What a file name says."""

    of: str | None
    """Photo or part of the sheet; None where it names none, or more than one."""
    stage: Stage
    """``either`` where it says nothing, or both."""
    rivals: tuple[str, ...] = ()
    """The parts it names where it names more than one."""


class PhotoNames:
    """What the photos and parts of one sheet are called."""

    def __init__(self, sheet: JobSheet) -> None:
        self._names: dict[tuple[str, ...], set[str]] = {}
        for part in sheet.parts:
            self._learn(part.part, part.spoken)
        # What the sheet wants a photo of comes before a part that happens to share its spoken name.
        wanted: dict[tuple[str, ...], set[str]] = {}
        for photo in sheet.photos:
            for phrase in (words_of(photo.of), *photo.spoken):
                wanted.setdefault(_words(phrase), set()).add(photo.of)
        self._names.update(wanted)
        self.known = tuple(dict.fromkeys([p.of for p in sheet.photos] + [p.part for p in sheet.parts]))
        """Every photo and part of the sheet."""

    def exactly(self, name: str) -> str | None:
        """Return the photo or part that a name or a spoken form is, None for none or more than one."""
        if name in self.known:
            return name
        found = self._names.get(_words(name), set())
        return next(iter(found)) if len(found) == 1 else None

    def read(self, stem: str) -> NamedPhoto:
        """Read a file name without its extension."""
        words = list(_words(stem))
        stage = _take_stage(words)
        matches = self._longest(words)
        names = tuple(sorted(set().union(*matches))) if matches else ()
        return NamedPhoto(names[0] if len(names) == 1 else None, stage, names if len(names) > 1 else ())

    def _learn(self, name: str, spoken: tuple[str, ...]) -> None:
        for phrase in (words_of(name), *spoken):
            self._names.setdefault(_words(phrase), set()).add(name)

    def _longest(self, words: list[str]) -> list[set[str]]:
        """Return the names of the phrases that stand in the words and in no longer phrase there."""
        found = sorted(self._spans(words), key=lambda span: (span[0] - span[1], span[0]))
        taken: set[int] = set()
        names = []
        for start, end, meant in found:
            if taken.isdisjoint(range(start, end)):
                taken.update(range(start, end))
                names.append(meant)
        return names

    def _spans(self, words: list[str]) -> Iterator[tuple[int, int, set[str]]]:
        for phrase, meant in self._names.items():
            for start in range(len(words)):
                end = start + len(phrase)
                if _same(tuple(words[start:end]), phrase):
                    yield start, end, meant
            joined = "".join(phrase)
            if len(phrase) > 1 and len(joined) >= _LEAST_JOINED:
                yield from ((at, at + 1, meant) for at, word in enumerate(words) if word == joined)


def _words(text: str) -> tuple[str, ...]:
    return tuple(word.lower() for word in _WORD.findall(text))


def _same(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    """Tell whether they are the same but for a plural at the end."""
    if len(words) != len(phrase) or not phrase or words[:-1] != phrase[:-1]:
        return False
    return words[-1] == phrase[-1] or words[-1] + "s" == phrase[-1] or words[-1] == phrase[-1] + "s"


def _take_stage(words: list[str]) -> Stage:
    """Take the words that say a stage out of the list; more than one stage says nothing."""
    found: set[Stage] = set()
    for phrase, stage in _STAGES:
        at = 0
        while at + len(phrase) <= len(words):
            if tuple(words[at : at + len(phrase)]) == phrase:
                # A gap stays, so that the words on both sides do not run together into another name.
                words[at : at + len(phrase)] = [""]
                found.add(stage)
            at += 1
    return next(iter(found)) if len(found) == 1 else "either"
