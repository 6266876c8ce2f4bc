"""The past of a type of pump: rebuilds, readings, findings of all its pumps, gathered once for all pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from api.archive.remembered import remembered
from api.history.as_found import ALARM, Found, Series, readings_found, series_of
from api.history.lasting import Span, sooner_than_others, spans_of
from api.history.rebuilds import OwnRebuild, PumpName, Rebuild, by_pump, rebuilds_of_type
from api.history.repeats import Finding, Repeat, Tally, findings_of, repeats_of, tally_of

#: Of a type so many rebuilds are looked at, the newest.
MOST_OF_TYPE = 3000


@dataclass(frozen=True)
class TypePast:
    """What is known of a type before anything is judged at a moment."""

    of_pump: Mapping[PumpName, Sequence[Rebuild]]
    looked_at: int
    readings: Sequence[Found]
    findings: Sequence[Finding]
    series: Mapping[PumpName, Sequence[Series]]
    tally: Tally


@dataclass(frozen=True)
class StandingOut:
    """What of a type stands out."""

    moving: Sequence[tuple[PumpName, Series]]
    repeats: Sequence[tuple[PumpName, Repeat]]
    sooner: Sequence[PumpName]


def past_of(session: Session, sheet_id: str) -> TypePast:
    """Return the past of a type: its newest rebuilds.

    Args:
        session: any.
        sheet_id: of the type.
    """
    return remembered(session, ("past of a type", sheet_id), lambda: _gathered(session, sheet_id))


def past_with(session: Session, sheet_id: str, name: PumpName, own: Sequence[OwnRebuild]) -> TypePast:
    """Return the past of a type with all of one pump's rebuilds, those among them that are too old for it.

    Args:
        session: any.
        sheet_id: of the type.
        name: of the pump.
        own: its rebuilds by that sheet, in their order.

    Returns:
        Where there are such, series and tally of that pump alone, judged with all of them.
    """
    past = past_of(session, sheet_id)
    known = {one.record_id for one in past.of_pump.get(name, ())}
    older = [one for one in own if one.record_id not in known]
    if not older:
        return past

    def made() -> TypePast:
        readings = [*readings_found(session, older), *past.readings]
        findings = [*findings_of(session, older), *past.findings]
        whole = _counted({**past.of_pump, name: own}, past.looked_at + len(older), readings, findings)
        # Of the others only their rebuilds are asked for: what is kept for every such pump must be small.
        tally = replace(whole.tally, of_pump={name: whole.tally.of_pump.get(name, {})})
        return replace(whole, readings=(), findings=(), series={name: whole.series[name]}, tally=tally)

    return remembered(session, ("past with a pump", sheet_id, name), made)


def spans_of_type(past: TypePast, now: datetime) -> dict[PumpName, list[Span]]:
    """Return how long rebuilds lasted, by the pump."""
    return {pump: spans_of(these, now) for pump, these in past.of_pump.items()}


def standing_out(session: Session, sheet_id: str, past: TypePast, now: datetime) -> StandingOut:
    """Return what stands out in a type, all its pumps considered.

    Args:
        session: any.
        sheet_id: of the type.
        past: of it.
        now: the moment; how long last rebuilds last so far is counted to the beginning of its hour, so that
            the same is not counted again every time.
    """
    hour = now.replace(minute=0, second=0, microsecond=0)

    def made() -> StandingOut:
        spans = spans_of_type(past, hour)
        return StandingOut(
            [(pump, one) for pump in past.of_pump for one in past.series[pump] if one.moves],
            [(pump, one) for pump in past.of_pump for one in repeats_of(pump, past.tally) if one.stands_out],
            [pump for pump in past.of_pump if (sooner_than_others(spans, pump) or 1.0) < ALARM],
        )

    return remembered(session, ("standing out", sheet_id, hour), made)


def _gathered(session: Session, sheet_id: str) -> TypePast:
    rebuilds = rebuilds_of_type(session, sheet_id, MOST_OF_TYPE)
    readings, findings = readings_found(session, rebuilds), findings_of(session, rebuilds)
    return _counted(by_pump(rebuilds), len(rebuilds), readings, findings)


def _counted(
    of_pump: Mapping[PumpName, Sequence[Rebuild]],
    looked_at: int,
    readings: Sequence[Found],
    findings: Sequence[Finding],
) -> TypePast:
    series, tally = series_of(of_pump, readings), tally_of(of_pump, findings)
    return TypePast(of_pump, looked_at, readings, findings, series, tally)
