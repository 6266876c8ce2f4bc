"""What checking a signed file found, in plain words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from api.signing.chain import Link

State = Literal["holds", "broken", "unknown", "note"]
"""unknown: it cannot be told from the file alone; note: worth knowing, nothing is wrong with it."""

Subject = Literal["record", "events", "signature", "key", "document", "attachment", "revision"]


@dataclass(frozen=True)
class Finding:
    """One thing that was checked."""

    subject: Subject
    state: State
    text: str


@dataclass
class Verification:
    """All that was found of one file."""

    file: str
    kind: Literal["record", "document"]
    findings: list[Finding] = field(default_factory=list)
    signed: dict[str, object] = field(default_factory=dict)
    """What the file says of who signed what; the fields of :class:`shared.record.Signature`, or none."""
    record_file_sha256: str = ""
    """Of the signed record's file, which a later revision names."""
    events: list[Link] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """Whether everything holds and nothing had to be left open."""
        return all(finding.state in ("holds", "note") for finding in self.findings)

    def add(self, subject: Subject, state: State, text: str) -> None:
        """Take a finding."""
        self.findings.append(Finding(subject, state, text))

    def check(self, subject: Subject, holds: bool, good: str, bad: str) -> None:
        """Take a finding that holds or does not."""
        self.add(subject, "holds" if holds else "broken", good if holds else bad)
