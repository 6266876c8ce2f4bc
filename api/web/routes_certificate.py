"""How a phone learns to trust this server: the shop's certificate authority, to be installed once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response

from api.tags.qr_drawing import qr_svg
from api.tls.watch import TlsWatch
from api.web.guard import open_to_all, shop_of, signed_in
from api.web.pages import page

router = APIRouter(default_response_class=Response)
_Open = Annotated[None, Depends(open_to_all)]


@router.get("/install-certificate")
def install_page(request: Request, _: _Open) -> Response:
    """Show how the authority is installed, and what to compare."""
    tls = _tls(request)
    others = [one for one in tls.names.shown() if one not in ("localhost", "127.0.0.1", "::1")]
    # For a phone that holds its camera up: as this page was asked for, or what reaches from most networks.
    likely = [request.url.hostname or "", *(one for one in others if one.count(".") == 3), *others]
    known = next((one for one in likely if one in others), likely[0])
    port = f":{request.url.port}" if request.url.port not in (None, 443) else ""
    address = f"https://{f'[{known}]' if ':' in known else known}{port}/install-certificate"
    return page(
        request,
        "install_certificate",
        who=signed_in(request),
        fingerprint=tls.authority.fingerprint,
        until=tls.authority.certificate.not_valid_after_utc,
        addresses=others,
        address=address,
        code=qr_svg(address),
    )


@router.get("/authority.crt")
def authority_der(request: Request, _: _Open) -> Response:
    """Return the authority's certificate as phones and Windows want it (DER)."""
    return _file(_tls(request).authority.der, "witnessmark.crt")


@router.get("/authority.pem")
def authority_pem(request: Request, _: _Open) -> Response:
    """Return the authority's certificate as Linux and browsers want it (PEM)."""
    return _file(_tls(request).authority.pem, "witnessmark.pem")


def _tls(request: Request) -> TlsWatch:
    tls: TlsWatch | None = shop_of(request).tls
    if tls is None:
        raise HTTPException(404, "this server speaks plain HTTP; start it with --tls")
    return tls


def _file(data: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    # RFC 5280 and RFC 2585 name application/pkix-cert; phones install what comes as this.
    return Response(data, media_type="application/x-x509-ca-cert", headers=headers)
