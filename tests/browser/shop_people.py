"""The people of a shop, made and signed in by its own pages."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.conftest import SECRET, Server


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


def complaints_of(page: Page, found: list[str]) -> None:
    """Collect what the page's scripts stumble over, from now on."""
    page.on("pageerror", lambda error: found.append(str(error)))


def _fill(page: Page, fields: dict[str, str]) -> None:
    for name, value in fields.items():
        page.fill(f"[name={name}]", value)
