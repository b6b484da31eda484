"""The demo shop and its builds, read and checked once, and other checks in one line.

Between those nothing is kept but answers of formulas.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import compat.checking.check as checking
from compat import Check
from compat.checking.answers import Answers
from compat.checking.world import BuildWorld
from compat.library.library import Library, build_of_id, load
from compat.library.sources import demo_folder
from compat.paper.schemas import schemas
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.models import Build
from compat.shop.shop import Shop

__all__ = ["check", "checked_once", "demo_shop", "published", "ready", "settle", "with_ids"]

ANSWERS = Answers(16384)


@cache
def demo_shop() -> Library:
    """The demo shop as its files have it; nothing in it is ever changed."""
    return load(demo_folder())


@cache
def published() -> dict[str, dict[str, Any]]:
    """Every schema as it is published; nothing in it is ever changed."""
    return schemas()


@cache
def with_ids() -> dict[str, dict[str, Any]]:
    """Every schema with the ids of the demo shop in it; nothing in it is ever changed."""
    return schemas(demo_shop())


def ready(shop: Shop, what: str | Build | ReadyBuild) -> ReadyBuild:
    """A build held against a shop: by its id, or as it stands."""
    if isinstance(what, str):
        return build_of_id(shop, what)
    return what if isinstance(what, ReadyBuild) and what.shop is shop else prepare(shop, as_entry(what))


def as_entry(what: Build | ReadyBuild) -> Build:
    return what.build if isinstance(what, ReadyBuild) else what


def check(shop: Shop, book: Rulebook, what: str | Build | ReadyBuild) -> Check:
    """Check a build by itself."""
    return Check(checking.check(shop, book, ready(shop, what), ANSWERS))


@cache
def checked_once(name: str) -> Check:
    """A build or variant of the demo shop, checked by itself for all tests that do not ask how."""
    demo = demo_shop()
    return check(demo.shop, demo.book, name)


def settle(shop: Shop, book: Rulebook, what: str | Build | ReadyBuild) -> BuildWorld:
    """Settle a build."""
    return checking.settle(shop, book, ready(shop, what), ANSWERS)
