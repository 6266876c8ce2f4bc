"""The prepared view of a record: everything a report shows, in words, in the order it is shown.

HTML, PDF and screen are three prints of one :class:`ReportView`, so that they cannot disagree. A view
is plain data (strings, numbers, lists): a template decides nothing about the pump.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Fact:
    """A label and what stands beside it."""

    label: str
    value: str


@dataclass(frozen=True)
class Heard:
    """Where something was said."""

    when: str
    """Clock time in the recording; empty where unknown."""
    words: str
    """As heard."""


@dataclass(frozen=True)
class Highlight:
    """One line of what stands out."""

    symbol: str
    kind: str
    """A word or two: outside limits, question, never said …"""
    text: str
    when: str = ""


@dataclass(frozen=True)
class ReadingRow:
    """One standing reading."""

    position: str
    value: str
    verdict: str
    symbol: str
    verdict_word: str
    heard: Heard
    reason: str = ""
    """Why it needs review."""
    said: str = ""
    """The value in the unit that was said, where it is another than the sheet's."""


@dataclass(frozen=True)
class ReadingGroup:
    """The readings of one item at one stage."""

    name: str
    limits: str
    nominal: str
    uncertainty: str
    rows: list[ReadingRow]
    plot: str | None = None
    """SVG; None where the sheet gives no limit."""
    several: bool = False
    """More than one position: table and plot stand side by side."""
    said: bool = True
    """At least one of them was said."""


@dataclass(frozen=True)
class FindingRow:
    """A part's condition as it was found."""

    part: str
    condition: str
    location: str
    heard: Heard
    doubt: str = ""


@dataclass(frozen=True)
class PartRow:
    """What became of a part."""

    part: str
    policy: str
    decision: str
    stock_number: str
    quantity: str
    heard: Heard
    serial: str = ""
    doubt: str = ""
    undecided: str = ""
    """What is still to be said where something was done but the decision was never given."""


@dataclass(frozen=True)
class ConsumableRow:
    """A consumable and where it went."""

    name: str
    applied_to: str
    heard: Heard
    doubt: str = ""


@dataclass(frozen=True)
class StepRow:
    """A step of the sheet."""

    step: str
    symbol: str
    state: str
    witness: str
    heard: Heard


@dataclass(frozen=True)
class PhotoView:
    """A picture with what is known of it."""

    title: str
    stage: str
    file: str
    """The picture, relative to the record."""
    shown: str
    """The file that the report shows: its thumbnail where there is one."""
    when: str
    symbol: str
    quality: str
    advice: str = ""


@dataclass(frozen=True)
class MarkRow:
    """A mark on a seal face; lengths in millimetres."""

    number: str
    kind: str
    nature: str
    """Damage, or something that may clean off."""
    angle: str
    arc: str
    radius: str
    size: str
    score: str


@dataclass(frozen=True)
class FaceView:
    """A seal face in a picture."""

    title: str
    stage: str
    file: str
    when: str
    symbol: str
    verdict: str
    annotated: str
    """The picture with what was found drawn on it, relative to the record."""
    strip: str
    """The unrolled face, relative to the record; empty for none."""
    facts: list[Fact]
    marks: list[MarkRow]
    advice: list[str]
    causes: list[Fact]
    asked: list[str]
    """Questions where words and picture exclude each other."""


@dataclass(frozen=True)
class DeviationView:
    """A deviation and room for what is decided about it."""

    kind: str
    text: str
    when: str
    words: str
    disposition: str = ""
    decided: str = ""
    """By whom, when and why."""


@dataclass(frozen=True)
class QuestionView:
    """A question and what the answer may be."""

    text: str
    choices: list[str]
    heard: Heard


@dataclass(frozen=True)
class CorrectionRow:
    """An entry that no longer stands."""

    what: str
    said: str
    why: str
    stands_now: str
    when: str


@dataclass(frozen=True)
class UnfiledRow:
    """A number heard in job talk that made no reading."""

    number: str
    reason: str
    heard: Heard


@dataclass(frozen=True)
class TalkRow:
    """One utterance of job talk."""

    when: str
    text: str


@dataclass(frozen=True)
class AdviceRow:
    """What one shop calculation says of the readings."""

    about: str
    text: str
    calculation: str
    when: str
    """When what it uses was said."""
    ask: str = ""
    """What has to be asked before the pump goes back; empty where nothing has to."""


@dataclass(frozen=True)
class AdviceView:
    """All that shop calculations say, with their sources and the cautions that go with the work."""

    rows: list[AdviceRow] = field(default_factory=list)
    sources: list[Fact] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class SignatureView:
    """A signature and what proves it."""

    signed_by: str
    meaning: str
    facts: list[Fact]
    check: str
    """How to check it."""


@dataclass(frozen=True)
class ReportView:
    """Everything the report shows."""

    title: str
    subtitle: str
    job: list[Fact]
    ready: bool
    """No question is open and nothing that the sheet requires is missing."""
    standing: str
    standing_text: str
    counts: list[Fact]
    highlights: list[Highlight]
    cautions: list[str]
    sheet_cautions: list[str] = field(default_factory=list)
    findings: list[FindingRow] = field(default_factory=list)
    found: list[ReadingGroup] = field(default_factory=list)
    left: list[ReadingGroup] = field(default_factory=list)
    parts: list[PartRow] = field(default_factory=list)
    consumables: list[ConsumableRow] = field(default_factory=list)
    steps: list[StepRow] = field(default_factory=list)
    photos: list[PhotoView] = field(default_factory=list)
    faces: list[FaceView] = field(default_factory=list)
    face_caution: str = ""
    deviations: list[DeviationView] = field(default_factory=list)
    questions: list[QuestionView] = field(default_factory=list)
    """The open ones; what was put right in the same talk stands under the corrections."""
    missing: list[Highlight] = field(default_factory=list)
    unfiled: list[UnfiledRow] = field(default_factory=list)
    corrections: list[CorrectionRow] = field(default_factory=list)
    notes: list[Highlight] = field(default_factory=list)
    gauges: list[Fact] = field(default_factory=list)
    advice: AdviceView = field(default_factory=AdviceView)
    talk: list[TalkRow] = field(default_factory=list)
    made_by: list[Fact] = field(default_factory=list)
    signatures: list[SignatureView] = field(default_factory=list)
    dispositions: list[str] = field(default_factory=list)
    review: list[str] = field(default_factory=list)
    """What the reviewer may tick."""
    version: str = ""
    reference: str = ""
    """What a loose page belongs to."""
    advises: str = ""
    closing: str = ""
