"""The people of a shop, made, signed in and led to the bench by its own pages."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

from tests.browser.conftest import SECRET, Server

SHEET = "wash-water-end-suction"


def set_up_shop(page: Page, server: Server, people: dict[str, tuple[str, str]]) -> None:
    """Open the link of the first run, make the admin and the others (name: shown name, role); sign out."""
    assert server.set_up
    page.goto(server.set_up)
    _fill(page, {"name": "keeper", "shown_name": "Ines Keeper", "secret": SECRET})
    page.get_by_role("button", name="Make the account").click()
    page.wait_for_url("**/accounts")
    for name, (shown, role) in people.items():
        form = page.locator("form[action='/accounts']")
        form.locator("[name=name]").fill(name)
        form.locator("[name=shown_name]").fill(shown)
        form.locator("[name=secret]").fill(SECRET)
        form.get_by_label(role, exact=True).check()
        form.get_by_role("button").click()
        page.wait_for_selector(f"th:text-is('{name}')")
    page.get_by_role("button", name="Sign out").click()


def sign_in(page: Page, address: str, name: str) -> None:
    page.goto(f"{address}/sign-in")
    form = page.locator("form").first
    form.locator("[name=name]").fill(name)
    form.locator("[name=secret]").fill(SECRET)
    form.get_by_role("button").click()
    page.wait_for_url(lambda url: "sign-in" not in url)


def to_bench(page: Page, address: str, work_order: str) -> None:
    """Start a job at the bench by keyboard, agreeing to be recorded where that is asked."""
    page.goto(f"{address}/bench")
    agree = page.get_by_role("button", name="I agree to be recorded")
    if agree.count():
        agree.click()
    page.fill("[name=work_order]", work_order)
    page.select_option("[name=sheet]", SHEET)
    page.get_by_role("button", name="To the bench").click()
    page.wait_for_selector("body.bench")


def new_badge(page: Page, address: str, name: str, picture: Path) -> str:
    """Have the admin, who is signed in, print somebody's badge; keep its picture, return what it says."""
    page.goto(f"{address}/accounts")
    page.get_by_role("button", name=f"New badge for {name}").click()
    page.locator(".badge").screenshot(path=picture)
    drawn = picture.read_bytes()
    answer = page.request.post(f"{address}/codes", data=drawn, headers={"accept": "application/json"})
    (text,) = answer.json()["codes"]
    return str(text)


def complaints_of(page: Page, found: list[str]) -> None:
    """Collect what the page's scripts stumble over, from now on."""
    page.on("pageerror", lambda error: found.append(str(error)))


def _fill(page: Page, fields: dict[str, str]) -> None:
    for name, value in fields.items():
        page.fill(f"[name={name}]", value)
