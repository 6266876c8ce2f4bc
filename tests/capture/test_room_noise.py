"""One short utterance estimated too low makes no noisy room; a burst of noise counts for itself."""

from __future__ import annotations

import json

from capture.engines.room_noise import RoomNoise

#: Estimates such as one voice's utterances get in a quiet room, and in shop noise at 15 dB.
QUIET = [39.9, 18.3, 37.0, 40.1, 17.2, 29.5, 41.0, 18.7, 17.7]
AT_15_DB = [13.4, 11.1, 20.2, 15.8, 12.0, 21.4, 13.9]


def test_a_short_utterance_makes_no_quiet_room_noisy() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in QUIET] == [False] * len(QUIET)


def test_a_noisy_room_is_noisy_where_one_utterance_seems_quiet() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in AT_15_DB] == [True] * len(AT_15_DB)


def test_a_burst_of_noise_in_a_quiet_room_counts_for_its_utterance_alone() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in (40.0, 41.0, 9.0, 39.0)] == [False, False, True, False]


def test_work_taken_up_knows_the_room_again() -> None:
    first, then = RoomNoise(), RoomNoise()
    for level in AT_15_DB[:3]:
        first.noisy(level)
    assert list(then.recall([*json.loads(json.dumps(first.memory)), 7.0])) == [7.0]
    assert then.memory == first.memory
    assert [then.noisy(level) for level in QUIET] == [first.noisy(level) for level in QUIET]


def test_a_memory_of_another_shape_is_left_alone() -> None:
    room = RoomNoise()
    room.noisy(40.0)
    assert list(room.recall([1.0, 2.0])) == []
    assert room.memory[:2] == (1.0, 40.0)
