"""Lessons: what is forgotten, missed and corrected how often, and the clips behind each figure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy.orm import Session

from api.archive.remembered import remembered
from api.lessons.behind import clips_behind, good_examples
from api.lessons.counted import (
    KINDS,
    Asked,
    Told,
    groups_counted,
    months_counted,
    people_of_crews,
    sheets_counted,
)
from api.lessons.figures import LEAST_PEOPLE, SMALL, Figure, commonest, figures_of, key_words
from api.lessons.heard_outside import heard_where_agreed
from api.lessons.lesson_book import open_lessons
from api.lessons.lesson_plots import months_plot, rate_strip, times_plot
from api.lessons.people_compared import group_rates, names_of
from api.lessons.stage_times import StageTimes, stage_times
from api.store.accounts import account_of
from api.store.switches import is_on, set_switch, switch
from api.web.guard import Admin, Learner, shop_of
from api.web.pages import page
from shared.errors import NotKept, OutOfTurn

router = APIRouter(default_response_class=Response)
#: Of each kind on one page.
_MOST = 10
_Name = Annotated[str, Query(max_length=200)]
_Month = Annotated[str, Query(max_length=7, pattern=r"^(\d{4}-\d{2})?$")]


@router.get("/lessons")
def lessons_page(
    request: Request, who: Learner, sheet: _Name = "", since: _Month = "", until: _Month = ""
) -> Response:
    """Show what is lacking most, kind by kind."""
    with shop_of(request).database.reading() as session:
        sheets = remembered(session, ("sheets counted",), lambda: sheets_counted(session))
        asked = Asked(sheet or (sheets[0][0] if sheets else ""), since, until)
        compares = is_on(session, "compare_people")
        people, comparable = _comparable(session, asked.sheet_id, compares)
        told, figures, times = remembered(
            session, ("lessons", asked, comparable), lambda: _figures(session, asked, comparable)
        )
    shown = [(kind, commonest(figures, kind, _MOST)) for kind in KINDS]
    most = max((one.interval.high for _, rows in shown for one in rows), default=1.0)
    strips = {
        (one.kind, one.key): rate_strip(one.share, one.interval, most) for _, rows in shown for one in rows
    }
    records = told.get(("record", ""), [])
    return page(
        request, "lessons", who=who, sheets=sheets, asked=asked, shown=shown, looked_at=len(figures),
        records=sum(one.wanted for one in records), lacking=sum(one.lacking for one in records),
        strips=strips, times=times, times_drawn=times_plot(times), compares=compares, query=_query(asked),
        uncompared=sorted(set(people) - comparable), least_people=LEAST_PEOPLE,
    )  # fmt: skip


@router.get("/lessons/figure")
def figure_page(
    request: Request,
    who: Learner,
    sheet: _Name,
    kind: _Name,
    key: _Name,
    since: _Month = "",
    until: _Month = "",
) -> Response:
    """Show one figure over time, crew by crew, and the clips behind it."""
    asked = Asked(sheet, since, until)
    with shop_of(request).database.reading() as session:
        told = months_counted(session, asked, kind, key)
        if kind not in KINDS or not told:
            raise NotKept(f"nothing was counted of {key!r}", where=f"{sheet} {since} {until}")
        compares = is_on(session, "compare_people")
        _, comparable = _comparable(session, sheet, compares)
        crews = groups_counted(session, asked, "crew", kind, key)
        (figure,) = figures_of(told, {}, ())
        clips, good = remembered(
            session, ("clips", asked, kind, key),
            lambda: (clips_behind(session, asked, kind, key), good_examples(session, asked, kind, key)),
        )  # fmt: skip
        folder = shop_of(request).folder
        clips, good = (heard_where_agreed(session, folder, these) for these in (clips, good))
        lessons = open_lessons(session)
    rates = [one for one in group_rates(crews.get((kind, key), {})) if one.name in comparable]
    return page(
        request, "lesson_figure", who=who, figure=figure, asked=asked, clips=clips, good=good,
        lessons=lessons, drawn=months_plot(figure.months, figure.trend, figure.words), rates=rates,
        query=_query(asked), strips=_strips(rates), small=SMALL, compares=compares,
    )  # fmt: skip


@router.get("/lessons/people")
def people_page(
    request: Request,
    who: Learner,
    sheet: _Name,
    kind: _Name,
    key: _Name,
    since: _Month = "",
    until: _Month = "",
) -> Response:
    """Show a figure person by person, by name and never by rank, where the admin switched that on."""
    asked = Asked(sheet, since, until)
    with shop_of(request).database.reading() as session:
        if not is_on(session, "compare_people"):
            raise OutOfTurn(
                "people are not compared in this shop", remedy="whoever keeps the accounts can switch it on"
            )
        found = groups_counted(session, asked, "technician_id", kind, key).get((kind, key), {})
        rates = group_rates(found, names_of(session, found))
    return page(
        request, "lesson_people", who=who, rates=rates, words=key_words(kind, key), asked=asked, kind=kind,
        key=key, strips=_strips(rates), small=SMALL, query=_query(asked),
    )  # fmt: skip


@router.get("/comparing")
def comparing_page(request: Request, who: Admin) -> Response:
    """Show the switch by which people are compared."""
    with shop_of(request).database.reading() as session:
        was = switch(session, "compare_people")
        by = account_of(session, was.set_by).shown_name if was else ""
    return page(request, "comparing", who=who, was=was, by=by)


@router.post("/comparing")
def set_comparing(request: Request, who: Admin, on: Annotated[bool, Form()]) -> Response:
    """Switch the comparing of people on or off."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        set_switch(session, "compare_people", on, by=account_of(session, who.account.id), now=shop.now())
    return RedirectResponse("/comparing", 303)


def _comparable(session: Session, sheet_id: str, compares: bool) -> tuple[dict[str, int], frozenset[str]]:
    """Return the people of each crew, and which crews may be compared."""
    people = remembered(session, ("people of crews", sheet_id), lambda: people_of_crews(session, sheet_id))
    return people, frozenset(crew for crew, count in people.items() if compares or count >= LEAST_PEOPLE)


def _figures(
    session: Session, asked: Asked, comparable: frozenset[str]
) -> tuple[Told, list[Figure], Sequence[StageTimes]]:
    told = months_counted(session, asked)
    figures = figures_of(told, groups_counted(session, asked, "crew"), comparable)
    return told, figures, stage_times(session, asked)


def _strips(rates: Any) -> dict[str, str]:
    most = max((one.interval.high for one in rates), default=1.0)
    return {one.name: rate_strip(one.share, one.interval, most) for one in rates}


def _query(asked: Asked) -> str:
    given = {"sheet": asked.sheet_id, "since": asked.since, "until": asked.until}
    return urlencode({name: value for name, value in given.items() if value})
