"""How soon the review of a two-hour job is usable: its page, its keys, a clip from the end of its sound.

Through a whole server, and in Debian's Chromium where that and Playwright are there; told where they are not.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import httpx
import numpy as np

from api.listening import SOUND_JOURNAL
from api.reading_rules import reading_rules_sha256
from api.store.accounts import by_secret
from api.store.database import Database, database_url
from api.store.drafts import keep_draft
from api.store.jobs import begin_recording, job_of, turn_to
from bench.live_shop import NAME, SECRET, ServedShop, served_shop
from capture.sound import RATE_HZ, read_sound
from capture.sound_journal import SoundJournal
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from shared.settings import Settings
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
FIXTURES = Path(__file__).parents[1] / "fixtures"
#: The job, and what is asked for.
ENTRIES, HOURS, USABLE_MS_MOST = 400, 2.0, 1000
#: How often each is asked for, its first time not counted.
RUNS = 12
_ROWS = re.compile(r'<li class="row [^"]*" tabindex')
#: Milliseconds from the beginning of the navigation until a key has moved to the first entry and it is drawn.
_USABLE = """async () => {
  document.dispatchEvent(new KeyboardEvent("keydown", { key: "j", bubbles: true }));
  await new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
  if (!document.activeElement.matches("ol.rows > .row")) throw new Error("the key did nothing");
  return performance.now();
}"""


def measure(entries: int = ENTRIES, hours: float = HOURS, runs: int = RUNS) -> dict[str, Any]:
    """Measure with a job of at least so many entries; return the figures beside what was asked for."""
    with (
        tempfile.TemporaryDirectory(prefix="witnessmark-review-") as folder,
        served_shop(Path(folder) / "shop", [SHEET], roles=("technician", "admin", "reviewer")) as shop,
    ):
        load = os.getloadavg()[0]
        found = long_job(Path(folder) / "shop", shop.jobs[0], entries, hours)
        with httpx.Client(
            base_url=f"http://127.0.0.1:{shop.port}", headers=shop.headers, timeout=60
        ) as client:
            office = f"/office/{shop.jobs[0]}"
            page, page_ms = _timed(lambda: client.get(office, headers={"accept": "text/html"}), runs)
            last = f"start={hours * 3600 - 10}&end={hours * 3600 - 6}"
            sound, sound_ms = _timed(lambda: client.get(f"{office}/sound/001.wav?{last}"), runs)
            _, peaks_ms = _timed(lambda: client.get(f"{office}/peaks/001?{last}"), runs)
        rows = len(_ROWS.findall(page.text))
        if rows < entries or len(sound.content) < 3 * 2 * RATE_HZ:
            raise RuntimeError(f"{rows} rows and {len(sound.content)} bytes of sound are no two-hour job")
        return {
            "entries": found,
            "rows": rows,
            "hours_of_sound": hours,
            "page_kb": round(len(page.content) / 1024),
            "page_ms": page_ms,
            "clip_at_the_end_ms": sound_ms,
            "peaks_at_the_end_ms": peaks_ms,
            "usable_in_a_browser_ms": _in_a_browser(shop, runs),
            "usable_ms_most": USABLE_MS_MOST,
            "load_before": round(load, 1),
        }


def long_job(folder: Path, job_id: str, entries: int, hours: float) -> int:
    """Give a job the sound and the record of a long rebuild, handed over; return how many entries it has.

    Args:
        folder: data folder of a shop.
        job_id: of a job that was opened there.
        entries: so many at least.
        hours: of sound.
    """
    record, settings = long_record(entries, hours), Settings()
    database = Database(database_url(folder, None))
    try:
        with database.writing() as session:
            job, now = job_of(session, job_id), datetime.now(UTC)
            by = by_secret(session, NAME, SECRET)
            assert by is not None, "the account was just made"
            row = begin_recording(session, job, by=by, source="browser", settings={}, now=now)
            _write_sound(folder / row.folder, hours)
            row.ended_at = now
            rules = reading_rules_sha256(load_job_sheet(SHEET), settings)
            keep_draft(session, job, record, rules_sha256=rules, now=now)
            turn_to(job, "handed_over", seen=job.turn)
    finally:
        database.close()
    return len(record.entries())


def long_record(entries: int, hours: float) -> RebuildRecord:
    """Return the record of the demo's talk, told again and again over so many hours."""
    times = (FIXTURES / "recordings" / f"{SHEET}.times.json").read_text("utf-8")
    lines = [str(said["text"]) for said in json.loads(times)["utterances"] if "finish" not in said["text"]]
    builder, told = RecordBuilder(load_job_sheet(SHEET)), 0
    step_s = hours * 3600 / (entries * 1.2)
    while len(builder.record().entries()) < entries:
        for words in lines:
            at = min(told * step_s, hours * 3600 - 5)
            builder.hear(Utterance(words, at, at + 3, confidence=0.9, recording="001"))
            told += 1
    return builder.record()


def _write_sound(folder: Path, hours: float) -> None:
    sound = np.concatenate(list(read_sound(FIXTURES / "recordings" / f"{SHEET}.ogg").blocks()))
    folder.mkdir(parents=True, exist_ok=True)
    tenth, left = RATE_HZ // 10, round(hours * 3600 * RATE_HZ)
    # As a bench writes it: frame by frame.
    with SoundJournal.create(folder / SOUND_JOURNAL, {"recording": folder.name}, sync_every_s=600) as journal:
        while left > 0:
            for start in range(0, min(left, len(sound)), tenth):
                journal.append(sound[start : min(start + tenth, left)])
            left -= len(sound)


def _timed(ask: Callable[[], httpx.Response], runs: int) -> tuple[httpx.Response, dict[str, float]]:
    spent: list[float] = []
    for _ in range(runs + 1):
        begun = time.perf_counter()
        answer = ask()
        spent.append(1000 * (time.perf_counter() - begun))
        answer.raise_for_status()
    return answer, _figures(spent[1:]) | {"first": round(spent[0])}


def _figures(spent_ms: list[float]) -> dict[str, float]:
    return {"median": round(float(np.median(spent_ms))), "p95": round(float(np.percentile(spent_ms, 95)))}


def _in_a_browser(shop: ServedShop, runs: int) -> dict[str, float] | str:
    program = shutil.which("chromium")
    if program is None or find_spec("playwright") is None:
        return "not measured: no Chromium or no Playwright on this machine"
    from playwright.sync_api import sync_playwright

    address = f"http://127.0.0.1:{shop.port}"
    name, _, value = shop.headers["cookie"].partition("=")
    spent: list[float] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": 1920, "height": 1080})
        context.add_cookies([{"name": name, "value": value, "url": address}])
        page = context.new_page()
        for _ in range(runs + 1):
            page.goto(f"{address}/office/{shop.jobs[0]}", wait_until="domcontentloaded")
            spent.append(float(page.evaluate(_USABLE)))
        browser.close()
    return _figures(spent[1:]) | {"first": round(spent[0])}
