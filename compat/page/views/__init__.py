"""What can be asked of the page, one module a subject; each has a `router`."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from compat.page.views import builds, comparing, counter, goal, own

__all__ = ["ROUTERS"]

ROUTERS: Final[tuple[APIRouter, ...]] = (
    counter.router,
    builds.router,
    comparing.router,
    goal.router,
    own.router,
)
