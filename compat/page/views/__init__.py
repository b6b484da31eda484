"""What can be asked of the page, one module a subject; each has a `router`."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from compat.page.views import (
    bench,
    bringing,
    builds,
    comparing,
    counter,
    find,
    goal,
    linting,
    orders,
    own,
    positions,
    quotes,
    saves,
    sheets,
    signing_in,
    stating,
    why,
)

__all__ = ["ROUTERS"]

ROUTERS: Final[tuple[APIRouter, ...]] = (
    signing_in.router,
    counter.router,
    builds.router,
    stating.router,
    positions.router,
    why.router,
    saves.router,
    quotes.router,
    orders.router,
    sheets.router,
    comparing.router,
    goal.router,
    bench.router,
    find.router,
    bringing.router,
    linting.router,
    own.router,
)
