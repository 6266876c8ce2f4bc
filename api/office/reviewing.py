"""A job under review: its draft, the decisions about it, the record that they make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from api.live.bench_facts import BenchFacts, facts_of
from api.office.record_with_facts import besides_talk, with_facts
from api.office.review_rows import Review, review_of
from api.store.accounts import account_of
from api.store.drafts import draft_under_review, newest_draft, record_of
from api.store.job_events import chain_of, who
from api.store.jobs import job_of
from api.store.reviews import reviews_of
from api.store.sheets import sheet_from
from api.store.tables import BenchJob, Draft
from extract.judged_by_sheet import judged_by
from extract.reviewing import Decision, Kind, reviewed
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


@dataclass(frozen=True)
class UnderReview:
    """A job as its reviewer has it before him."""

    job: BenchJob
    sheet: JobSheet
    draft: Draft
    extracted: RebuildRecord
    record: RebuildRecord
    """With the decisions so far applied."""
    decisions: Sequence[Decision]
    review: Review
    facts: BenchFacts
    """What happened at the bench besides talk."""
    newer: Draft | None
    """What extraction made since, which never takes the place of what was judged."""


def under_review(session: Session, job_id: str) -> UnderReview:
    """Return a job under review.

    Raises:
        NotKept: no such job, or it has no record yet.
    """
    job = job_of(session, job_id)
    draft = draft_under_review(session, job_id)
    sheet, facts = sheet_from(job.sheet), facts_of(chain_of(session, job_id))
    extracted = with_facts(_as_judged(draft, job, sheet), sheet, facts)
    decisions = decisions_of(session, draft)
    record = reviewed(extracted, sheet, decisions, besides_talk(sheet, facts))
    newest = newest_draft(session, job_id)
    return UnderReview(
        job=job,
        sheet=sheet,
        draft=draft,
        extracted=extracted,
        record=record,
        decisions=decisions,
        review=review_of(record, sheet, in_words(decisions), facts),
        facts=facts,
        newer=newest if newest is not None and newest.id != draft.id else None,
    )


def _as_judged(draft: Draft, job: BenchJob, sheet: JobSheet) -> RebuildRecord:
    """Return a draft's record; one read by another sheet than the job has taken since is judged by that."""
    record = record_of(draft)
    if draft.sheet_sha256 in (None, job.sheet_sha256):
        return record
    return judged_by(record, sheet)


def decisions_of(session: Session, draft: Draft) -> list[Decision]:
    """Return the decisions about a draft, in the order in which they were made."""
    found: list[Decision] = []
    for number, row in enumerate(reviews_of(session, draft), 1):
        kind: Any = row.kind
        by = who(account_of(session, row.by))
        fields: Mapping[str, Any] = row.now or {}
        found.append(Decision(number, kind, row.entry, fields, by, row.at.isoformat(timespec="seconds")))
    return found


def checked(
    before: UnderReview, kind: Kind, entry: str, fields: Mapping[str, Any], *, by: str, at: str
) -> None:
    """See that a decision can be applied, before it is kept.

    Raises:
        DecisionRefused: it cannot.
    """
    decision = Decision(len(before.decisions) + 1, kind, entry, fields, by, at)
    also = besides_talk(before.sheet, before.facts)
    reviewed(before.extracted, before.sheet, [*before.decisions, decision], also)


def in_words(decisions: Sequence[Decision]) -> dict[str, str]:
    """Return by entry what was decided last about it, by whom and when."""
    said: dict[str, str] = {}
    for decision in decisions:
        words = f"{decision.kind} by {decision.by}, {decision.at[:16].replace('T', ' ')}"
        said[decision.entry] = words
        said[f"{decision.entry}.review{decision.number}"] = words
    return said
