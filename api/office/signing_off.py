"""A reviewed record signed: everything decided, the secret entered again, one revision kept for good."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.orm import Session

from api.archive.signed_jobs import file_revision
from api.office.pictures import check_pictures
from api.office.reviewing import UnderReview, under_review
from api.picture_keeping import shown_pictures
from api.report.prepare import prepare_view
from api.signing.keys import open_shop_key
from api.signing.signed_pdf import signed_report_pdf
from api.signing.signed_record import Signer, sign_record
from api.store.job_events import chain_of, note, who
from api.store.jobs import turn_to
from api.store.revisions import keep_revision, revisions_of
from api.store.secrets import is_secret
from api.store.tables import Account, Revision
from shared.errors import AccountRefused, OutOfTurn

#: What a signature may stand for; a text of one's own would be read by nobody.
MEANINGS = ("reviewed and accepted", "reviewed and accepted with the dispositions stated")


@dataclass(frozen=True)
class SignOff:
    """What a reviewer gives to sign."""

    account: Account
    secret: str
    """Entered again for this signature."""
    meaning: str
    seen: int
    """The job's turn as he saw it."""


def sign_off(session: Session, folder: Path, job_id: str, given: SignOff, now: datetime) -> Revision:
    """Sign a job's record as its next revision.

    Args:
        session: one that writes.
        folder: data folder, where the shop's key lies.
        job_id: of the job.
        given: by the reviewer.
        now: the moment.

    Raises:
        AccountRefused: the secret is wrong, or he worked on the pump himself.
        OutOfTurn: something is undecided, the job is not handed over, or somebody else was quicker.
        SigningError: the chain of events does not hold, or a picture is not what was taken.
    """
    before = under_review(session, job_id)
    _check(before, given)
    place = folder / "jobs" / job_id
    check_pictures(place, [photo for photo in before.record.photos if photo.superseded_why != "struck"])
    turn_to(before.job, "signed", seen=given.seen)
    earlier = revisions_of(session, job_id)
    number = len(earlier) + 1
    event = {"revision": number, "meaning": given.meaning}
    note(session, job_id, "signed", event, by=given.account, now=now)
    signed = sign_record(
        before.record,
        chain_of(session, job_id),
        Signer(given.account.shown_name, given.account.name, "reviewer", given.meaning),
        key := open_shop_key(folder),
        now=now,
        revision=number,
        replaces_sha256=earlier[-1].sha256 if earlier else None,
    )
    pictures = shown_pictures(place, signed.record.photos)
    document = signed_report_pdf(prepare_view(signed.record, before.sheet), pictures, signed, key)
    revision = keep_revision(
        session, before.job, signed=signed.data, document=document, by=given.account, now=now
    )
    file_revision(session, folder, revision)
    return revision


def what_is_undecided(it: UnderReview) -> list[str]:
    """Return in words what has to be decided before a record can be signed."""
    undecided: list[str] = []
    if it.review.open:
        undecided.append(f"{it.review.open} doubtful entries")
    if (open_ := sum(1 for one in it.record.deviations if one.disposition is None)) > 0:
        undecided.append(f"{open_} deviations without a disposition")
    return undecided


def _check(it: UnderReview, given: SignOff) -> None:
    if not is_secret(given.secret, given.account.secret_hash):
        raise AccountRefused("the secret is not yours", remedy="enter it again; nothing was signed")
    if given.meaning not in MEANINGS:
        raise OutOfTurn(f"a signature that means {given.meaning!r}", expected=" or ".join(MEANINGS))
    worked = given.account.id in {one.account_id for one in it.job.recordings}
    if worked or who(given.account) in it.facts.people:
        raise AccountRefused("you worked on this pump yourself", remedy="another reviewer signs")
    if undecided := what_is_undecided(it):
        raise OutOfTurn(f"still undecided: {' and '.join(undecided)}", remedy="decide, then sign")
