"""Is a page fit for everybody? axe-core's rules (MPL-2.0) in the real browser."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page


def serious_faults(page: Page) -> list[str]:
    """Return what axe-core finds serious or critical on a page: the rule and where."""
    answer = Axe().run(page).response
    return [
        f"{page.url}: {fault['id']} ({fault['impact']}) at {node['target']}"
        for fault in answer["violations"]
        if fault["impact"] in ("serious", "critical")
        for node in fault["nodes"]
    ]
