"""What watches over the server asks here: is it well, and how does it do."""

from __future__ import annotations

from dataclasses import asdict
from hmac import compare_digest
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import JSONResponse, Response
from prometheus_client import CONTENT_TYPE_LATEST, generate_latest

from api.operation.health import health
from api.web.guard import SignInFirst, open_to_all, shop_of, signed_in
from api.web.routes_bench import desk_of

router = APIRouter(default_response_class=Response)


def may_measure(request: Request) -> None:
    """Let in whoever knows the token for it (setting), and whoever keeps the accounts.

    Raises:
        SignInFirst: nobody is signed in.
        HTTPException: 403.
    """
    token = shop_of(request).settings.metrics_token
    scheme, _, given = request.headers.get("authorization", "").partition(" ")
    if token and scheme.lower() == "bearer" and compare_digest(given.strip().encode(), token.encode()):
        return
    who = signed_in(request)
    if who is None:
        raise SignInFirst
    if "administer" not in who.rights:
        raise HTTPException(403, "this needs the right to administer")


may_measure.right = "administer"  # type: ignore[attr-defined]


@router.get("/health")
def health_answer(request: Request, _: Annotated[None, Depends(open_to_all)]) -> Response:
    """Return whether the server can work: 200, or 503 where it cannot. It tells nothing of anybody."""
    found = health(shop_of(request), desk_of(request))
    return JSONResponse({"status": found.status, **asdict(found)}, 503 if found.status == "failing" else 200)


@router.get("/metrics")
def metrics(request: Request, _: Annotated[None, Depends(may_measure)]) -> Response:
    """Return what is measured, in the text format of Prometheus."""
    return Response(generate_latest(shop_of(request).measures.registry), media_type=CONTENT_TYPE_LATEST)
