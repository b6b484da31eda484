"""What can be asked of the page, one module a subject; each has a `router`."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from compat.page.views import (
    bringing,
    builds,
    comparing,
    counter,
    find,
    goal,
    linting,
    own,
    positions,
    saves,
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
    comparing.router,
    goal.router,
    find.router,
    bringing.router,
    linting.router,
    own.router,
)
