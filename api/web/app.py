"""The application: routes, shields and failures put together."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from api.live.desk import Desk
from api.live.order_hearing import OrderHearing
from api.operation.shop_gauges import ShopGauges
from api.people.keeper import Keeper
from api.version import program_version
from api.web import (
    routes_accounts,
    routes_bench,
    routes_certificate,
    routes_difference,
    routes_ears,
    routes_gauges,
    routes_hours,
    routes_lesson_book,
    routes_lessons,
    routes_notice,
    routes_office,
    routes_operation,
    routes_pictures,
    routes_pumps,
    routes_recordings,
    routes_scans,
    routes_search,
    routes_sign_in,
    routes_signing,
    routes_start,
    routes_stores,
    routes_tags,
)
from api.web.failures import tell_failures
from api.web.pages import HERE
from api.web.request_measures import RequestMeasures
from api.web.shields import Shields
from api.web.shop import Shop


def make_app(shop: Shop) -> FastAPI:
    """Return the application of a shop."""
    # No pages of the framework's own: they fetch their scripts from a network that is not there.
    # And no redirects of its own, which go where the Host header says.
    app = FastAPI(
        title="Witnessmark", version=program_version(), docs_url=None, redoc_url=None, redirect_slashes=False
    )
    app.state.shop = shop
    app.state.desk = Desk(shop)
    app.state.orders = OrderHearing()
    app.state.keeper = Keeper(shop)
    shop.measures.registry.register(ShopGauges(shop, app.state.desk))
    app.include_router(routes_operation.router)
    app.include_router(routes_sign_in.router)
    app.include_router(routes_certificate.router)
    app.include_router(routes_accounts.router)
    app.include_router(routes_notice.router)
    app.include_router(routes_recordings.router)
    app.include_router(routes_tags.router)
    app.include_router(routes_start.router)
    app.include_router(routes_bench.router)
    app.include_router(routes_pictures.router)
    app.include_router(routes_ears.router)
    app.include_router(routes_scans.router)
    app.include_router(routes_gauges.router)
    app.include_router(routes_hours.router)
    app.include_router(routes_pumps.router)
    app.include_router(routes_stores.router)
    app.include_router(routes_office.router)
    app.include_router(routes_difference.router)
    app.include_router(routes_signing.router)
    app.include_router(routes_search.router)
    app.include_router(routes_lessons.router)
    app.include_router(routes_lesson_book.router)
    app.mount("/static", StaticFiles(directory=HERE / "static"), "static")
    app.add_middleware(Shields)
    app.add_middleware(RequestMeasures, measures=shop.measures)
    tell_failures(app)
    return app
