"""Positions that a sheet uses without saying what they are called."""

from __future__ import annotations

import pytest

from shared.position_names import complete_positions


@pytest.mark.parametrize(
    ("named", "used", "position", "forms"),
    [
        ({"1": ["one", "vane one"]}, ["1", "2"], "2", ["two", "vane two"]),
        ({"1": ["one"], "2": ["the second one"]}, ["3"], "3", ["three"]),
        ({"1": ["vane 1"]}, ["21"], "21", ["vane twenty one"]),
        ({}, ["4"], "4", ["four"]),
        ({"seal_area": []}, [], "seal_area", ["seal area"]),
        ({"1": ["one"]}, ["drive_end"], "drive_end", ["drive end"]),
        ({"1": ["one", "vane one"], "seal": ["at the seal"]}, ["2"], "2", ["two", "vane two"]),
    ],
)
def test_a_position_without_words_is_called_like_its_neighbours(
    named: dict[str, list[str]], used: list[str], position: str, forms: list[str]
) -> None:
    assert complete_positions(named, used)[position] == forms


def test_what_the_sheet_says_stays() -> None:
    named = {"1": ["one", "number one vane"], "2": ["deux"]}
    assert complete_positions(named, ["1", "2"]) == named
