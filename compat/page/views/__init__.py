"""What can be asked of the page, one module a subject; each has a `router`."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from compat.page.views import bench, builds, comparing, counter, goal, own, papers

__all__ = ["ROUTERS"]

ROUTERS: Final[tuple[APIRouter, ...]] = (
    counter.router,
    builds.router,
    papers.router,
    comparing.router,
    goal.router,
    bench.router,
    own.router,
)
