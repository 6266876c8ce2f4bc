"""A shop's own job sheets beside those that come with the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.store.shop_sheets import sheets_of
from shared.errors import SheetNotFound
from shared.job_sheet import find_sheet, shipped_sheet_ids

SHIPPED = "wash-water-end-suction"


def own_sheet(folder: Path, name: str, sheet_id: str, title: str) -> None:
    lines = find_sheet(SHIPPED).read_text(encoding="utf-8").splitlines()
    told = {"id": sheet_id, "title": title}
    changed = [f"{key}: {told[key]}" if (key := line.partition(":")[0]) in told else line for line in lines]
    (folder / "sheets").mkdir(exist_ok=True)
    (folder / "sheets" / f"{name}.yaml").write_text("\n".join(changed), encoding="utf-8")


def test_without_own_sheets_there_are_the_shipped_ones(tmp_path: Path) -> None:
    assert tuple(sheets_of(tmp_path).sheets) == shipped_sheet_ids()


def test_an_own_sheet_stands_beside_and_in_place_of_a_shipped_one(tmp_path: Path) -> None:
    own_sheet(tmp_path, "pit-sump", "pit-sump", "Sump pump of the pit")
    own_sheet(tmp_path, SHIPPED, SHIPPED, "As we do it here")
    known = sheets_of(tmp_path)
    assert known.get("pit-sump").title == "Sump pump of the pit"
    assert known.get(SHIPPED).title == "As we do it here"
    assert tuple(known.sheets) == tuple(sorted({*shipped_sheet_ids(), "pit-sump"}))
    assert known.wrong == ()


def test_a_sheet_with_a_slip_is_told_and_keeps_nobody_from_the_others(tmp_path: Path) -> None:
    own_sheet(tmp_path, "renamed", "pit-sump", "Sump pump of the pit")
    (tmp_path / "sheets" / "broken.yaml").write_text("id: broken\ntitle: [", encoding="utf-8")
    known = sheets_of(tmp_path)
    assert tuple(known.sheets) == shipped_sheet_ids()
    assert ["broken.yaml" in known.wrong[0], "renamed.yaml" in known.wrong[1]] == [True, True]


@pytest.mark.parametrize("asked", [None, "", "../sheets/x", f"../{SHIPPED}", "/etc/passwd"])
def test_only_a_known_id_is_a_sheet(tmp_path: Path, asked: str | None) -> None:
    with pytest.raises(SheetNotFound):
        sheets_of(tmp_path).get(asked)
