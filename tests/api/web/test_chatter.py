"""The words of chatter and of paused speech: in no file of a shop, on no screen, in no log."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.web.shop import Shop
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.test_bench import opened, send

#: Words that only the planted sentences hold.
PRIVATE = ("brontosaurus", "trombone", "marmalade", "pelican")
SAID: list[object] = [
    "front clearance vane one eighteen thou",
    "did you hear the brontosaurus last night",
    "vane two nineteen pause recording the trombone is for my wife",
    "marmalade on the casing bolts",
    "resume recording vane three twenty one",
    "oh that pelican",
]


def files_with(folder: Path, word: str) -> list[str]:
    return [
        path.name
        for path in folder.rglob("*")
        if path.is_file() and path.name != "script.json" and word.encode() in path.read_bytes().lower()
    ]


@pytest.mark.parametrize("killed", [False, True])
def test_chatter_leaves_no_word_behind(
    killed: bool,
    as_role: Callable[[str], TestClient],
    shop: Shop,
    app: FastAPI,
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str],
) -> None:
    caplog.set_level(logging.DEBUG)
    script = str(script_file(tmp_path, SAID))
    shop.settings = shop.settings.model_copy(update={"engine": "scripted", "model": script})
    bench, some = as_role("technician"), list(frames(spoken(len(SAID))))
    job, shown = opened(bench), []
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some)
        socket.send_text("flush")
        while sum(message["type"] == "heard" for message in shown) < len(SAID) - 1:
            shown.append(socket.receive_json())
    if killed:
        app.state.desk.close()
    else:
        assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    shop.database.close()
    told = json.dumps(shown) + caplog.text + "".join(capfd.readouterr())
    for word in PRIVATE:
        assert files_with(tmp_path, word) == [], word
        assert word not in told.lower(), word
    # What is searched can be found at all.
    assert "heard.journal" in files_with(tmp_path, "vane one eighteen")
    assert "twenty one" in told
    app.state.desk.close()
