"""How soon what is said at a bench stands on its screen, at one bench and at four, through the whole server.

Recordings with known ends of every phrase are sent over the benches' web sockets at the pace of real time, as
a browser sends them; what the server tells is timed as it comes in (drawing it is not in the figures). Memory
is what server and ears take together while all benches are heard.
"""

from __future__ import annotations

import asyncio
import json
import os
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from websockets.asyncio.client import ClientConnection, connect

from api.live.frames import FRAME_SAMPLES, frame_bytes
from bench.live_shop import ServedShop, memory_mb, served_shop
from bench.live_timing import Told, figures_of, phrases_of
from capture.sound import RATE_HZ, read_sound
from capture.sound_blocks import Samples
from capture.vocabulary.apart import compile_apart
from shared.job_sheet import load_job_sheet
from shared.settings import load_settings

RECORDINGS = Path(__file__).parents[1] / "fixtures" / "recordings"
#: One bench hears the first; four hear all of these at once. The third is in shop noise at 10 dB.
NAMES = ("wash-water-end-suction", "wash-water-split-case", "booster-multistage", "wash-water-end-suction")
#: What is asked for: no more than these.
ONE_MEDIAN_S_MOST, ONE_P95_S_MOST, FOUR_P95_S_MOST = 0.6, 1.0, 2.5
MEMORY_MB_MOST, MEMORY_MB_A_BENCH_MOST = 500, 150
_FRAME_S = FRAME_SAMPLES / RATE_HZ
#: Benches do not begin at once; side by side they would pause together.
_APART_S = 1.7
_READY_S = 120.0
_LAST_WORDS_S = 30.0


def measure(length_s: float = 150.0, benches: Sequence[int] = (1, 4)) -> dict[str, Any]:
    """Measure with so many benches each; return the figures beside what was asked for."""
    found: dict[str, Any] = {}
    for count in benches:
        found[f"{count}_at_once"] = _measured(NAMES[:count], length_s)
    return found | {
        "one_bench_median_s_most": ONE_MEDIAN_S_MOST,
        "one_bench_p95_s_most": ONE_P95_S_MOST,
        "four_benches_p95_s_most": FOUR_P95_S_MOST,
        "seconds_of_each_recording": length_s,
    }


def _measured(names: Sequence[str], length_s: float) -> dict[str, Any]:
    for name in set(names):
        # Compiled at a sheet's first job on a machine, by a child that takes its memory with it.
        compile_apart(load_job_sheet(name), load_settings().cache_dir)
    with (
        tempfile.TemporaryDirectory(prefix="witnessmark-live-") as folder,
        served_shop(Path(folder) / "shop", names) as shop,
    ):
        load = os.getloadavg()[0]
        benches, memory = asyncio.run(_at_work(shop, names, length_s))
    phrases = [
        phrase for name, told in zip(names, benches, strict=True) for phrase in phrases_of(told, _truth(name))
    ]
    return {
        **figures_of(phrases),
        "frames_sent": sum(told.sent for told in benches),
        "frames_lost": sum(told.sent - told.safe for told in benches),
        **memory,
        "all_mb_most": MEMORY_MB_MOST + MEMORY_MB_A_BENCH_MOST * len(names),
        "load_before": round(load, 1),
    }


async def _at_work(
    shop: ServedShop, names: Sequence[str], length_s: float
) -> tuple[list[Told], dict[str, float]]:
    """Send all recordings at once; return what each bench was told, and the memory at its most."""
    benches = [Told() for _ in names]
    start = asyncio.Event()
    ready = [asyncio.Event() for _ in names]
    work = [
        asyncio.create_task(_bench(shop, number, names[number], length_s, told, ready[number], start))
        for number, told in enumerate(benches)
    ]
    await asyncio.wait_for(asyncio.gather(*(one.wait() for one in ready)), _READY_S)
    start.set()
    memory: dict[str, float] = {}
    while not all(task.done() for task in work):
        now = await asyncio.to_thread(memory_mb, shop.process.pid)
        if now["all_mb"] > memory.get("all_mb", 0):
            memory = now
        await asyncio.wait(work, timeout=5)
    await asyncio.gather(*work)
    return benches, memory


async def _bench(
    shop: ServedShop,
    number: int,
    name: str,
    length_s: float,
    told: Told,
    ready: asyncio.Event,
    start: asyncio.Event,
) -> None:
    sound = await asyncio.to_thread(_sound, name, length_s)
    async with connect(
        shop.listen_at(shop.jobs[number]), additional_headers=shop.headers, max_size=None
    ) as line:
        await line.send(json.dumps({"type": "start", "settings": {}}))
        receiving = asyncio.create_task(_receive(line, told, ready))
        await start.wait()
        await asyncio.sleep(number * _APART_S)
        await _send(line, sound, told)
        await line.send("flush")
        until = time.monotonic() + _LAST_WORDS_S
        while time.monotonic() < until and not (told.safe == told.sent and _all_heard(told, sound)):
            await asyncio.sleep(0.2)
        receiving.cancel()


async def _send(line: ClientConnection, sound: Samples, told: Told) -> None:
    """Send a recording as a microphone gives it: a frame is there once its last sample was said."""
    told.began = time.monotonic()
    for number in range(len(sound) // FRAME_SAMPLES):
        await asyncio.sleep(max(0.0, told.began + (number + 1) * _FRAME_S - time.monotonic()))
        await line.send(frame_bytes(number, sound[number * FRAME_SAMPLES : (number + 1) * FRAME_SAMPLES]))
        told.sent += 1


async def _receive(line: ClientConnection, told: Told, ready: asyncio.Event) -> None:
    async for data in line:
        message = json.loads(data)
        told.messages.append((time.monotonic(), message))
        if message["type"] == "safe":
            told.safe = message["next"]
        elif message["type"] == "ready":
            ready.set()
        elif message["type"] in ("failed", "refused", "not_recording"):
            raise RuntimeError(message["line"])


def _all_heard(told: Told, sound: Samples) -> bool:
    """Whether the last words, which the silence at the end of the sound ends, were told."""
    return any(m["type"] == "heard" and m["ended_s"] > len(sound) / RATE_HZ - 8 for _, m in told.messages)


def _sound(name: str, length_s: float) -> Samples:
    """Return a recording's beginning, cut off in the pause after a phrase, with silence behind it."""
    ends = [one["end_s"] for one in _truth(name) if one["end_s"] <= length_s]
    sound = np.concatenate(list(read_sound(next(RECORDINGS.glob(f"{name}.[om][g4]*")))))
    kept = sound[: round((ends[-1] + 0.3) * RATE_HZ)]
    whole = np.concatenate([kept, np.zeros(round(1.5 * RATE_HZ), np.int16)])
    return whole[: len(whole) // FRAME_SAMPLES * FRAME_SAMPLES]


def _truth(name: str) -> list[dict[str, float]]:
    said = json.loads((RECORDINGS / f"{name}.times.json").read_text(encoding="utf-8"))
    return list(said["utterances"])
