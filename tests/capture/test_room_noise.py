"""One short utterance estimated too low makes no noisy room; a burst of noise counts for itself."""

from __future__ import annotations

import json

from capture.engines.room_noise import RoomNoise

#: Depths such as utterances have in a quiet room, where a machine starts now and then, and in noise at 15 dB.
QUIET = [45.9, 43.3, 28.0, 46.1, 44.2, 27.5, 45.0, 26.7, 44.7]
AT_15_DB = [24.4, 22.1, 28.2, 25.8, 31.0, 27.4, 23.9]


def test_a_short_utterance_makes_no_quiet_room_noisy() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in QUIET] == [False] * len(QUIET)


def test_a_noisy_room_is_noisy_where_one_utterance_seems_quiet() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in AT_15_DB] == [True] * len(AT_15_DB)


def test_a_burst_of_noise_in_a_quiet_room_counts_for_its_utterance_alone() -> None:
    room = RoomNoise()
    assert [room.noisy(level) for level in (44.0, 45.0, 17.0, 43.0)] == [False, False, True, False]


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
