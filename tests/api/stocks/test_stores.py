"""What the stores are told: what was used, what will be wanted, and what has to be asked."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest

from api.history.rebuilds import PumpName
from api.stocks.pick_list import kits_on_hand, pick_list
from api.stocks.stock_csv import pick_csv, usage_csv
from api.stocks.stock_numbers import StockList, keep_count, keep_number
from api.stocks.usage import Period, usage
from api.stocks.waiting import shorts_of, waiting_orders
from api.store.accounts import make_account
from api.store.job_tags import keep_tag
from api.store.tables import Account
from shared.errors import StockRefused
from shared.job_sheet import load_job_sheet
from tests.api.history.filed import BEGIN, SHEET_ID, Archive, part

SHEET = load_job_sheet(SHEET_ID)
WHOLE = Period(BEGIN - timedelta(hours=6), BEGIN + timedelta(days=999))


@pytest.fixture
def keeper(archive: Archive) -> Account:
    return make_account(
        archive.session, name="sam", shown_name="Sam Reyes", roles=["stores"], secret=None, now=BEGIN
    )


def test_what_was_used_counts_once_a_rebuild(archive: Archive) -> None:
    archive.rebuild(
        "P-1", 0, part("seal", "renewed"), part("seal", "renewed"), part("rotating_face", "renewed"),
        part("lip_seals", "renewed"), part("casing_bolts", "renewed", quantity=3.0),
        part("shaft", "reused"), part("impeller", "renewed", fate="struck"),
        {"kind": "consumable", "what": "grease"},
    )  # fmt: skip
    archive.rebuild("P-2", 5, part("seal", "renewed"), part("lip_seals", "renewed", quantity=1.0))
    archive.rebuild("P-3", 5, part("seal", "renewed"), stands=False)
    archive.rebuild("P-3", 1200, part("seal", "renewed"))
    found = usage(archive.session, WHOLE)
    told = {one.name: (one.rebuilds, one.pieces, one.as_sheet) for one in found.used}
    # Lip seals: the sheet's two, then the one that was said. The seal's face came in the seal's box.
    assert told == {
        "seal": (2, 2, 2), "lip_seals": (2, 3, 2), "casing_bolts": (1, 3, 0), "grease": (1, 0, 0),
    }  # fmt: skip
    assert next(one.kept.number for one in found.used if one.name == "seal" and one.kept) == "W-208"
    assert found.doubts == []
    rows = {one["name"]: one for one in csv.DictReader(io.StringIO(usage_csv(found.used)))}
    assert (rows["lip_seals"]["pieces"], rows["lip_seals"]["pieces_as_the_sheet_has"]) == ("3", "2")
    assert (rows["grease"]["pieces"], rows["grease"]["stock_number"]) == ("", "")


@pytest.mark.parametrize(
    ("entries", "text"),
    [
        ([part("seal", "renewed") | {"needs_review": True}], "seal: what was said of a new one is not sure"),
        ([part("seal", "fitted")], "seal: fitted, but nobody said whether it was new"),
        (
            [part("lip_seals", "renewed", quantity=1.0), part("lip_seals", "renewed", quantity=4.0)],
            "lip seals: 1 and 4 were said; 4 are counted",
        ),
    ],
)
def test_what_is_not_sure_is_asked(archive: Archive, entries: list[dict[str, object]], text: str) -> None:
    archive.rebuild("P-1", 0, *entries)
    (doubt,) = usage(archive.session, WHOLE).doubts
    assert doubt.text.startswith(text)
    assert doubt.work_order == "WO 1"


def test_used_without_a_stock_number_is_a_question_until_one_is_entered(
    archive: Archive, keeper: Account
) -> None:
    archive.rebuild("P-1", 0, part("lock_screws", "renewed"))
    assert [one.name for one in usage(archive.session, WHOLE).numberless] == ["lock_screws"]
    entered = {"sheet_id": SHEET_ID, "kind": "part", "name": "lock_screws", "by": keeper, "now": BEGIN}
    keep_number(archive.session, number=" F-38  A ", **entered)  # type: ignore[arg-type]
    found = usage(archive.session, WHOLE)
    assert found.numberless == []
    assert found.used[0].kept is not None
    assert found.used[0].kept.number == "F-38 A"
    # What the stores enter goes before the sheet's own.
    keep_number(archive.session, number="X-1", **{**entered, "name": "seal"})  # type: ignore[arg-type]
    kept = StockList(archive.session).kept(SHEET, SHEET_ID, "part", "seal")
    assert kept is not None
    assert kept.number == "X-1"


@pytest.mark.parametrize("typed", ["-1", "4,5", "a few", "nan", "1e9"])
def test_an_amount_that_is_none_is_refused(archive: Archive, keeper: Account, typed: str) -> None:
    with pytest.raises(StockRefused, match="no amount on hand"):
        keep_count(archive.session, "W-208", typed, by=keeper, now=BEGIN)


def test_a_pick_list_follows_the_sheet_and_what_this_pump_wanted_before(archive: Archive) -> None:
    for n in range(4):
        worn = [part("wear_plate", "renewed")] if n else []
        archive.rebuild("P-1", 100 * n, part("seal", "renewed"), *worn)
        archive.rebuild("P-2", 100 * n, part("seal", "renewed"))
    picks = pick_list(archive.session, SHEET, PumpName("P-1"))
    sure = [one.name for one in picks if one.sure and one.kind == "part"]
    # Against the sheet itself: what it renews, but not what comes in the seal's box.
    inner = set(SHEET.covered_by("seal"))
    assert sure == [one.part for one in SHEET.parts if one.policy == "renew" and one.part not in inner]
    assert [(one.name, one.why) for one in picks if not one.sure] == [
        ("wear_plate", "renewed in 3 of this pump's last 4 rebuilds")
    ]
    assert [one.name for one in picks if one.kind == "consumable"] == [one.name for one in SHEET.consumables]
    assert [one.name for one in pick_list(archive.session, SHEET, PumpName("P-2")) if not one.sure] == []
    table = list(csv.DictReader(io.StringIO(pick_csv(picks))))
    assert next(one["sure"] for one in table if one["name"] == "wear_plate") == "perhaps"


def test_kits_and_what_is_short_for_what_waits(archive: Archive, keeper: Account) -> None:
    for order in ("WO 71", "WO 72"):
        keep_tag(archive.session, work_order=order, pump_tag="P-1", sheet_id=SHEET_ID, by=keeper, now=BEGIN)
    kits, uncounted = kits_on_hand(pick_list(archive.session, SHEET, None))
    assert kits is None
    assert "seal" in [one.name for one in uncounted]
    for one in SHEET.parts:
        if one.policy == "renew" and one.stock_number:
            keep_count(archive.session, one.stock_number, "9", by=keeper, now=BEGIN)
    keep_count(archive.session, "L-45-62", "3", by=keeper, now=BEGIN)
    kits, least = kits_on_hand(pick_list(archive.session, SHEET, None))
    # Two lip seals a rebuild, three on hand: one kit.
    assert (kits, [one.name for one in least]) == (1, ["lip_seals"])
    (short,) = shorts_of(waiting_orders(archive.session, {}))
    assert (short.number, short.wanted, short.on_hand) == ("L-45-62", 4, 3)
    assert short.work_orders == ("WO 71", "WO 72")
