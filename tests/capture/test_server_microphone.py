"""A microphone at the server, through the real PortAudio and ALSA; one that is gone says so in one line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.capture.sound_card import SoundCard, in_own_process

TAKE = """
import json, os, time
import numpy as np
from capture.server_microphone import ServerMicrophone
from shared.errors import MicrophoneFailed
rate, channels = {rate}, {channels}
if rate:
    ServerMicrophone._way_in = lambda self: (rate, channels)
microphone, got, began, line = ServerMicrophone("bench_micro"), [], time.monotonic(), ""
try:
    for piece in microphone.pieces():
        got.append(piece.samples)
        if len(got) == {most}:
            break
except MicrophoneFailed as exc:
    line = str(exc)
took = time.monotonic() - began
assert all(len(one) == 1600 and one.dtype == np.int16 for one in got)
sound = np.concatenate(got) if got else np.empty(0, np.int16)
print(json.dumps(dict(line=line, took=took, settings=microphone.settings, sound=sound.tolist())), flush=True)
os._exit(0)  # the pipe has nobody who writes any more: ALSA would wait for him
"""


@pytest.fixture
def card(tmp_path: Path) -> Iterator[SoundCard]:
    made = SoundCard(tmp_path)
    yield made
    made.close()


def tone(hz: float, seconds: float, rate_hz: int) -> np.ndarray:
    at = np.arange(round(seconds * rate_hz)) / rate_hz
    return np.asarray(8000 * np.sin(2 * np.pi * hz * at), np.int16)


def taken(card: SoundCard, most: int, rate: int = 0, channels: int = 0) -> dict:
    done = in_own_process(card, TAKE.format(most=most, rate=rate, channels=channels))
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_what_is_said_comes_in_as_it_was_in_real_time(card: SoundCard) -> None:
    counted = np.arange(1, 16001, dtype=np.int16)  # no sample is like another: order and gaps would show
    card.speak(counted, again=True)
    told = taken(card, most=20)
    sound = np.array(told["sound"])
    assert 1.2 < told["took"] < 4
    assert set(np.diff(sound[-8000:])) <= {1, -15999}
    assert told["settings"]["device"] == "bench_microphone"
    assert (told["settings"]["rate"], told["settings"]["channels"]) == (16000, 1)


def test_a_device_of_another_rate_is_brought_to_ours(card: SoundCard) -> None:
    left = tone(1000, 1, 48000)
    card.speak(np.stack([left, np.zeros_like(left)], axis=1), 48000, again=True)
    told = taken(card, most=15, rate=48000, channels=2)
    assert told["settings"]["rate"] == 48000
    sound = np.array(told["sound"])[-8000:]
    spectrum = np.abs(np.fft.rfft(sound))
    assert np.argmax(spectrum) == 500  # bins of 2 Hz
    assert np.abs(sound).max() == pytest.approx(8000, rel=0.05)


@pytest.mark.long
def test_one_that_gives_nothing_any_more_says_so(card: SoundCard) -> None:
    card.speak(tone(440, 5, 16000))
    told = taken(card, most=100)
    assert "gives no sound" in told["line"]
    assert len(told["sound"]) >= 8000
    assert "\n" not in told["line"]


def test_one_that_is_not_there_says_so_in_one_line(card: SoundCard) -> None:
    done = in_own_process(
        card, "from capture.server_microphone import ServerMicrophone as S\ntry: S('absent')\n"
        "except Exception as exc: print(type(exc).__name__, exc)",
    )  # fmt: skip
    assert done.stdout.startswith("MicrophoneFailed the server's microphone 'absent' is not there")
    assert "witnessmark microphones" in done.stdout


def test_the_command_lists_what_there_is(card: SoundCard) -> None:
    run = "import sys; from api.cli import run; sys.exit(run(['microphones', *sys.argv[1:]]))"
    assert "bench_microphone  (ALSA" in in_own_process(card, run).stdout
    found = json.loads(in_own_process(card, run.replace("*sys.argv[1:]", "'--json'")).stdout)
    assert [one["name"] for one in found] == ["bench_microphone"]


def test_without_portaudio_one_line_says_what_to_install() -> None:
    run = (
        "import sys; sys.modules.pop('sounddevice', None)\n"
        "import ctypes.util; ctypes.util.find_library = lambda name: None\n"
        "from api.cli import run; sys.exit(run(['microphones']))"
    )
    done = in_own_process(None, run)
    assert done.returncode == 2
    assert "libportaudio2" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
