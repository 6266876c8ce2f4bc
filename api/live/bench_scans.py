"""What is held up at a bench while work goes on: badges, gauges, new parts. Each is an event of the job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy.orm import Session

from api.live.bench_facts import BenchFacts, Place, facts_of
from api.live.bench_people import come_or_go
from api.live.gauges_used import note_gauge
from api.report.wording import item_words
from api.store.accounts import by_badge
from api.store.consents import check_agreed
from api.store.gauges import gauge_of, is_expired
from api.store.job_events import chain_of, note, who
from api.store.roles import rights_of
from api.store.sheets import sheet_from
from api.store.tables import Account, BenchJob, Gauge
from api.tags.tag_text import Tag
from shared.errors import AccountRefused, OutOfTurn, TagForeign
from shared.job_sheet import JobSheet


@dataclass(frozen=True)
class Bench:
    """A bench at work on a job."""

    job: BenchJob
    by: Account
    """Who is signed in."""
    place: Place
    now: datetime
    notice_sha256: str
    """Of the notice that whoever works here has to have agreed to."""

    @property
    def sheet(self) -> JobSheet:
        """The job's."""
        return sheet_from(self.job.sheet)

    def at(self) -> dict[str, object]:
        """Return where in the sound it is, as events say it."""
        return {"recording": self.place.recording, "at_s": round(self.place.at_s, 1)}


class WitnessAsked(Exception):
    """A badge that may release a hold: its bearer gives his PIN or secret beside it."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


#: What a witness gave beside his badge: his PIN, his secret, nothing yet, or something that is neither.
Given = Literal["pin", "secret", "nothing", "wrong"]


def held_up(session: Session, bench: Bench, tag: Tag, *, step: str | None, given: Given = "nothing") -> str:
    """Do what a tag held up at a bench means, and return in words what that was.

    Args:
        session: one that writes.
        bench: where it was held up.
        tag: that was read.
        step: the hold point that waits, if the screen shows one.
        given: beside a badge; a picture of one is easily taken, so a badge alone releases no hold.

    Raises:
        WitnessAsked: the badge may release the hold, and nothing was given beside it.
        AccountRefused: a badge that nobody has, or whose bearer may not do this.
        OutOfTurn: the job is not open.
        TagForeign: a tag that means nothing here.
        NotKept: the register has no such gauge.
        ConsentMissing: whoever wants to work here did not agree to be recorded.
    """
    check_open(bench.job)
    match tag.kind:
        case "badge":
            return _badge(session, bench, tag.fields["t"], step, given)
        case "gauge":
            return use_gauge(session, bench, gauge_of(session, tag.fields["id"]))
        case "part":
            what = "lot" if tag.get("lot") else "serial"
            return keep_lot(session, bench, tag.get("part"), what, tag.get("lot") or tag.get("sn") or "")
        case kind:
            raise TagForeign(f"this is the tag of a {kind}", expected="a badge, a gauge or a new part")


def check_open(job: BenchJob) -> None:
    """See that work goes on.

    Raises:
        OutOfTurn: the job was handed over or signed.
    """
    if job.state not in ("open", "returned"):
        raise OutOfTurn(f"work order {job.work_order} is {job.state.replace('_', ' ')}")


def _badge(session: Session, bench: Bench, token: str, step: str | None, given: Given) -> str:
    bearer = by_badge(session, token)
    if bearer is None:
        raise AccountRefused("this badge is not known")
    rights = rights_of(bearer.roles)
    facts = facts_of(chain_of(session, bench.job.id))
    if step is not None and "witness" in rights:
        return _witness(session, bench, facts, bearer, step, given)
    if "work" not in rights:
        raise AccountRefused(
            f"{bearer.shown_name} works at no bench", expected="a badge of who works here"
            if step is None else "a badge of somebody who may witness",
        )  # fmt: skip
    if step is not None and bearer.id == bench.by.id:
        raise AccountRefused("your own badge releases no hold", expected="one of somebody who may witness")
    check_agreed(session, bearer.id, bench.notice_sha256)
    kind = come_or_go(session, bench.job.id, bearer, bench.place, bench.now)
    return f"{bearer.shown_name} works here" if kind == "joined" else f"{bearer.shown_name} has left"


def _witness(
    session: Session, bench: Bench, facts: BenchFacts, bearer: Account, step: str, given: Given
) -> str:
    _check_hold(bench.sheet, step)
    if bearer.id == bench.by.id or who(bearer) in facts.people:
        raise AccountRefused(
            f"{bearer.shown_name} works on this pump himself", expected="a witness who does not"
        )
    if (before := facts.witnessed.get(step)) is not None:
        raise OutOfTurn(f"{item_words(step)} was witnessed by {before.rpartition(' (')[0]} already")
    if given == "nothing":
        raise WitnessAsked(bearer.shown_name)
    if given == "wrong":
        raise AccountRefused(
            f"this is neither PIN nor secret of {bearer.shown_name}",
            remedy="a PIN is set on one's own page, signed in with the secret",
        )
    payload = {"step": step, "known_by": f"badge and {given}", **bench.at()}
    note(session, bench.job.id, "witnessed", payload, by=bearer, now=bench.now)
    return f"{item_words(step)}: witnessed by {bearer.shown_name}"


def pass_hold(session: Session, bench: Bench, step: str) -> str:
    """Go on without the witness that a step waits for; that is for the reviewer to decide about.

    Raises:
        OutOfTurn: no hold point of that name waits.
    """
    check_open(bench.job)
    _check_hold(bench.sheet, step)
    facts = facts_of(chain_of(session, bench.job.id))
    if step in facts.witnessed or step in facts.passed:
        raise OutOfTurn(f"{item_words(step)} does not wait any more")
    note(session, bench.job.id, "hold_passed", {"step": step, **bench.at()}, by=bench.by, now=bench.now)
    return f"{item_words(step)}: gone on without a witness; this is a deviation for the reviewer"


def use_gauge(session: Session, bench: Bench, gauge: Gauge) -> str:
    """Take a gauge into use: from here on it reads whatever the sheet has read with its kind.

    Raises:
        OutOfTurn: the job is not open.
    """
    check_open(bench.job)
    note_gauge(session, bench.job.id, gauge, bench.place, bench.now, by=bench.by)
    if is_expired(gauge, bench.now.date()):
        return f"{gauge.kind} {gauge.id}: calibration ended {gauge.calibrated_until}; take another one"
    return f"{gauge.kind} {gauge.id}, calibrated until {gauge.calibrated_until or 'further notice'}"


def keep_lot(session: Session, bench: Bench, part: str | None, what: str, code: str) -> str:
    """Keep serial or lot of a new part.

    Raises:
        TagForeign: no part of the sheet, or no code.
    """
    check_open(bench.job)
    code = " ".join(code.split())
    if part not in bench.sheet.part_names:
        raise TagForeign(
            f"the sheet has no part {part!r}" if part else "this tag does not say of which part it is",
            remedy="choose the part on the screen, then hold the tag up",
        )
    if not code or len(code) > 64 or what not in ("lot", "serial"):
        raise TagForeign("no lot or serial number", expected="1 to 64 characters")
    payload = {"part": part, "what": what, "code": code, **bench.at()}
    note(session, bench.job.id, "part_lot", payload, by=bench.by, now=bench.now)
    return f"{item_words(part)}: {what} {code}"


def _check_hold(sheet: JobSheet, step: str) -> None:
    if step not in {one.step for one in sheet.steps if one.hold}:
        raise OutOfTurn(f"the sheet has no hold point {step!r}")
