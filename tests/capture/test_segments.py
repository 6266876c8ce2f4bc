"""Utterances with true times out of a stream of blocks."""

from __future__ import annotations

import itertools
import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest

from capture.segments import CuttingRules, Segment, SegmentCutter, cut_segments
from tests.capture.bench_talk import PHRASES, bench_talk, in_noise, phrase_sound, shop_noise

#: Which phrases belong to one utterance: those that only a breath parts.
UTTERANCES = [[0, 1], [2], [3], [4], [5], [6, 7], [8]]


def blocks_of(sound: np.ndarray, count: int = 8000) -> Iterator[np.ndarray]:
    for at in range(0, len(sound), count):
        yield sound[at : at + count]


def cut(sound: np.ndarray, rules: CuttingRules | None = None) -> list[Segment]:
    return list(cut_segments(blocks_of(sound), rules))


def assert_holds_the_utterances(segments: list[Segment]) -> None:
    assert [segment.number for segment in segments] == list(range(len(UTTERANCES)))
    for segment, phrases in zip(segments, UTTERANCES, strict=True):
        first, last = PHRASES[phrases[0]], PHRASES[phrases[-1]]
        assert segment.start_s <= first.start_s
        assert segment.end_s >= last.end_s
        assert segment.start_s == pytest.approx(first.start_s, abs=0.5)
        assert segment.end_s == pytest.approx(last.end_s, abs=0.5)


def test_phrases_are_cut_at_pauses_and_not_at_breaths() -> None:
    assert_holds_the_utterances(cut(bench_talk()))


@pytest.mark.parametrize("kind", ["white", "pink", "compressor", "grinder"])
@pytest.mark.parametrize("snr_db", [20, 10, 5])
def test_no_word_is_lost_in_shop_noise(kind: str, snr_db: int) -> None:
    assert_holds_the_utterances(cut(in_noise(kind, snr_db)))


def test_segments_hold_the_very_samples_of_their_times() -> None:
    for segment in cut(bench_talk()):
        expected = bench_talk()[round(segment.start_s * 16000) : round(segment.end_s * 16000)]
        np.testing.assert_array_equal(segment.samples, expected)
        assert segment.samples.dtype == np.int16


@pytest.mark.parametrize("block_samples", [160, 512, 8000, 100_000])
def test_the_cut_does_not_depend_on_the_blocks(block_samples: int) -> None:
    sound = np.concatenate([bench_talk(), in_noise("pink", 10)])
    reference = list(cut_segments([sound]))
    found = list(cut_segments(blocks_of(sound, block_samples)))
    assert [(s.number, s.start_s, s.end_s) for s in found] == [
        (s.number, s.start_s, s.end_s) for s in reference
    ]
    for one, other in zip(found, reference, strict=True):
        np.testing.assert_array_equal(one.samples, other.samples)


@pytest.mark.parametrize(
    ("level", "minutes"), [(0, 1), (3, 10), (300, 1)], ids=["digital", "room", "loud room"]
)
def test_minutes_of_silence_hold_no_utterance(level: int, minutes: int) -> None:
    def silence() -> Iterator[np.ndarray]:
        random = np.random.default_rng(8)
        for _ in range(120 * minutes):
            yield (random.standard_normal(8000) * level).astype(np.int16)

    assert list(cut_segments(silence())) == []


@pytest.mark.parametrize("kind", ["compressor", "grinder"])
def test_machines_alone_hold_no_utterance(kind: str) -> None:
    assert cut((shop_noise(16000 * 60, kind) * 3000).astype(np.int16)) == []


def test_music_is_cut_into_bounded_pieces_if_at_all() -> None:
    t = np.arange(16000 * 60) / 16000
    chords = np.repeat(np.random.default_rng(6).integers(110, 440, (60, 3)), 16000, axis=0)
    music = sum(np.sin(2 * np.pi * np.cumsum(chords[:, i]) / 16000) for i in range(3))
    music = (music * 3000 * (0.6 + 0.4 * np.sin(2 * np.pi * 2 * t))).astype(np.int16)
    assert all(segment.end_s - segment.start_s <= 20.1 for segment in cut(music))


def test_knocks_on_the_bench_are_no_words() -> None:
    sound = np.zeros(16000 * 20, np.float64)
    random = np.random.default_rng(9)
    for at_s in range(1, 19):
        knock = random.standard_normal(800) * np.exp(-np.arange(800) / 80) * 12000
        sound[at_s * 16000 : at_s * 16000 + 800] += knock
    assert cut(sound.astype(np.int16)) == []


def endless_talk(gap_s: float = 0.12, seconds: float = 70.0) -> tuple[np.ndarray, list[tuple[float, float]]]:
    """Phrases one after another with hardly a breath, and where they are."""
    pieces, spans, at = [], [], 0
    while at < seconds * 16000:
        spoken = phrase_sound(PHRASES[len(spans) % len(PHRASES)].words)
        spans.append((at / 16000, (at + len(spoken)) / 16000))
        pieces += [spoken, np.zeros(round(gap_s * 16000), np.int16)]
        at += len(spoken) + round(gap_s * 16000)
    return np.concatenate(pieces), spans


@pytest.mark.parametrize("longest_s", [6.0, 12.0, 20.0])
def test_endless_talk_is_parted_between_words(longest_s: float) -> None:
    sound, spans = endless_talk()
    segments = cut(sound, CuttingRules(longest_s=longest_s))
    assert len(segments) > 70 / longest_s - 1
    assert all(segment.end_s - segment.start_s <= longest_s + 0.04 for segment in segments)
    for one, following in itertools.pairwise(segments):
        assert following.start_s == one.end_s
        inside = [span for span in spans if span[0] + 0.03 < one.end_s < span[1] - 0.03]
        quiet = sound[round((one.end_s - 0.016) * 16000) : round((one.end_s + 0.016) * 16000)].astype(float)
        assert not inside or np.sqrt(np.mean(quiet**2)) < 300  # within a phrase only where it is quiet


def test_neighbours_never_overlap() -> None:
    sound = np.concatenate([bench_talk()] * 2)
    segments = cut(sound, CuttingRules(least_silence_s=0.3, pad_after_s=0.3, pad_before_s=0.5))
    assert len(segments) > 14
    for one, following in itertools.pairwise(segments):
        assert one.end_s <= following.start_s


def test_speech_that_the_recording_cuts_off_is_kept() -> None:
    end = round((PHRASES[-1].start_s + 0.6) * 16000)
    last = cut(bench_talk()[:end])[-1]
    assert last.end_s == end / 16000


def test_live_sound_gives_an_utterance_soon_after_it_ended() -> None:
    cutter = SegmentCutter()
    for at in range(0, len(bench_talk()), 1600):
        found = cutter.hear(bench_talk()[at : at + 1600])
        if found:
            assert (at + 1600) / 16000 - PHRASES[1].end_s < 1.4
            return
    pytest.fail("nothing was heard")


def test_memory_does_not_grow_with_the_recording() -> None:
    def hours() -> Iterator[np.ndarray]:
        for _ in range(15):
            yield from blocks_of(bench_talk()[: 16000 * 10])

    count = 0
    tracemalloc.start()
    try:
        for _ in cut_segments(hours()):
            count += 1
        peak_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert count == 45
    assert peak_bytes < 3_000_000  # the sound alone has 4,800,000


@pytest.mark.parametrize(
    "wrong",
    [
        {"speech_from": 0.2},
        {"speech_until": 0.0},
        {"pad_after_s": 1.0},
        {"longest_s": 1.5},
        {"speech_from": 1.0},
    ],
)
def test_rules_that_contradict_themselves_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"expected|padding"):
        CuttingRules(**wrong)
