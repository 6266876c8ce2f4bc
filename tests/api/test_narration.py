"""Narration text in its three forms."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from api.narration import PAUSE_S, TIMED, UNTIMED, WORD_S, parse_narration, read_narration
from shared.errors import NarrationUnreadable


def test_a_line_is_an_utterance_and_order_gives_nominal_times() -> None:
    first, second = parse_narration("front clearance\n\n# a remark\nvane one eighteen thou\n", "n.txt")
    assert (first.text, first.start_s, first.end_s) == ("front clearance", 0.0, 2 * WORD_S)
    assert (second.text, second.start_s) == ("vane one eighteen thou", 2 * WORD_S + PAUSE_S)
    assert {first.engine, second.engine} == {UNTIMED}
    assert first.recording == "n.txt"


@pytest.mark.parametrize(
    ("line", "start_s", "text"),
    [
        ("0:12 front clearance", 12.0, "front clearance"),
        ("[1:02] front clearance", 62.0, "front clearance"),
        ("1:02:03.5 front clearance", 3723.5, "front clearance"),
        ("  12:00   seal is out", 720.0, "seal is out"),
    ],
)
def test_a_leading_time_is_taken_off(line: str, start_s: float, text: str) -> None:
    (utterance,) = parse_narration(line, "n.txt")
    assert (utterance.start_s, utterance.text, utterance.engine) == (start_s, text, TIMED)


@pytest.mark.parametrize(
    "line", ["12 thousandths at vane one", "1.5 thou", "[sic] front clearance", "5027 is the work order"]
)
def test_a_leading_number_that_is_no_time_stays_in_the_words(line: str) -> None:
    (utterance,) = parse_narration(line, "n.txt")
    assert utterance.text == line


def test_our_yaml_keeps_pauses_and_times() -> None:
    text = (
        "- {text: seal is out, pause_s: 2.0}\n- {text: new seal, start_s: 9.5, end_s: 11}\n- {text: done}\n"
    )
    first, second, third = parse_narration(text, "n.yaml")
    assert first.end_s == pytest.approx(3 * WORD_S)
    assert (second.start_s, second.end_s, second.engine) == (9.5, 11.0, TIMED)
    assert third.start_s == 11.0 + PAUSE_S


def test_yaml_on_standard_input_is_known_by_its_form(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"# remark\n- {text: seal is out}\n")))
    (utterance,) = read_narration("-")
    assert (utterance.text, utterance.recording) == ("seal is out", "standard input")


def test_webvtt_cues_give_words_and_times() -> None:
    # Shape of the example file in W3C "WebVTT: The Web Video Text Tracks Format", section 1.1, from memory.
    text = (
        "WEBVTT - with a title\n\nNOTE\n00:00:00.000 --> is not a cue here\n\n"
        "1\n00:01.000 --> 00:04.000 line:0 position:20%\n<v Tech>front clearance</v>\nvane one\n\n"
        "01:00:09.250 --> 01:00:10.000\nless than &lt; 5 &amp; more\n\n00:05.000 --> 00:06.000\n\n"
    )
    first, second = parse_narration(text, "t.vtt")
    assert (first.text, first.start_s, first.end_s) == ("front clearance vane one", 1.0, 4.0)
    assert (second.text, second.start_s) == ("less than < 5 & more", 3609.25)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no utterance"),
        (b"\n\n# only a remark\n", "no utterance"),
        (b"WEBVTT\n\n", "no utterance"),
        (b"RIFF\xff\xfe\x00\x00WAVE", "not UTF-8"),
        (b"OggS\x00\x02", "zero bytes"),
        (b"x" * 5_000_001, "larger"),
    ],
    ids=["empty", "remarks", "no cues", "binary", "zero bytes", "too large"],
)
def test_a_file_that_is_no_narration_is_refused_in_one_line(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "n.txt"
    path.write_bytes(data)
    with pytest.raises(NarrationUnreadable, match=says) as refused:
        read_narration(str(path))
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("- {text: a", "not valid YAML"),
        ("- {said: a}", "text"),
        ("- {text: a, pause_s: -1}", "pause_s"),
        ("text: a", "list"),
        ("- {text: ''}", "text"),
    ],
)
def test_wrong_yaml_says_which_entry(text: str, says: str) -> None:
    with pytest.raises(NarrationUnreadable, match=says):
        parse_narration(text, "n.yaml")


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.txt", tmp_path):
        with pytest.raises(NarrationUnreadable, match="cannot be read"):
            read_narration(str(path))
