"""How the bench reckons when an entry was shown."""

from __future__ import annotations

from typing import Any

import pytest

from bench.live_timing import Told, figures_of, phrases_of

TRUTH = [
    {"start_s": 1.0, "end_s": 2.0},
    {"start_s": 4.0, "end_s": 6.0},
    {"start_s": 8.0, "end_s": 9.0},
]


def line(number: str, value: str, mark: str = "within") -> dict[str, Any]:
    return {"id": number, "kind": "reading", "what": "Clearance, vane one", "value": value, "mark": mark}


def heard(at: float, ended_s: float, *lines: dict[str, Any]) -> tuple[float, dict[str, Any]]:
    return at, {"type": "heard", "ended_s": ended_s, "board": {"lines": list(lines)}}


def early(at: float, ended_s: float, *lines: dict[str, Any]) -> tuple[float, dict[str, Any]]:
    return at, {"type": "early", "ended_s": ended_s, "lines": [{"at_s": ended_s, **one} for one in lines]}


def test_seconds_are_reckoned_from_the_true_end_of_the_phrase() -> None:
    told = Told(began=100.0, messages=[heard(103.5, 2.25, line("r1", "18")), heard(108.0, 6.25)])
    (phrase,) = phrases_of(told, TRUTH)
    assert phrase.final_s == phrase.first_s == phrase.stood_s == pytest.approx(1.5)
    assert phrase.length_s == 1.0
    assert not phrase.early


def test_what_was_shown_before_counts_from_then_and_only_where_it_stayed_so_as_standing() -> None:
    first, second = line("r1", "18"), line("r2", "13")
    told = Told(
        began=0.0,
        messages=[
            early(2.5, 2.2, line("p1", "18")),
            heard(4.0, 2.25, first),
            early(6.4, 6.2, line("p2", "30")),
            heard(8.0, 6.25, second, first),
        ],
    )
    agreed, differs = phrases_of(told, TRUTH)
    assert (agreed.first_s, agreed.stood_s, agreed.agreed) == (pytest.approx(0.5), pytest.approx(0.5), True)
    assert (differs.first_s, differs.stood_s) == (pytest.approx(0.4), pytest.approx(2.0))
    figures = figures_of([agreed, differs])
    assert figures["provisional_agreed"] == 0.5
    assert figures["shown_provisionally"] == figures["phrases_with_entries"] == 2
    assert figures["first_to_final_only"] < 0.3


def test_what_was_shown_of_the_phrase_before_is_not_of_this_one() -> None:
    told = Told(messages=[early(2.5, 2.2, line("p1", "18")), heard(8.0, 6.25, line("r2", "18"))])
    (phrase,) = phrases_of(told, TRUTH)
    assert not phrase.early
    assert phrase.first_s == pytest.approx(2.0)
