"""The shop's register of gauges: which there are, and until when their calibration is good."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.tables import Gauge
from shared.errors import GaugeRefused, NotKept

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./_-]{0,63}")


def keep_gauge(
    session: Session,
    *,
    gauge_id: str,
    kind: str,
    calibrated_until: str | None,
    now: datetime,
    reach: str | None = None,
    resolution: str | None = None,
    uncertainty: str | None = None,
) -> Gauge:
    """Keep a gauge, or what changed of it since (a new calibration).

    Args:
        session: one that writes.
        gauge_id: as it is labelled.
        kind: as job sheets name it.
        calibrated_until: last day, ISO 8601; None where its calibration does not end.
        now: the moment.
        reach: what it measures from and to.
        resolution: with its unit.
        uncertainty: as its certificate states it.

    Raises:
        GaugeRefused: its id or its date is none.
    """
    gauge_id = " ".join(gauge_id.split())
    if not _ID.fullmatch(gauge_id):
        raise GaugeRefused(
            f"{gauge_id!r} is no id of a gauge", expected="letters, digits, dot, dash, slash, 1 to 64"
        )
    if calibrated_until is not None:
        _check_date(calibrated_until)
    gauge = session.get(Gauge, gauge_id)
    if gauge is None:
        gauge = Gauge(id=gauge_id, made_at=now)
        session.add(gauge)
    gauge.kind, gauge.calibrated_until, gauge.closed_at = kind, calibrated_until, None
    gauge.reach, gauge.resolution, gauge.uncertainty = reach, resolution, uncertainty
    session.flush()
    return gauge


def all_gauges(session: Session) -> Sequence[Gauge]:
    """Return every gauge, those out of use too, by kind and id."""
    return session.scalars(select(Gauge).order_by(Gauge.kind, Gauge.id)).all()


def gauge_of(session: Session, gauge_id: str) -> Gauge:
    """Return a gauge that is in use.

    Raises:
        NotKept: there is none of that id, or it is out of use.
    """
    found = session.get(Gauge, " ".join(gauge_id.split()))
    if found is None or found.closed_at is not None:
        raise NotKept(
            f"the register has no gauge {gauge_id!r} in use", remedy="an admin enters it under Gauges"
        )
    return found


def gauge_called(session: Session, kind: str, called: str) -> Gauge | None:
    """Return the one gauge of a kind that was meant, by its id or by its figures alone, or None.

    Args:
        session: any.
        kind: as job sheets name it.
        called: its id or number, as it was heard.
    """
    of_kind = [one for one in all_gauges(session) if one.kind == kind and one.closed_at is None]
    exactly = [one for one in of_kind if _plain(one.id) == _plain(called)]
    by_figures = [one for one in of_kind if _figures(called) and _figures(one.id) == _figures(called)]
    meant = exactly or (by_figures if _plain(called).isdecimal() else [])
    return meant[0] if len(meant) == 1 else None


def is_expired(gauge: Gauge, today: date) -> bool:
    """Return whether a gauge's calibration was good no more on a day."""
    return gauge.calibrated_until is not None and gauge.calibrated_until < today.isoformat()


def _check_date(text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError as exc:
        raise GaugeRefused(f"{text!r} is no day", expected="a date like 2027-01-31") from exc


def _plain(text: str) -> str:
    return "".join(c for c in text.upper() if c.isalnum())


def _figures(text: str) -> str:
    return "".join(c for c in text if c.isdigit()).lstrip("0")
