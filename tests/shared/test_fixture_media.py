"""The committed recordings, pictures and video: they open, are small, and are what the sidecars say."""

from __future__ import annotations

import csv
import json
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from fixtures.make_pictures import JOB, MOST_BYTES, SHOTS
from fixtures.narration_files import (
    PICTURES,
    REBUILDS,
    RECORDINGS,
    VIDEO,
    Spoken,
    read_expected,
    read_narration,
    read_times,
    utterance_of,
)
from fixtures.speak import VIDEO_VOICE, VOICES, speak
from tests.conftest import need_program

FILES = {name: RECORDINGS / f"{name}{VOICES[name].ending}" for name in REBUILDS} | {
    VIDEO: RECORDINGS / f"{VIDEO}.mp4"
}
RATE_HZ = 16_000


@cache
def _sound(path: Path) -> NDArray[np.float64]:
    resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE_HZ)
    with av.open(str(path)) as container:
        frames = [out for frame in container.decode(audio=0) for out in resampler.resample(frame)]
        frames += resampler.resample(None)
    return np.concatenate([frame.to_ndarray()[0] for frame in frames]) / 32768.0


def _level_db(sound: NDArray[np.float64], spans: list[tuple[float, float]]) -> float:
    heard = np.concatenate([sound[round(a * RATE_HZ) : round(b * RATE_HZ)] for a, b in spans])
    return float(10 * np.log10(np.mean(heard**2)))


def _pauses(spoken: tuple[Spoken, ...]) -> list[tuple[float, float]]:
    return [(before.end_s + 0.1, after.start_s - 0.1) for before, after in pairwise(spoken)]


@pytest.mark.parametrize(("name", "most_bytes"), [*((n, 1_200_000) for n in REBUILDS), (VIDEO, 2_500_000)])
def test_recording_is_small_and_minutes_long(name: str, most_bytes: int) -> None:
    assert FILES[name].stat().st_size < most_bytes
    length_s = len(_sound(FILES[name])) / RATE_HZ
    assert (60 if name == VIDEO else 180) <= length_s <= (90 if name == VIDEO else 360)


@pytest.mark.parametrize("name", FILES)
def test_sidecar_tells_the_narration_in_order_within_the_recording(name: str) -> None:
    spoken, lines = read_times(name), read_narration(name)
    assert [s.text for s in spoken] == [line.text for line in lines]
    edges = [edge for s in spoken for edge in (s.start_s, s.end_s)]
    assert edges == sorted(edges)
    assert edges[-1] < len(_sound(FILES[name])) / RATE_HZ
    for (start, end), line in zip(_pauses(spoken), lines, strict=False):
        assert end - start + 0.2 == pytest.approx(line.pause_s, abs=0.002)


@pytest.mark.parametrize("name", ["wash-water-end-suction", "wash-water-split-case", VIDEO])
def test_quiet_recordings_are_loud_where_the_sidecar_says_so(name: str) -> None:
    spoken, sound = read_times(name), _sound(FILES[name])
    speech_db = _level_db(sound, [(s.start_s, s.end_s) for s in spoken])
    assert speech_db - _level_db(sound, _pauses(spoken)) > 30
    for s in spoken:
        assert _level_db(sound, [(s.start_s, s.end_s)]) > speech_db - 6


def test_shop_noise_lies_ten_decibels_under_the_speech() -> None:
    # The pauses hold the noise alone; it comes and goes, so their level is near its mean, not equal.
    name = "booster-multistage"
    spoken, sound = read_times(name), _sound(FILES[name])
    noise_db = _level_db(sound, _pauses(spoken))
    both = 10 ** (_level_db(sound, [(s.start_s, s.end_s) for s in spoken]) / 10)
    speech_db = 10 * np.log10(both - 10 ** (noise_db / 10))
    assert speech_db - noise_db == pytest.approx(10.0, abs=1.5)


@pytest.mark.parametrize("name", FILES)
def test_speaking_again_gives_the_same_times(name: str) -> None:
    need_program("flite")
    sound, spoken = speak(read_narration(name)[:3], VOICES.get(name, VIDEO_VOICE))
    assert len(sound) > 0
    assert spoken == read_times(name)[:3]


def _sharpness(picture: NDArray[np.uint8]) -> float:
    """Spread of the Laplacian: what a lens out of focus takes away."""
    return float(cv2.Laplacian(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), cv2.CV_64F).var())


def _picture(name: str) -> NDArray[np.uint8]:
    picture = cv2.imread(str(PICTURES / name), cv2.IMREAD_COLOR)
    assert picture is not None
    return np.asarray(picture, dtype=np.uint8)


@pytest.mark.parametrize(("name", "camera"), [(name, camera) for name, _, camera in SHOTS])
def test_picture_shows_what_its_camera_did(name: str, camera: Any) -> None:
    assert (PICTURES / name).stat().st_size < MOST_BYTES
    picture = _picture(name)
    assert picture.shape == (960, 1280, 3)
    burnt = float(np.mean(picture.min(axis=2) > 250))
    assert (burnt > 0.15) is (camera.exposure > 1)
    assert (float(picture.mean()) < 30) is (camera.exposure < 1)
    if camera.exposure == 1:
        assert (_sharpness(picture) < 10) is (camera.blur_px > 5)


def test_photo_list_assigns_two_and_leaves_one_to_the_words_nearest_in_time() -> None:
    folder = PICTURES / JOB
    with (folder / "photos.csv").open(encoding="utf-8") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    expected = {photo["picture"]: photo for photo in read_expected(JOB)["photos"]}
    assert set(expected) == {path.name for path in folder.glob("*.jpg")}
    by_list = {name: photo for name, photo in expected.items() if photo["by"] == "photos_csv"}
    assert by_list
    assert all((rows[n]["of"], rows[n]["stage"]) == (p["of"], p["stage"]) for n, p in by_list.items())
    (lone,) = [name for name, photo in expected.items() if photo["by"] == "narration"]
    assert rows[lone]["of"] == rows[lone]["stage"] == ""
    at = float(rows[lone]["time_s"])
    nearest = min(enumerate(read_times(JOB)), key=lambda n: max(n[1].start_s - at, at - n[1].end_s, 0))[0]
    snapshots = [e for e in read_expected(JOB)["events"] if e["event"] == "snapshot"]
    (asked,) = [e for e in snapshots if utterance_of(JOB, e["words"]) == nearest]
    assert asked["part"] == expected[lone]["of"]


@cache
def _video() -> tuple[tuple[float, float], ...]:
    """Return time and sharpness of each frame."""
    with av.open(str(FILES[VIDEO])) as container:
        assert container.streams.video[0].codec_context.name == "h264"
        return tuple(
            (float(frame.time), _sharpness(frame.to_ndarray(format="bgr24")))
            for frame in container.decode(video=0)
        )


@pytest.mark.parametrize("asked", [e for e in read_expected(VIDEO)["events"] if e["event"] == "snapshot"],
                         ids=lambda e: e["part"])  # fmt: skip
def test_part_is_in_view_and_once_sharp_while_its_picture_is_asked_for(asked: dict[str, str]) -> None:
    content = json.loads((RECORDINGS / f"{VIDEO}.times.json").read_text("utf-8"))
    (view,) = [v for v in content["in_view"] if v["of"] == asked["part"]]
    said = read_times(VIDEO)[utterance_of(VIDEO, asked["words"])]
    assert view["from_s"] <= said.start_s
    assert view["to_s"] >= said.end_s + 3
    after = [sharp for time_s, sharp in _video() if said.end_s <= time_s <= said.end_s + 4]
    assert max(after) > 3 * min(after)
