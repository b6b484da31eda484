"""The page put together: guard, sittings, views."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final
from urllib.parse import quote

from anyio.to_thread import current_default_thread_limiter
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

from compat.page.desk import Desk
from compat.page.guard import Guard
from compat.page.guesses import Guesses
from compat.page.settings import Settings
from compat.page.showing import after, show
from compat.page.sittings import Sittings, sitting_of
from compat.page.slowly import Slowly
from compat.page.uploads import Uploads
from compat.page.views import ROUTERS
from compat.shop.source import Fault, Faults, Spot
from compat.version import __version__

__all__ = ["make_app"]

AT_ONCE: Final = 6
"""Views that are made at the same time: more of them only take turns at one processor, and each turn costs."""

SAYS: Final = {
    401: "Sign in first.",
    404: "There is nothing of that name here.",
    405: "That is not how this view is asked.",
    500: "That went wrong inside the program, and nothing was changed. The window it was started in says more.",
}


def make_app(settings: Settings) -> FastAPI:
    """The page of a shop.

    Parameters
    ----------
    settings : Settings
        Shop, hosts, passwords.

    Returns
    -------
    FastAPI
        An ASGI application. Its OpenAPI description is made by `app.openapi()` and not served.

    Raises
    ------
    Faults
        With everything wrong in the shop's files.
    """
    slowly = Slowly(settings.folder, settings.cache)

    @asynccontextmanager
    async def living(_: FastAPI) -> AsyncIterator[None]:
        current_default_thread_limiter().total_tokens = AT_ONCE
        yield
        slowly.close()

    app = FastAPI(
        title="compat", version=__version__, lifespan=living, openapi_url=None, docs_url=None, redoc_url=None
    )
    app.state.slowly = slowly
    app.state.settings = settings
    app.state.desk = Desk(settings)
    app.state.sittings = Sittings(settings)
    app.state.guesses = Guesses()
    app.state.uploads = Uploads()
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Guard, settings=settings, sittings=app.state.sittings)
    app.mount("/static", StaticFiles(directory=Path(__file__).with_name("static")), "static")
    for router in ROUTERS:
        app.include_router(router)
    app.add_exception_handler(Faults, _faulty)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _mistyped)
    app.add_exception_handler(Exception, _broken)
    return app


def _told(request: Request, status: int, faults: list[Fault]) -> Response:
    if not hasattr(request.state, "sitting"):
        sitting_of(request, Response())
    return show(request, "refused.html", status, faults=faults, absent=status == 404)


def _faulty(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, Faults)
    return _told(request, 400, list(wrong.faults))


def _refused(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, HTTPException)
    if wrong.status_code == 401 and request.method == "GET":
        return after(request, f"/sign-in?back={quote(request.url.path)}")
    said = wrong.detail if wrong.status_code == 403 else SAYS.get(wrong.status_code, wrong.detail)
    return _told(request, wrong.status_code, [Fault(Spot("", 0), said)])


def _mistyped(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, RequestValidationError)
    faults = [
        Fault(Spot(str(one["loc"][-1]) if one["loc"] else "", 0), str(one["msg"])) for one in wrong.errors()
    ]
    return _told(request, 422, faults)


def _broken(request: Request, wrong: Exception) -> Response:
    return _told(request, 500, [Fault(Spot("", 0), SAYS[500])])
