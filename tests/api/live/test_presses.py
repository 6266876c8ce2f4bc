"""Presses of buttons and keys as they come from a browser, and their journal."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.live.presses import ORDERS, Press, PressJournal, press_from, presses_in


@pytest.mark.parametrize("order", [order for order in ORDERS if order != "answer"])
def test_an_order_is_read_and_stands_for_words(order: str) -> None:
    press = press_from(json.dumps({"type": "press", "order": order, "about": "r1", "words": "anything"}))
    assert press is not None
    assert (press.order, press.about, press.words) == (order, "r1", "")
    spoken = press.utterance("001")
    assert spoken.text
    assert spoken.text != "anything"
    assert (spoken.engine, spoken.recording) == ("pressed", "001")


def test_an_answer_brings_its_words_and_its_question() -> None:
    press = press_from('{"type": "press", "order": "answer", "about": "r1", "words": "the second choice"}')
    assert press == Press("answer", "r1", "the second choice")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "flush",
        "{",
        "[]",
        "null",
        '{"type": "press"}',
        '{"type": "press", "order": "sign"}',
        '{"type": "press", "order": ["pause"]}',
        '{"type": "press", "order": "answer", "about": "r1", "words": "front clearance thirty"}',
        '{"type": "press", "order": "answer", "words": "yes"}',
    ],
)
def test_what_is_no_press_is_none(text: str) -> None:
    assert press_from(text) is None


def test_presses_are_there_when_the_journal_is_opened_again(tmp_path: Path) -> None:
    path = tmp_path / "presses.journal"
    pressed = [Press("pause", by="tom", after=2, at_s=7.5), Press("answer", "r1", "yes")]
    journal = PressJournal(path)
    for press in pressed:
        journal.append(press)
    journal.close()
    with path.open("ab") as file:
        file.write(b"torn")
    assert presses_in(path) == pressed


def test_a_damaged_journal_is_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "presses.journal"
    path.write_bytes(b"no journal at all" * 10)
    assert presses_in(path) == []
    assert path.with_name("presses.journal.damaged").exists()
