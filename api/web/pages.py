"""Pages out of templates; all text passes autoescape, nothing spoken or typed is ever markup."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.store.web_sessions import SignedIn

HERE = Path(__file__).parent


def page(
    request: Request, template: str, *, who: SignedIn | None = None, status: int = 200, **shown: Any
) -> HTMLResponse:
    """Return a page.

    Args:
        request: that it answers.
        template: name of the file in ``templates``, without its ending.
        who: is signed in.
        status: of HTTP.
        shown: what the template shows.
    """
    text = (
        _templates()
        .get_template(f"{template}.html.j2")
        .render(
            request=request,
            tls=request.app.state.shop.tls is not None,
            who=who.account if who else None,
            form_token=who.form_token if who else None,
            rights=who.rights if who else frozenset(),
            by_badge=who is not None and who.means == "badge",
            **shown,
        )
    )
    return HTMLResponse(text, status)


def within(path: str) -> str:
    """Return a path of this server, never another site's address."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
