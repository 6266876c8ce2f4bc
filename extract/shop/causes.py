"""What a wear pattern may come from: several candidates with their sources, never a verdict."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from extract.shop.method import FLAG_WORDS, Method, Source
from shared.data_files import read_data
from shared.errors import SettingError

METHOD = Method(
    name="causes",
    title="Wear pattern: what it may come from",
    formula="none: a table of published readings, with their conflicts",
    valid="faces of mechanical seals; candidates to look into, never a verdict",
    sources=(
        Source("seal guides, contact-pattern guide, maintenance text", "R"),
        Source("sealing association's text as cited", "R2"),
        Source("trade texts", "MEM"),
    ),
)


@dataclass(frozen=True)
class Cause:
    """One thing that it may come from."""

    cause: str
    source: Source


@dataclass(frozen=True)
class WearEvidence:
    """What is seen, with all that it may come from."""

    id: str
    looks: str
    conditions: tuple[str, ...]
    """Of the record's contract."""
    where: tuple[str, ...]
    causes: tuple[Cause, ...]
    disputed: str
    """Where published guides disagree; empty where none was found that does."""


@cache
def _data() -> dict[str, Any]:
    data: dict[str, Any] = read_data(Path(__file__).with_name("causes.yaml"))
    return data


@cache
def all_evidence() -> tuple[WearEvidence, ...]:
    """Return the whole table.

    Raises:
        KeyError: a source without its line, a flag that does not exist; a slip in our own data.
    """
    sources = {key: Source(row["text"], row["flag"]) for key, row in _data()["sources"].items()}
    assert all(source.flag in FLAG_WORDS for source in sources.values())
    return tuple(
        WearEvidence(
            id=row["id"],
            looks=row["looks"],
            conditions=tuple(row["conditions"]),
            where=tuple(row.get("where", ())),
            causes=tuple(Cause(c["cause"], sources[c["source"]]) for c in row["causes"]),
            disputed=row.get("disputed", ""),
        )
        for row in _data()["evidence"]
    )


def evidence_named(name: str) -> tuple[WearEvidence, ...]:
    """Return the evidence of an id, or all that goes with a condition of the record.

    Raises:
        SettingError: neither.
    """
    found = tuple(e for e in all_evidence() if name == e.id or name in e.conditions)
    if not found:
        known = sorted({e.id for e in all_evidence()} | {c for e in all_evidence() for c in e.conditions})
        raise SettingError(f"nothing is known here of {name!r}", expected="one of " + " ".join(known))
    return found


def is_seal_face(names: tuple[str, ...]) -> bool:
    """Tell whether a part called so is the face of a mechanical seal."""
    text = " ".join(name.replace("_", " ").lower() for name in names)
    if any(_spoken_in(phrase, text) for phrase in _data()["not_a_face_words"]):
        return False
    return any(_spoken_in(word, text) for word in _data()["seal_face_words"])


def causes_of(condition: str, location: str | None) -> tuple[WearEvidence, ...]:
    """Return what a condition on a seal face may come from.

    Evidence with a place counts only where that place was said; where one was said and it fits, evidence
    without a place is left out.

    Args:
        condition: of the record's contract.
        location: as said, or None.
    """
    text = (location or "").lower().replace("-", " ")
    fitting = [e for e in all_evidence() if condition in e.conditions]
    placed = tuple(e for e in fitting if any(_spoken_in(word, text) for word in e.where))
    return placed or tuple(e for e in fitting if not e.where)


def _spoken_in(phrase: str, text: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(phrase)}(?!\w)", text) is not None
