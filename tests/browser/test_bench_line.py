"""Frames leave the browser in the order in which they were made, however slow its database is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route

pytestmark = pytest.mark.real_time

_STATIC = Path(__file__).parents[2] / "api/web/static"
#: Frames are made before, while and after the server says that it records, each of its own number. Given: how
#: many; what was sent comes back as pairs of number and content.
_SPEAK = """async ([early, later]) => {
  const { BenchLine } = await import("/bench_line.js");
  const { FrameStore } = await import("/frame_store.js");
  const sent = [];
  window.WebSocket = class {
    static OPEN = 1;
    readyState = 1;
    bufferedAmount = 0;
    constructor() { window.line = this; }
    send(data) {
      if (typeof data === "string") return;
      const view = new DataView(data);
      sent.push([Number(view.getBigUint64(0)), view.getInt16(8, true)]);
    }
  };
  const store = await FrameStore.open();
  const soon = (ms) => new Promise((done) => setTimeout(done, ms));
  for (const slow of ["put", "last"]) {
    const real = store[slow].bind(store);
    store[slow] = async (...all) => { await soon(20); return real(...all); };
  }
  const bench = new BenchLine("/listen", store, {}, () => {}, () => {});
  let made = 0;
  const make = () => bench.add(new Int16Array(4).fill(made++));
  for (let i = 0; i < early; i++) make();
  const hears = bench.hear({ type: "recording", number: 1, next: 0 });
  const kept = [];
  for (let i = 0; i < later; i++) {
    await soon(3);
    kept.push(make());
  }
  await Promise.all([hears, ...kept]);
  for (let i = 0; i < 100 && sent.length < early + later; i++) await soon(20);
  return sent;
}"""


@pytest.mark.long
@pytest.mark.parametrize(("early", "later"), [(20, 60), (0, 30)])
def test_what_is_made_while_the_line_begins_keeps_its_place(
    open_browser: Callable[..., Browser], early: int, later: int
) -> None:
    page: Page = open_browser().new_page()

    def give(route: Route) -> None:
        name = route.request.url.rpartition("/")[2]
        if name.endswith(".js"):
            route.fulfill(path=_STATIC / name, content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>none</title>", content_type="text/html")

    page.route("**/*", give)
    page.goto("http://localhost/")
    sent = page.evaluate(_SPEAK, [early, later])
    assert sent == [[number, number] for number in range(early + later)]
