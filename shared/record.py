"""The rebuild record (contract ``rebuild-record/1``): its JSON is what other programs read."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from shared.photo import FaceReport, PictureQuality

SCHEMA_NAME: Literal["rebuild-record/1"] = "rebuild-record/1"

Stage = Literal["as_found", "as_left", "either"]
Verdict = Literal["within", "outside", "undecided", "no_limit"]
Action = Literal["renewed", "reused", "cleaned", "scrapped", "saved", "removed", "fitted"]
Condition = Literal[
    "even_wear", "uneven_wear", "scratched", "scored", "cracked", "chipped", "pitted", "blistered",
    "heat_checked", "corroded", "fretted", "hardened", "swollen", "torn", "deposits", "bent",
    "seized", "worn", "good", "dented", "stretched",
]  # fmt: skip
ConsumableName = Literal[
    "anti_seize", "thread_locker", "assembly_lube", "grease", "solvent", "abrasive_pad", "sealant"
]
Event = Literal["snapshot", "strike_last", "pause", "resume", "read_back", "finish"]
SupersededWhy = Literal["corrected", "measured_again", "struck"]
Disposition = Literal["use_as_is", "rework", "repair", "reject"]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", validate_assignment=True)


class Evidence(_Model):
    """The words and the second that an entry stands on."""

    recording: str = ""
    utterance: int
    """Number of the utterance in the recording, from 0."""
    start_s: float
    end_s: float
    words: str
    """As heard."""
    engine: str = ""
    confidence: float = Field(ge=0, le=1)
    rule: str
    """The rule or model that read it."""
    repairs: list[str] = []
    """What was taken for what ("vein" for "vane"), where the recogniser misheard."""


class Candidate(_Model):
    """One of the things that an unsure entry may be; only what differs is set."""

    item: str | None = None
    position: str | None = None
    value: float | None = None
    value_exact: str | None = None
    unit: str | None = None
    part: str | None = None
    condition: str | None = None
    action: str | None = None
    words: str | None = None


class _Entry(_Model):
    id: str
    evidence: Evidence
    needs_review: bool = False
    reason: str | None = None
    """Why it needs review."""
    candidates: list[Candidate] = []
    superseded_by: str | None = None
    superseded_why: SupersededWhy | None = None

    @property
    def standing(self) -> bool:
        """Whether nothing replaced or struck it."""
        return self.superseded_why is None


class ReadingEntry(_Entry):
    """A measured value, in the sheet's unit."""

    item: str
    position: str | None = None
    stage: Stage = "either"
    value: float | None = None
    value_exact: str | None = None
    unit: str
    said_unit: str | None = None
    verdict: Verdict = "undecided"
    gauge: str | None = None


class ConditionEntry(_Entry):
    """What a part was found like."""

    part: str
    condition: Condition
    location: str | None = None
    unlisted: bool = False
    """The part is not on the sheet."""


class PartEntry(_Entry):
    """What was done with a part."""

    part: str
    action: Action
    quantity: int | None = None
    serial: str | None = None
    unlisted: bool = False
    """The part is not on the sheet."""


class ConsumableEntry(_Entry):
    """A consumable that was used."""

    name: ConsumableName
    applied_to: str | None = None


class StepEntry(_Entry):
    """A step of the sheet that was said to be done (or, ``done`` false, left out)."""

    step: str
    done: bool = True
    witness: str | None = None


class PhotoEntry(_Entry):
    """A picture attached to the record."""

    of: str | None = None
    stage: Stage = "either"
    picture: str
    thumbnail: str | None = None
    quality: PictureQuality | None = None
    face_report: FaceReport | None = None
    sha256: str | None = None

    @property
    def usable(self) -> bool:
        """Whether it shows what it is to show, as far as that was judged; a face has a judge of its own."""
        judged = self.face_report or self.quality
        return judged is None or judged.usable


class NoteEntry(_Entry):
    """Something said to be remembered that is no entry of another kind."""

    text: str


class DeviationEntry(_Entry):
    """Where the rebuild leaves the sheet; a reviewer disposes of it."""

    kind: Literal["out_of_tolerance", "against_policy", "skipped_step", "declared"]
    item: str | None = None
    part: str | None = None
    position: str | None = None
    step: str | None = None
    """The step that was left out."""
    text: str
    disposition: Disposition | None = None
    disposition_by: str | None = None
    disposition_at: str | None = None
    disposition_why: str | None = None


class Missing(_Model):
    """What the sheet wants and nobody gave; exactly one of item, of, part, step is set."""

    kind: Literal["reading", "photo", "part_decision", "step"]
    item: str | None = None
    of: str | None = None
    part: str | None = None
    step: str | None = None
    position: str | None = None
    moment_s: float | None = None
    """Where in the recording the talk was last about it; None where it never was."""
    text: str = ""


class Question(_Model):
    """Something to be asked, with what it may be."""

    id: str
    text: str
    about: str | None = None
    """Id of the unsure entry."""
    candidates: list[Candidate] = []
    evidence: Evidence
    answered_by: str | None = None


class UnfiledNumber(_Model):
    """A number heard in job talk that made no reading."""

    words: str
    value: float | None = None
    unit: str | None = None
    reason: str = ""
    evidence: Evidence


class EventEntry(_Model):
    """A command heard."""

    id: str
    event: Event
    part: str | None = None
    evidence: Evidence


class MadeBy(_Model):
    """What made the record, so that it can be made again."""

    program: str = "witnessmark"
    version: str
    engine: str = ""
    model: str = ""
    hashes: dict[str, str] = {}
    """SHA-256 of sheet, lexicon, vocabulary, recordings, by name."""


class Job(_Model):
    """Which rebuild; null where unheard."""

    work_order: str | None = None
    pump_tag: str | None = None
    pump_type: str | None = None
    pump_serial: str | None = None
    technician: str | None = None
    sheet_id: str | None = None
    sheet_revision: str | None = None
    started: str | None = None
    """ISO 8601."""
    ended: str | None = None
    """ISO 8601."""


class Signature(_Model):
    """Who signed a record and what that means; the bytes that prove it stand in the signed record's file."""

    name: str
    """As people know him."""
    account: str
    """What he signs in with."""
    role: str
    at: str
    """ISO 8601 with offset, by the clock of the shop's machine."""
    meaning: str
    """What the signature stands for, as he chose it: reviewed and accepted …"""
    revision: int = Field(ge=1)
    """Of the job's signed record, from 1."""
    replaces_sha256: str | None = None
    """SHA-256 of the signed record's file of the revision before; None for the first."""
    record_sha256: str
    """SHA-256 over the canonical bytes of the record without its signatures."""
    chain_events: int = Field(ge=0)
    """How many events the job's chain had."""
    chain_sha256: str
    """The hash of the last of them."""
    key_fingerprint: str
    """Of the shop's key."""


class RebuildRecord(BaseModel):
    """A whole rebuild, validated."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True, serialize_by_alias=True)

    schema_: Literal["rebuild-record/1"] = Field(default=SCHEMA_NAME, alias="schema")
    made_by: MadeBy
    job: Job
    readings: list[ReadingEntry] = []
    conditions: list[ConditionEntry] = []
    parts: list[PartEntry] = []
    consumables: list[ConsumableEntry] = []
    steps: list[StepEntry] = []
    photos: list[PhotoEntry] = []
    notes: list[NoteEntry] = []
    deviations: list[DeviationEntry] = []
    missing: list[Missing] = []
    questions: list[Question] = []
    unfiled_numbers: list[UnfiledNumber] = []
    events: list[EventEntry] = []
    signatures: list[Signature] = []

    def entries(self) -> list[Entry]:
        """Return every entry that a correction can supersede, kind by kind."""
        return [
            *self.readings, *self.conditions, *self.parts, *self.consumables, *self.steps, *self.photos,
            *self.notes,
        ]  # fmt: skip

    def to_json(self) -> str:
        """Return the contract's JSON: UTF-8 text, two spaces, keys in contract order, one newline."""
        return self.model_dump_json(by_alias=True, indent=2) + "\n"


#: Entries that a correction can supersede.
Entry = ReadingEntry | ConditionEntry | PartEntry | ConsumableEntry | StepEntry | PhotoEntry | NoteEntry
