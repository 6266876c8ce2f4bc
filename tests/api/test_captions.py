"""Captions: valid WebVTT, read back by another reader (PyAV's) as the outside check."""

from __future__ import annotations

from pathlib import Path

import av
import pytest

from api.captions import captions
from api.narration import parse_narration
from shared.speech import Utterance

TALK = [
    Utterance("front clearance", 1.0, 2.5),
    Utterance("vane one\neighteen & a half --> <b>thou</b>", 3.2504, 5.0),
    Utterance("", 6.0, 7.0),
    Utterance("no length", 3725.0, 3725.0),
]


def test_captions_follow_the_format() -> None:
    # W3C WebVTT 1, section 4: header, blank line, cue identifier, timings with three decimals, text.
    assert captions(TALK) == (
        "WEBVTT\n\n1\n00:00:01.000 --> 00:00:02.500\nfront clearance\n\n"
        "2\n00:00:03.250 --> 00:00:05.000\nvane one eighteen &amp; a half --&gt; &lt;b&gt;thou&lt;/b&gt;\n\n"
        "3\n01:02:05.000 --> 01:02:05.250\nno length\n"
    )


def test_another_reader_finds_the_same_cues(tmp_path: Path) -> None:
    path = tmp_path / "t.vtt"
    path.write_text(captions(TALK), "utf-8")
    with av.open(str(path)) as container:
        packets = [p for p in container.demux(container.streams.subtitles[0]) if p.pts is not None]
        starts = [round(float(p.pts * p.time_base), 2) for p in packets]
    assert container.format.name == "webvtt"
    assert starts == [1.0, 3.25, 3725.0]


def test_captions_come_back_as_they_went() -> None:
    back = parse_narration(captions(TALK), "t.vtt")
    assert [u.text for u in back] == [" ".join(u.text.split()) for u in TALK if u.text]


def test_cues_are_in_order_of_time() -> None:
    assert captions(reversed(TALK)) == captions(TALK)


def test_no_talk_gives_an_empty_but_valid_file() -> None:
    assert captions([]) == "WEBVTT\n"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.0006, "00:00:00.001"), (59.9996, "00:01:00.000"), (359999.0, "99:59:59.000")]
)
def test_rounding_carries_into_minutes(seconds: float, text: str) -> None:
    assert text in captions([Utterance("x", seconds, seconds + 1)])
