"""How long it takes to put right, and to complete, a build of forty positions; beside cuts of single choices.

`BENCH_PLANNING=all` goes through both tightnesses and three seeds; without it one of each is measured. A row
says when the first build that passes was found, how the search ended, and what was left open; beside it stands
what plain no-good cuts come to in the same time.
"""

from __future__ import annotations

import os
import resource
import time
from pathlib import Path

import pytest

from compat import OpenShop
from compat.checking.session import Session
from compat.library.library import Library, load
from compat.planning.options import space_of
from compat.planning.search import Search
from compat.planning.searched import Searched
from compat.planning.terms import Terms
from compat.shop.builds import prepare
from tests.planning.large_shops import large_shop
from tests.planning.test_fix import COMPLETED

ALL = os.environ.get("BENCH_PLANNING") == "all"
SHOPS = [(tight, seed) for tight in (False, True) for seed in ((1, 2, 3) if ALL else (1,))]
SECONDS = {
    ("repair", 10): 5,
    ("repair", 50): 5,
    ("complete", 10): 5,
    ("complete", 50): 60,
    ("complete", 200): 60,
}


def search(folder: Path, build: str, seconds: float, *, plain: bool = False) -> tuple[Searched, float]:
    library = load(folder)
    session = Session(library.shop, library.book)
    terms = Terms(seconds=seconds, others=0)
    began = time.process_time()
    found = Search(
        space_of(session, prepare(library.shop, library.shop.builds[build]), terms), terms, plain=plain
    ).run()
    return found, time.process_time() - began


def told(found: Searched, used: float) -> str:
    first = "none" if found.first is None else f"{found.first:.1f} s"
    return (
        f"first {first}, {found.ended} after {found.seconds:.1f} s ({used:.1f} s of work), gap {found.gap:.2%}"
    )


@pytest.mark.parametrize(("task", "candidates"), SECONDS)
@pytest.mark.parametrize(("tight", "seed"), SHOPS)
def test_forty_positions(
    benchmark: object, tmp_path: Path, task: str, candidates: int, tight: bool, seed: int
) -> None:
    if not getattr(benchmark, "enabled", False):
        pytest.skip("only for measuring")
    large = large_shop(tmp_path, candidates, tight, seed)
    build = large.repair if task == "repair" else large.complete
    seconds = SECONDS[task, candidates]
    found, used = benchmark.pedantic(search, (large.folder, build, seconds), rounds=1)  # type: ignore[attr-defined]
    plain, plainly = search(large.folder, build, min(seconds, 20), plain=True)
    benchmark.extra_info["boxes and sums"] = told(found, used)  # type: ignore[attr-defined]
    benchmark.extra_info["plain"] = told(plain, plainly)  # type: ignore[attr-defined]
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    benchmark.extra_info["memory"] = f"{most:.0f} MB"  # type: ignore[attr-defined]
    assert found.best is not None
    assert most < 1024


@pytest.mark.parametrize("name", ["first draft", *COMPLETED])
def test_the_demo_shop(benchmark: object, demo: Library, name: str) -> None:
    """When a draft of the demo shop has its first build that passes, and what half a minute leaves open."""
    if not getattr(benchmark, "enabled", False):
        pytest.skip("only for measuring")
    shop = OpenShop(demo.shop, demo.book)
    if name in COMPLETED:
        variant, goal = COMPLETED[name]
        ready = shop.make(variant=variant, goal=goal)
    else:
        ready = shop.build("first-draft")
    shop.check(ready)
    terms = Terms(seconds=30, others=0)

    def timed() -> tuple[Searched, float]:
        began = time.process_time()
        found = Search(space_of(shop.session, ready, terms), terms).run()
        return found, time.process_time() - began

    found, used = benchmark.pedantic(timed, rounds=1)  # type: ignore[attr-defined]
    benchmark.extra_info["search"] = told(found, used)  # type: ignore[attr-defined]
    assert found.best is not None
    benchmark.extra_info["cost"] = str(found.best.bill.money)  # type: ignore[attr-defined]
