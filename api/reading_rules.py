"""The rules by which utterances are read, as one hash: when it changes, kept talk must be heard again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable

from shared.job_sheet import JobSheet
from shared.settings import Settings

#: The rooms whose code and data decide what an utterance means and whether it is chatter.
_ROOMS = ("extract", "shared")
_RULE_FILES = (".py", ".yaml", ".txt", ".bin")
#: What decides nothing of what is read: the sheets of other pumps (the one that is worked by goes in by
#: itself), and the shop calculations, which only advise.
_LEFT_OUT = ("shared/sheets", "extract/shop")


def reading_rules_sha256(sheet: JobSheet, settings: Settings, *, asks: bool = False) -> str:
    """Return the hash over everything that decides what is chatter and what is a pause.

    ``asks``: questions are put aloud as they arise, so that bare words may answer them.

    The code itself is in it, so that no change of a rule can be forgotten; it takes milliseconds.
    """
    digest = hashlib.sha256()
    for name, content in _rule_files():
        digest.update(f"{name} {len(content)} ".encode() + content)
    digest.update(sheet.model_dump_json(by_alias=True).encode())
    digest.update(json.dumps([settings.reading_confidence_least, settings.job_score_least, asks]).encode())
    return digest.hexdigest()


def _rule_files() -> Iterator[tuple[str, bytes]]:
    for room in _ROOMS:
        yield from _below(files(room), room)


def _below(folder: Traversable, name: str) -> Iterator[tuple[str, bytes]]:
    for entry in sorted(folder.iterdir(), key=lambda one: one.name):
        inside = f"{name}/{entry.name}"
        if entry.is_dir():
            if inside not in _LEFT_OUT:
                yield from _below(entry, inside)
        elif entry.name.endswith(_RULE_FILES):
            yield inside, entry.read_bytes()
