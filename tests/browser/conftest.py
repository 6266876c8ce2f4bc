"""A real server in a process of its own and a real browser, each as in a shop: nothing is replaced."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.conftest import need_program

SECRET = "a long enough one"
#: Set to a folder, the screens that tests look at are kept there (README's pictures are made so).
SCREENS = "KEEP_SCREENS"
FULL_HD = {"width": 1920, "height": 1080}
PHONE = {"width": 390, "height": 844}
_PLAIN = (
    "--no-sandbox",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
    "--autoplay-policy=no-user-gesture-required",
)


@dataclass
class Server:
    """``witnessmark serve`` at work on a folder."""

    folder: Path
    port: int
    process: subprocess.Popen[str]
    set_up: str | None
    """The link of the first run."""

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def kill(self) -> None:
        """As a power cut does."""
        self.process.kill()
        self.process.wait()


def start_server(folder: Path, port: int | None = None, *, first: bool = True) -> Server:
    port = port or _free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "api", "serve", "--data", str(folder), "--port", str(port), "--json"],
        stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert process.stdout is not None
    try:
        told = json.loads(process.stdout.readline())
        assert "serving" in told
        link = None
        if first:
            link = json.loads(process.stdout.readline())["set_up"].partition("open ")[2]
        _wait_for(port)
    except BaseException:
        process.kill()
        process.wait()
        process.stdout.close()
        raise
    return Server(folder, port, process, link)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    need_program("chromium")
    with served(tmp_path / "shop") as started:
        yield started


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """Serve a new shop; stop it in the end, also where the test failed."""
    started = start_server(folder)
    try:
        yield started
        started.process.send_signal(signal.SIGINT)
        started.process.wait(90)  # a busy machine takes long to end, too
    finally:
        started.process.kill()
        assert started.process.stdout is not None
        started.process.stdout.close()


@pytest.fixture
def open_browser() -> Iterator[Callable[..., Browser]]:
    """Start browsers with what their microphone hears and their camera sees."""
    program = need_program("chromium")
    with sync_playwright() as playwright:
        opened: list[Browser] = []

        def start(*, microphone: Path | None = None, camera: Path | None = None) -> Browser:
            arguments = [*_PLAIN]
            if microphone is not None:
                arguments.append(f"--use-file-for-fake-audio-capture={microphone}%noloop")
            if camera is not None:
                arguments.append(f"--use-file-for-fake-video-capture={camera}")
            opened.append(playwright.chromium.launch(executable_path=program, args=arguments))
            return opened[-1]

        yield start
        for one in opened:
            one.close()


@pytest.fixture
def screen(tmp_path: Path) -> Callable[..., Path]:
    """Keep what a page shows as a picture; return its path."""
    folder = Path(os.environ.get(SCREENS) or tmp_path)
    folder.mkdir(parents=True, exist_ok=True)

    def keep(page: Page, name: str, *, whole: bool = False) -> Path:
        path = folder / f"{name}.png"
        page.screenshot(path=path, full_page=whole)
        return path

    return keep


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port: int = taken.getsockname()[1]
        return port


def _wait_for(port: int, seconds: float = 120) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError(f"nothing listens at port {port} after {seconds} s")
