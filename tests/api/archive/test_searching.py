"""What was said is found by its words, by what the trade calls it else, and by what was made of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

import pytest
from sqlalchemy import select

from api.archive import full_text
from api.archive.facets import LOOKED_AT, facets_of
from api.archive.search_words import terms_of
from api.archive.searching import Found, Search, search
from api.store.archive_tables import ArchivedEntry, ArchivedUtterance
from api.store.database import Database
from tests.api.archive.conftest import SAID


def found(archive: Database, wanted: Search, page: int = 50) -> Found:
    with archive.reading() as session:
        return search(session, wanted, page=page)


def words(archive: Database, query: str, **narrowed: str) -> list[str]:
    """What was said by the known rebuild's technician, in its order."""
    hits = found(archive, Search(query, pump_tag="P-900", **narrowed)).hits
    return [hit.utterance.words for hit in reversed(hits)]


@pytest.mark.parametrize(
    ("query", "which"),
    [
        ("heat checked carbon", [0]),
        ("carbon HEAT-CHECKED", [0]),
        # Trade synonyms: "rotating face" is what is called the carbon, crazing is heat checking.
        ("rotating face", [0]),
        ("crazing", [0]),
        ("gasket replaced", [5]),
        # Stems: Porter's algorithm takes "clearances" and "clearance" for one word (M. F. Porter, 1980).
        ("clearances", [1]),
        # In quotes as they are: neither other forms nor another order.
        ('"rotating face"', []),
        ('"seat stationary"', []),
        ('"stationary seat"', [4]),
        # No stop words: "out" and "not" tell.
        ('"worn out"', [3]),
        ('"not scored"', [3, 4]),
        ("scored -stationary", [3]),
        ('scored -"stationary seat"', [3]),
        ("thirty", [2]),
        ("quinquireme", []),
    ],
)
def test_words_find_what_was_said(archive: Database, query: str, which: list[int]) -> None:
    assert words(archive, query) == [SAID[one] for one in which]


@pytest.mark.parametrize(
    "query",
    [
        '"',
        "'",
        "-",
        "-scored",
        "NOT",
        "nut's",
        "a:b",
        "worn*",
        "(",
        "^ & | !",
        "<->",
        "near(",
        "\\",
        "%",
        "é",
        "𝟙" * 9,
    ],
)
def test_no_sign_is_taken_for_an_order_to_the_database(archive: Database, query: str) -> None:
    for hit in found(archive, Search(query)).hits:
        assert hit.utterance.words
    with archive.reading() as session:
        facets_of(session, Search(query), search(session, Search(query), look_at=LOOKED_AT))


def test_nothing_asked_finds_nothing(archive: Database) -> None:
    assert found(archive, Search()).hits == []
    assert found(archive, Search("-worn")).hits == []


def test_facets_alone_find_what_entries_say(archive: Database) -> None:
    assert words(archive, "", condition="heat_checked") == [SAID[0]]
    assert words(archive, "", part="casing_gasket", action="renewed") == [SAID[5]]
    assert words(archive, "", item="front_clearance", deviation="out_of_tolerance") == [SAID[2]]
    assert words(archive, "clearance", stage="as_left") == [SAID[1]]
    assert words(archive, "", technician="Nobody") == []


def test_each_hit_brings_what_was_made_of_it(archive: Database) -> None:
    (hit,) = found(archive, Search("thirty", pump_tag="P-900")).hits
    assert [(one.kind, one.item, one.verdict) for one in hit.entries] == [
        ("reading", "front_clearance", "outside"), ("deviation", "front_clearance", None),
    ]  # fmt: skip
    assert (hit.record.pump_tag, hit.sound) == ("P-900", False)


def test_a_search_finds_all_that_a_plain_reading_of_every_word_finds(archive: Database) -> None:
    with archive.reading() as session:
        said = session.execute(select(ArchivedUtterance.id, ArchivedUtterance.words)).all()
        entries = select(ArchivedEntry.record_id, ArchivedEntry.utterance)
        renewed = entries.where(ArchivedEntry.kind == "part", ArchivedEntry.what == "renewed")
        places = {tuple(row) for row in session.execute(renewed)}
    holds = {number for number, text in said if "gland" in text.split() and "nuts" in text.split()}
    assert {hit.utterance.id for hit in found(archive, Search('"gland nuts"'), 1000).hits} == holds
    hits = found(archive, Search(action="renewed"), 1000).hits
    assert {(hit.record.id, hit.utterance.number) for hit in hits} == places


def test_pages_follow_each_other_without_gap_or_double(archive: Database) -> None:
    for wanted in (Search("clearance"), Search(part="seal"), Search(pump_type="wash-water-split-case")):
        whole = [hit.utterance.id for hit in found(archive, wanted, 400).hits]
        paged: list[int] = []
        before = None
        while True:
            with archive.reading() as session:
                one = search(session, wanted, before=before, page=7)
            paged += [hit.utterance.id for hit in one.hits]
            if (before := one.older) is None or len(paged) >= 100:
                break
        assert len(whole) > 14
        assert paged[:100] == whole[: len(paged[:100])]


@pytest.mark.parametrize(
    "wanted",
    [
        Search("clearance"),
        Search("seal -wheel"),
        Search('"gland nuts"'),
        Search("worn"),
        Search("quinquireme"),
        Search("carbon checked"),
        Search("front clearance"),
        Search("front clearance", pump_type="wash-water-split-case"),
        Search("seal", since="2026-07", until="2026-09"),
        Search("clearance", technician="Rae Olsen", stage="as_left"),
        Search("clearance -vane", technician="Rae Olsen", part="impeller"),
        Search("seal renewed", technician="Rae Olsen", part="seal", action="renewed"),
        Search(technician="Rae Olsen", stage="as_left"),
        Search(pump_tag="P-900"),
        Search(part="seal", technician="Rae Olsen"),
        Search(part="seal", action="renewed", condition="worn", since="2025-01"),
        Search(condition="heat_checked", deviation="against_policy", pump_type="wash-water-end-suction"),
    ],
)
def test_whatever_leads_a_search_it_finds_the_same_in_the_same_order(
    archive: Database, monkeypatch: pytest.MonkeyPatch, wanted: Search
) -> None:
    def pages() -> list[tuple[list[int], int | None, tuple[int, ...]]]:
        shown, before = [], None
        for _ in range(4):
            with archive.reading() as session:
                one = search(session, wanted, before=before, page=3, look_at=5)
            shown.append(([hit.utterance.id for hit in one.hits], one.older, one.newest))
            if (before := one.older) is None:
                break
        return shown

    # The planner alone; then the records, back from the last over a few, and those that hold all the words.
    monkeypatch.setattr("api.archive.searching.FEW", 0)
    monkeypatch.setattr("api.archive.full_text.LATELY", (0,))
    monkeypatch.setattr("api.archive.full_text.OFTEN", 0)
    plain = pages()
    with monkeypatch.context() as changed:
        changed.setattr("api.archive.searching.FEW", 1_000)
        assert pages() == plain
        # One after another, as far as a page goes.
        changed.setattr("api.archive.searching.FIRST", (1, 2))
        assert pages() == plain
    with monkeypatch.context() as changed:
        changed.setattr("api.archive.full_text.LATELY", (40, 80))
        assert pages() == plain
    with monkeypatch.context() as changed:
        changed.setattr("api.archive.full_text.OFTEN", 10_000)
        assert pages() == plain


@pytest.mark.parametrize(
    ("query", "once", "never"),
    [
        # Heat checks, heat checking and heat checked have one stem each; what is crazed needs no more words.
        ("crazed", ["('heat' <-> 'check')", "('heat' <-> 'crack')", "('craze')"], ["'craze' <-> "]),
        # A sign that no word is made of leaves the others, and what is not wanted stays so.
        ("𝟙𝟙 scored -stationary", ["!(('stationari'))"], ["()"]),
    ],
)
def test_words_are_looked_for_by_their_stems_each_once(
    archive: Database, query: str, once: list[str], never: list[str]
) -> None:
    if not archive.on_postgresql:
        return  # SQLite's index stems each word by itself
    with archive.reading() as session:
        told = " & ".join(full_text._tsqueries(session, terms_of(query)))
    assert [told.count(stems) for stems in once] == [1] * len(once)
    assert not any(stems in told for stems in never)


def test_months_narrow(archive: Database) -> None:
    every = found(archive, Search("seal"), 1000).hits
    some = found(archive, Search("seal", since="2026-07", until="2026-09"), 1000).hits
    months = [hit.record.month for hit in every]
    assert len(some) == sum("2026-07" <= month <= "2026-09" for month in months)
    assert 0 < len(some) < len(every)


def test_facets_count_what_the_hits_are_of(archive: Database) -> None:
    wanted = Search("seal")
    hits = found(archive, wanted, 1000).hits
    with archive.reading() as session:
        facets = facets_of(session, wanted, search(session, wanted, look_at=LOOKED_AT))
    assert facets.hits == len(hits)
    for pump_type, count in facets.pump_type:
        assert sum(hit.record.pump_type == pump_type for hit in hits) == count
    for part, count in facets.part:
        assert sum(any(entry.part == part for entry in hit.entries) for hit in hits) == count
    for name, count in facets.action:
        narrowed = found(archive, replace(wanted, action=name), 1000).hits
        assert len(narrowed) == count
    assert facets.technician == sorted(facets.technician)


def test_equals_are_offered_by_name(archive: Database) -> None:
    with archive.reading() as session:
        facets = facets_of(session, Search("seal"), search(session, Search("seal"), look_at=LOOKED_AT))
    for counted in (facets.pump_type, facets.part, facets.condition, facets.action, facets.stage):
        assert counted == sorted(counted, key=lambda one: (-one[1], one[0]))
    assert len({count for _, count in facets.part}) < len(facets.part)


def test_what_was_said_in_a_record_is_numbered_in_its_order_without_another_between(
    archive: Database,
) -> None:
    with archive.reading() as session:
        said = select(ArchivedUtterance.record_id, ArchivedUtterance.number).order_by(ArchivedUtterance.id)
        rows = [(record, number) for record, number in session.execute(said)]
    assert [list(each) for _, each in groupby(rows, key=lambda one: one[0])] == [
        sorted(each for each in rows if each[0] == record) for record in dict(rows)
    ]
    assert len(dict(rows)) == 31


def test_with_nothing_asked_facets_are_of_the_whole_archive(archive: Database) -> None:
    with archive.reading() as session:
        facets = facets_of(session, Search(), search(session, Search()))
    assert sum(count for _, count in facets.pump_type) == 31
    assert "seal" in [part for part, _ in facets.part]


def test_a_query_is_read_as_phrases_the_trade_knows() -> None:
    forms = [term.forms[0] for term in terms_of('rotating face "as is" -hot worn')]
    assert forms == [("rotating", "face"), ("as", "is"), ("hot",), ("worn",)]
    assert len(terms_of("word " * 500)) <= 12
