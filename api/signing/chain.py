"""A chain of what happened: each link holds the hash of the one before, so that none can be changed alone.

A chain by itself does not show that its end was cut off or that all of it was written anew; the last
hash is therefore signed and printed with every signed record (:mod:`api.signing.signed_record`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from api.signing.canonical import canonical_sha256

#: What the first link names as the one before it.
BEGINNING = "0" * 64


@dataclass(frozen=True)
class Link:
    """One event, bound to all before it."""

    number: int
    """In the chain, from 1."""
    at: str
    """ISO 8601 with offset, by the clock of the shop's machine."""
    by: str | None
    """Who did it; None for the machine itself."""
    kind: str
    payload: dict[str, Any]
    """JSON."""
    previous: str
    """SHA-256 of the link before, hexadecimal."""
    sha256: str
    """Over all of the above."""


@dataclass(frozen=True)
class Break:
    """The first place where a chain does not hold."""

    number: int
    why: str


def next_link(previous: Link | None, *, at: str, by: str | None, kind: str, payload: dict[str, Any]) -> Link:
    """Return the link that follows another.

    Args:
        previous: the last link, or None at the beginning.
        at: ISO 8601 with offset.
        by: who, None for the machine.
        kind: of event.
        payload: JSON.

    Raises:
        SigningError: the payload cannot be put into canonical JSON.
    """
    number = previous.number + 1 if previous else 1
    before = previous.sha256 if previous else BEGINNING
    digest = _digest(number, at, by, kind, payload, before)
    return Link(number, at, by, kind, payload, before, digest)


def first_break(links: Iterable[Link]) -> Break | None:
    """Return where a chain, given from its beginning, does not hold; None where all of it does."""
    before = BEGINNING
    for number, link in enumerate(links, 1):
        if link.number != number:
            return Break(number, f"event {number} is not there, {link.number} stands in its place")
        if link.previous != before:
            return Break(number, "it does not follow the event before it")
        if link.sha256 != _digest(link.number, link.at, link.by, link.kind, link.payload, link.previous):
            return Break(number, "it was changed after it was written")
        before = link.sha256
    return None


def as_json(link: Link) -> dict[str, Any]:
    """Return a link as it stands in files."""
    return asdict(link)


def _digest(number: int, at: str, by: str | None, kind: str, payload: dict[str, Any], previous: str) -> str:
    return canonical_sha256(
        {"number": number, "at": at, "by": by, "kind": kind, "payload": payload, "previous": previous}
    )
