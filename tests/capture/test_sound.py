"""Any recording in, 16 kHz mono blocks with true times out."""

from __future__ import annotations

import hashlib
import math
import tracemalloc
import wave
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
import soxr

from capture.sound import BLOCK_SAMPLES, SoundReader, probe_sound, read_sound, sound_sha256
from capture.sound_decoding import SoundDecoder
from shared.errors import SoundEmpty, SoundError, SoundNotFound, SoundUnreadable
from tests.capture.sound_files import BEEPS_S, KINDS, SECONDS, beep_near, beeps, write_kind, write_recording

#: Formats that state no length and have no end mark: a cut between two of their frames cannot be seen.
UNSURE = {"mp3-without-count", "aac", "webm-live"}


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("recordings")
    return {kind: write_kind(folder, kind) for kind in KINDS}


def whole(reader: SoundReader) -> np.ndarray:
    return np.concatenate(list(reader))


def read_or_refuse(path: Path) -> tuple[SoundReader | None, np.ndarray, str]:
    """The reader and its sound, or the one line that says why there is none."""
    try:
        reader = read_sound(path)
        return reader, whole(reader), ""
    except SoundError as error:
        line = str(error)
    assert line.strip()
    assert "\n" not in line
    return None, np.zeros(0, np.int16), line


def write_wav(path: Path, sound: np.ndarray, rate_hz: int = 16000, channels: int = 1) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(sound.astype("<i2").tobytes())
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_every_container_gives_mono_blocks_at_true_times(recordings: dict[str, Path], kind: str) -> None:
    reader = read_sound(recordings[kind])
    blocks = list(reader)
    assert {block.dtype for block in blocks} == {np.dtype(np.int16)}
    assert {len(block) for block in blocks[:-1]} == {BLOCK_SAMPLES}
    assert 0 < len(blocks[-1]) <= BLOCK_SAMPLES
    sound = np.concatenate(blocks)
    # A stream without a header cannot say how much of its first frames is padding.
    slack_s = 0.06 if kind in {"mp3-without-count", "aac", "mp4-fragments"} else 0.015
    assert len(sound) / 16000 == pytest.approx(SECONDS, abs=slack_s + 0.02)
    assert [beep_near(sound, moment) for moment in BEEPS_S] == pytest.approx(BEEPS_S, abs=slack_s)
    assert (reader.tail.state, reader.damage) == ("whole", ())
    assert reader.tail.sure is (kind not in UNSURE)


@pytest.mark.parametrize("kind", KINDS)
def test_duration_is_known_or_unknown_but_never_wrong(recordings: dict[str, Path], kind: str) -> None:
    duration_s = read_sound(recordings[kind]).duration_s
    assert duration_s == pytest.approx(SECONDS, abs=0.1) if kind != "webm-live" else duration_s is None


def test_wav_at_16_khz_comes_through_to_the_bit(tmp_path: Path) -> None:
    """Outside check: the standard library's own ``wave`` reader."""
    sound = np.random.default_rng(3).integers(-32768, 32767, 40001).astype(np.int16)
    path = write_wav(tmp_path / "a.wav", sound)
    with wave.open(str(path), "rb") as file:
        expected = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    np.testing.assert_array_equal(whole(read_sound(path)), expected)


@pytest.mark.parametrize("rate_hz", [8000, 22050, 44100, 48000, 96000])
def test_resampling_agrees_with_a_reference_resampler(tmp_path: Path, rate_hz: int) -> None:
    """Outside check: libsoxr at its highest quality, on a sweep below both pass bands."""
    t = np.arange(rate_hz * 2) / rate_hz
    sweep = (12000 * np.sin(2 * np.pi * (200 * t + 700 * t**2))).astype(np.int16)
    ours = whole(read_sound(write_wav(tmp_path / "s.wav", sweep, rate_hz))).astype(float)
    reference = soxr.resample(sweep.astype(float), rate_hz, 16000, "VHQ")
    count = min(len(ours), len(reference))
    error = (ours[:count] - reference[:count])[200:-200]
    assert abs(len(ours) - len(reference)) <= 2
    assert np.sqrt(np.mean(error**2)) < 0.01 * 12000


@pytest.mark.parametrize(
    ("left", "right"), [(1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (1.0, -1.0), (0.7, -0.7)], ids=str
)
def test_a_dead_or_reversed_channel_does_not_silence_the_voice(
    tmp_path: Path, left: float, right: float
) -> None:
    voice = beeps(16000).astype(float)
    pair = np.stack([voice * left, voice * right], axis=1)
    sound = whole(read_sound(write_wav(tmp_path / "two.wav", pair, channels=2)))
    assert np.abs(sound).max() == pytest.approx(max(abs(left), abs(right)) * np.abs(voice).max(), rel=0.02)


def test_sound_that_begins_after_the_picture_keeps_its_time(tmp_path: Path) -> None:
    path = write_recording(tmp_path / "late.mp4", "aac", beeps(48000), 48000, start_s=1.5, picture_frames=80)
    reader = read_sound(path)
    sound = whole(reader)
    assert beep_near(sound, 1.5 + BEEPS_S[0]) == pytest.approx(1.5 + BEEPS_S[0], abs=0.03)
    assert not np.any(sound[: 16000 * 5 // 4])
    assert reader.traits.has_video


@pytest.mark.parametrize("from_sample", [1, 7999, 8000, 50001, 96000, 10**9])
def test_reading_from_a_sample_on_gives_the_same_bits(recordings: dict[str, Path], from_sample: int) -> None:
    reader = read_sound(recordings["ogg-opus"])
    rest = [*reader.blocks(from_sample), np.zeros(0, np.int16)]
    np.testing.assert_array_equal(np.concatenate(rest), whole(reader)[from_sample:])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("share", [0.02, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 0.999])
def test_a_cut_recording_never_looks_whole(
    recordings: dict[str, Path], tmp_path: Path, kind: str, share: float
) -> None:
    data = recordings[kind].read_bytes()
    path = tmp_path / recordings[kind].name
    path.write_bytes(data[: int(len(data) * share)])
    reader, sound, error = read_or_refuse(path)
    if reader is None:
        assert str(path) in error
        # Without its index an MP4 or MOV gives nothing; the others give what came before the cut.
        assert share < 0.05 or kind in {"m4a", "mov"}
        return
    assert reader.tail.state == "cut" or not reader.tail.sure
    assert reader.tail.saved_s == len(sound) / 16000
    assert reader.tail.state == "whole" or reader.tail.said
    # All of what is there is saved: no more than an Ogg page (a second) is missing before the cut.
    assert len(sound) / 16000 == pytest.approx(SECONDS * share, abs=1.1)
    for moment in BEEPS_S:
        if moment < len(sound) / 16000 - 0.2:
            assert beep_near(sound, moment) == pytest.approx(moment, abs=0.06)


@pytest.mark.parametrize("kind", ["wav", "flac", "ogg-opus", "mp3", "m4a-index-first", "webm"])
def test_a_cut_at_the_last_byte_is_seen(recordings: dict[str, Path], tmp_path: Path, kind: str) -> None:
    path = tmp_path / recordings[kind].name
    path.write_bytes(recordings[kind].read_bytes()[:-1])
    reader = read_sound(path)
    whole(reader)
    assert reader.tail.state == "cut"
    assert str(reader.tail).startswith("cut off: ")


@pytest.mark.parametrize(
    "kind", ["flac", "ogg-opus", "mp3", "mp3-without-count", "m4a", "mov", "webm", "webm-live"]
)
def test_a_damaged_stretch_is_reported_and_later_times_stay_true(
    recordings: dict[str, Path], tmp_path: Path, kind: str
) -> None:
    data = bytearray(recordings[kind].read_bytes())
    middle = len(data) // 2
    garbage = np.random.default_rng(5).bytes(len(data) // 20)
    data[middle : middle + len(garbage)] = garbage
    path = tmp_path / recordings[kind].name
    path.write_bytes(data)
    reader = read_sound(path)
    sound = whole(reader)
    assert reader.damage_count == len(reader.damage) > 0
    first, last = reader.damage[0], reader.damage[-1]
    assert 2.0 < first.start_s < 4.2
    assert first.said
    assert beep_near(sound, 5.5) == pytest.approx(5.5, abs=0.06)
    assert beep_near(sound, 1.25) == pytest.approx(1.25, abs=0.06)
    assert first.start_s <= last.end_s < 5.5


@pytest.mark.parametrize("cluster", [0, 1, 3])
@pytest.mark.parametrize("wrong_ms", [0, 1500, 60_000], ids=["too early", "near", "too late"])
def test_a_wrong_time_stamp_moves_nothing(
    recordings: dict[str, Path], tmp_path: Path, cluster: int, wrong_ms: int
) -> None:
    """The time of a whole cluster is damaged; those around it tell what is true."""
    data = bytearray(recordings["webm-live"].read_bytes())
    at = -1
    for _ in range(cluster + 1):
        at = data.index(b"\x1f\x43\xb6\x75", at + 1)
    stamp = data.index(0xE7, at + 4)  # element Timestamp (RFC 9559 section 5.1.3.1), length, big-endian ms
    length = data[stamp + 1] & 0x7F
    data[stamp + 2 : stamp + 2 + length] = (wrong_ms & (1 << 8 * length) - 1).to_bytes(length, "big")
    path = tmp_path / "stamp.webm"
    path.write_bytes(data)
    reader = read_sound(path)
    sound = whole(reader)
    assert len(sound) / 16000 == pytest.approx(SECONDS, abs=0.1)
    assert [beep_near(sound, moment) for moment in BEEPS_S] == pytest.approx(BEEPS_S, abs=0.03)


def test_a_damaged_stretch_of_raw_aac_is_reported_with_estimated_times(
    recordings: dict[str, Path], tmp_path: Path
) -> None:
    data = bytearray(recordings["aac"].read_bytes())
    data[len(data) // 2 : len(data) // 2 + 2000] = np.random.default_rng(5).bytes(2000)
    path = tmp_path / "raw.aac"
    path.write_bytes(data)
    reader = read_sound(path)
    whole(reader)
    assert "times after it are estimated" in reader.damage[0].said


def test_bit_flips_in_flac_are_always_seen(recordings: dict[str, Path], tmp_path: Path) -> None:
    data = recordings["flac"].read_bytes()
    random = np.random.default_rng(11)
    clean = whole(read_sound(recordings["flac"]))
    for _ in range(25):
        flipped = bytearray(data)
        flipped[int(random.integers(9000, len(data)))] ^= 1 << int(random.integers(8))
        path = tmp_path / "flip.flac"
        path.write_bytes(flipped)
        reader = read_sound(path)
        sound = whole(reader)
        same = len(sound) == len(clean) and np.array_equal(sound, clean)
        assert same or reader.damage or reader.tail.state == "cut"


@pytest.mark.parametrize("kind", KINDS)
def test_damage_anywhere_gives_sound_or_one_clear_line(
    recordings: dict[str, Path], tmp_path: Path, kind: str
) -> None:
    data = recordings[kind].read_bytes()
    random = np.random.default_rng(13)
    for _ in range(6):
        damaged = bytearray(data)
        for at in random.integers(0, len(data), 30):
            damaged[int(at)] = int(random.integers(256))
        path = tmp_path / recordings[kind].name
        path.write_bytes(damaged)
        _, sound, error = read_or_refuse(path)
        assert error or 0 < len(sound) < 16000 * 60


def test_a_wav_that_its_recorder_never_closed_is_read_and_named(tmp_path: Path) -> None:
    data = bytearray(write_wav(tmp_path / "a.wav", beeps(16000)).read_bytes())
    data[40:44] = bytes(4)
    path = tmp_path / "open.wav"
    path.write_bytes(data)
    reader = read_sound(path)
    assert len(whole(reader)) == 96000
    assert reader.tail.state == "cut"
    assert "never closed" in reader.tail.said


def test_a_wav_from_a_pipe_is_read_without_complaint_but_not_vouched_for(tmp_path: Path) -> None:
    data = bytearray(write_wav(tmp_path / "a.wav", beeps(16000)).read_bytes())
    data[40:44] = b"\xff" * 4
    path = tmp_path / "pipe.wav"
    path.write_bytes(data)
    reader = read_sound(path)
    whole(reader)
    assert (reader.tail.state, reader.tail.sure) == ("whole", False)


def test_two_recordings_in_one_ogg_file_are_both_read(tmp_path: Path) -> None:
    """Chained streams (RFC 3533 section 4), the second with a time stamp that starts anew."""
    first = write_recording(tmp_path / "1.ogg", "libopus", beeps(48000, 2.0, (1.0,)), 48000)
    second = write_recording(tmp_path / "2.ogg", "libopus", beeps(48000, 2.0, (1.0,)), 48000)
    path = tmp_path / "both.ogg"
    path.write_bytes(first.read_bytes() + second.read_bytes())
    sound = whole(read_sound(path))
    assert len(sound) / 16000 == pytest.approx(4.0, abs=0.05)
    assert [beep_near(sound, s) for s in (1.0, 3.0)] == pytest.approx([1.0, 3.0], abs=0.05)


@pytest.mark.parametrize(
    ("name", "data", "error", "says"),
    [
        ("nothing.wav", b"", SoundEmpty, "the file is empty"),
        ("text.wav", b"front clearance thirty one\n" * 9, SoundUnreadable, "this is text"),
        ("utf16.wav", "vane one".encode("utf-16"), SoundUnreadable, "this is text"),
        ("sheets.wav", b"PK\x03\x04" + bytes(900), SoundUnreadable, "this is a zip archive"),
        ("scan.mp3", b"%PDF-1.7\n" + bytes(900), SoundUnreadable, "this is a PDF document"),
        ("seat.m4a", b"\xff\xd8\xff\xe0" + bytes(900), SoundUnreadable, "this is a JPEG picture"),
        ("zeros.wav", bytes(9000), SoundUnreadable, "no recording that can be decoded"),
        ("noise.mp3", np.random.default_rng(1).bytes(90000), SoundUnreadable, "nothing of it can be decoded"),
        ("head.wav", b"RIFF\x24\x08\x00\x00WAVEfmt ", SoundUnreadable, "begins like a WAV recording"),
        ("list.wav", b"#EXTM3U\n#EXTINF:9,\n/etc/hostname\n", SoundUnreadable, "this is text"),
    ],
)  # fmt: skip
def test_what_is_no_recording_is_called_by_its_name(
    tmp_path: Path, name: str, data: bytes, error: type[SoundError], says: str
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(error) as caught:
        read_sound(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith(str(path))


def test_a_playlist_hidden_in_bytes_is_not_followed(recordings: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "list.wav"
    # The first byte keeps it from being called text; the library would still take it for a list.
    path.write_bytes(b"ffconcat version 1.0\n#\x01\nfile '" + str(recordings["wav"]).encode() + b"'\n")
    with pytest.raises(SoundUnreadable):
        read_sound(path)


def test_a_recording_without_samples_is_empty(tmp_path: Path) -> None:
    with pytest.raises(SoundEmpty, match="holds no sound"):
        read_sound(write_wav(tmp_path / "none.wav", np.zeros(0)))


def test_a_video_without_sound_track_is_empty(tmp_path: Path) -> None:
    path = tmp_path / "mute.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for _ in range(5):
            container.mux(
                stream.encode(av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24"))
            )
        container.mux(stream.encode(None))
    with pytest.raises(SoundEmpty, match="no sound track"):
        read_sound(path)


def test_a_missing_recording_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(SoundNotFound, match=r"gone\.wav: no such recording"):
        read_sound(tmp_path / "gone.wav")
    with pytest.raises(SoundUnreadable, match="this is a folder"):
        read_sound(tmp_path)
    with pytest.raises(SoundNotFound):
        sound_sha256(tmp_path / "gone.wav")


def test_the_tail_is_not_known_before_the_end(recordings: dict[str, Path]) -> None:
    reader = read_sound(recordings["wav"])
    next(iter(reader))
    with pytest.raises(RuntimeError, match="once it has been read"):
        _ = reader.tail


def test_probe_tells_what_the_header_says(recordings: dict[str, Path]) -> None:
    traits = probe_sound(recordings["flac"])
    assert (traits.container, traits.codec, traits.rate_hz, traits.channels) == ("flac", "flac", 48000, 1)
    assert not traits.has_video


def test_sha256_is_that_of_the_bytes(recordings: dict[str, Path]) -> None:
    expected = hashlib.sha256(recordings["wav"].read_bytes()).hexdigest()
    assert sound_sha256(str(recordings["wav"])) == expected


def test_reading_takes_no_more_memory_for_a_longer_recording(tmp_path: Path) -> None:
    noise = np.random.default_rng(2).integers(-3000, 3000, 16000 * 120).astype(np.int16)
    path = write_wav(tmp_path / "long.wav", noise)
    tracemalloc.start()
    try:
        samples = sum(len(block) for block in read_sound(path))
        peak_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert samples == len(noise)
    assert peak_bytes < 1_000_000 < len(noise) * 2
    assert not math.isnan(beep_near(beeps(16000), 0.5))


@pytest.mark.parametrize("kind", ["webm", "webm-live"])
def test_a_track_in_an_unknown_codec_is_refused(
    recordings: dict[str, Path], tmp_path: Path, kind: str
) -> None:
    path = tmp_path / "odd.webm"
    path.write_bytes(recordings[kind].read_bytes().replace(b"A_OPUS", b"A_NONE"))
    with pytest.raises(SoundUnreadable, match="no recording that can be decoded"):
        read_sound(path)


def test_a_header_that_speaks_of_years_is_not_believed(recordings: dict[str, Path], tmp_path: Path) -> None:
    data = bytearray(recordings["m4a-index-first"].read_bytes())
    for box in (b"mvhd", b"mdhd", b"tkhd"):  # ISO/IEC 14496-12 section 8: the duration of each
        at = data.index(box) + 4 + (20 if box == b"tkhd" else 16)
        data[at : at + 4] = b"\x7f\xff\xff\xf0"
    path = tmp_path / "years.m4a"
    path.write_bytes(data)
    reader = read_sound(path)
    assert reader.duration_s is None or reader.duration_s < 1000
    assert len(whole(reader)) / 16000 == pytest.approx(SECONDS, abs=0.1)
    assert reader.tail.stated_s is None or reader.tail.stated_s < 1000


def test_frames_of_an_impossible_rate_become_silence(recordings: dict[str, Path]) -> None:
    class Damaging(SoundDecoder):
        def _frames(self) -> Iterator[tuple[av.AudioFrame, float | None]]:
            for number, (frame, stamp_s) in enumerate(super()._frames()):
                if 100 <= number < 150:
                    frame.sample_rate = 17 if number % 2 else 10_000_000
                yield frame, stamp_s

    with av.open(str(recordings["webm"])) as container:
        decoder = Damaging(container, container.streams.audio[0], 60.0)
        sound = np.concatenate(list(decoder.pieces()))
    assert beep_near(sound, 5.5) == pytest.approx(5.5, abs=0.02)
    assert [(round(d.start_s, 1), round(d.end_s, 1)) for d in decoder.damage] == [(2.0, 3.0)]
    assert "Hz" in decoder.damage[0].said
