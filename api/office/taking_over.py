"""What a newer draft reads otherwise, taken over entry by entry: a reviewer's decision each time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from api.office.difference import Difference, DifferenceRow, added_id, differences, fields_of, rows_of
from api.office.reviewing import UnderReview, checked, in_words, under_review
from api.store.drafts import record_of
from api.store.job_events import who
from api.store.reviews import decide
from api.store.sheets import sheet_from
from api.store.tables import Account, Draft, SheetText
from extract.reviewing import kind_of
from shared.errors import DecisionRefused, NotKept


@dataclass(frozen=True)
class Beside:
    """A newer draft beside the one under review."""

    it: UnderReview
    newer: Draft
    found: list[Difference]
    rows: list[DifferenceRow]


def beside(session: Session, job_id: str) -> Beside:
    """Return how the newest draft of a job differs from the one under review.

    Raises:
        NotKept: there is no newer one.
    """
    it = under_review(session, job_id)
    if it.newer is None:
        raise NotKept("no newer draft stands beside the one under review")
    found = differences(it.extracted, record_of(it.newer))
    row = session.get(SheetText, it.newer.sheet_sha256 or it.job.sheet_sha256)
    read_by = sheet_from(row) if row is not None else it.sheet
    rows = rows_of(found, it.sheet, in_words(it.decisions), it.newer.number, read_by)
    return Beside(it, it.newer, found, rows)


def take_over(
    session: Session, job_id: str, *, newer: int, key: str, seen: int, by: Account, now: datetime
) -> None:
    """Take one difference over: correct, strike or add the entry, as a decision of the reviewer.

    Args:
        session: one that writes.
        job_id: of the job.
        newer: number of the draft as the reviewer saw it.
        key: of the difference.
        seen: the job's turn as he saw it.
        by: the reviewer.
        now: the moment.

    Raises:
        NotKept: there is no newer draft.
        DecisionRefused: it differs no more, or cannot be taken over.
        OutOfTurn: the job is signed, or somebody else was quicker.
    """
    both = beside(session, job_id)
    one = next((each for each in both.found if each.key == key), None)
    if one is None or both.newer.number != newer:
        raise DecisionRefused("this difference is no more", remedy="load the page again")
    if both.newer.sheet_sha256 not in (None, both.it.job.sheet_sha256):
        raise DecisionRefused(
            "what another sheet reads cannot be judged by this one",
            remedy="first have the record go by that sheet",
        )
    entry, kind, fields = _decision(one, newer)
    checked(both.it, kind, entry, fields, by=who(by), at=now.isoformat(timespec="seconds"))
    decide(
        session, both.it.job, both.it.draft, entry=entry, decision=kind,
        was=one.before.model_dump(mode="json") if one.before else None, now_is=fields,
        remark=f"taken over from draft {newer}", by=by, now=now, seen=seen,
    )  # fmt: skip


def _decision(one: Difference, newer: int) -> tuple[str, Any, dict[str, Any]]:
    if one.before is None:
        assert one.after is not None, "one of them is there"
        whole = one.after.model_dump(mode="json")
        return added_id(newer, one.after), "added", {"kind": kind_of(one.after), "entry": whole}
    if one.after is None:
        return one.before.id, "struck", {}
    return one.before.id, "corrected", fields_of(one.after)
