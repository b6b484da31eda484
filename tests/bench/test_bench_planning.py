"""How long it takes to put right, and to complete, a build of forty positions; beside cuts of single choices.

`BENCH_PLANNING=all` goes through both tightnesses and three seeds; without it one shop of each tightness is
measured. Times are of the processor, not of the clock, since a machine is shared. Each shop is searched twice
in the same run, the second time with plain no-good cuts; `-s` prints both as a table.
"""

from __future__ import annotations

import os
import resource
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from compat import OpenShop
from compat.checking.session import Session
from compat.library.library import Library, load
from compat.planning.options import space_of
from compat.planning.oracle import Failing
from compat.planning.search import Search
from compat.planning.searched import Searched
from compat.planning.space import Choice
from compat.planning.terms import Terms
from compat.shop.builds import ReadyBuild, prepare
from tests.planning.large_shops import large_shop
from tests.planning.test_fix import COMPLETED

ALL = os.environ.get("BENCH_PLANNING") == "all"
SHOPS = [(tight, seed) for tight in (False, True) for seed in ((1, 2, 3) if ALL else (1,))]
PLAIN = 20
"""So many seconds plain cuts are given at most."""
MEMORY = 1024


@dataclass(frozen=True)
class Allowed:
    """What a search may take, in seconds of the processor."""

    whole: float
    """Until it ends."""
    first: float
    """Until the first build that passes."""
    gap: float | None = 0.0
    """By what share the best may be beaten in the end; 0: it is proved; None: by any."""


TASKS = {
    ("repair", 10): Allowed(5, 5),
    ("repair", 50): Allowed(5, 5),
    ("complete", 10): Allowed(5, 5),
    ("complete", 50): Allowed(60, 5, gap=0.01),
    ("complete", 200): Allowed(60, 20, gap=None),
}


class Timed(Search):
    """A search by the clock of the processor, that notes when it found the first build."""

    first_at: float | None = None

    def __post_init__(self) -> None:
        self.began_at = time.process_time()
        super().__post_init__()

    @property
    def seconds(self) -> float:
        return time.process_time() - self.began_at

    def _passed(self, choice: Choice, failing: Failing) -> None:
        super()._passed(choice, failing)
        if self.solutions and self.first_at is None:
            self.first_at = self.seconds


@dataclass(frozen=True)
class Row:
    """What a search came to."""

    first: float | None
    used: float
    found: Searched

    def told(self) -> str:
        first = "none" if self.first is None else f"{self.first:.1f} s"
        gap = "" if self.found.ended == "proved" or self.first is None else f", gap {self.found.gap:.2%}"
        return f"first {first}, {self.found.ended} {self.used:.1f} s{gap}"


def timed(session: Session, ready: ReadyBuild, terms: Terms, plain: bool = False) -> Row:
    began = time.process_time()
    search = Timed(space_of(session, ready, terms), terms, plain=plain)
    found = search.run()
    return Row(search.first_at, time.process_time() - began, found)


def search(folder: Path, build: str, seconds: float, plain: bool = False) -> Row:
    library = load(folder)
    ready = prepare(library.shop, library.shop.builds[build])
    terms = Terms(seconds=seconds, others=0)
    return timed(Session(library.shop, library.book), ready, terms, plain)


@pytest.mark.parametrize(("task", "candidates"), TASKS)
@pytest.mark.parametrize(("tight", "seed"), SHOPS)
def test_forty_positions(
    benchmark: Any, tmp_path: Path, task: str, candidates: int, tight: bool, seed: int
) -> None:
    if not benchmark.enabled:
        pytest.skip("only for measuring")
    large = large_shop(tmp_path, candidates, tight, seed)
    build = large.repair if task == "repair" else large.complete
    allowed = TASKS[task, candidates]
    ours = benchmark.pedantic(search, (large.folder, build, allowed.whole), rounds=1)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    plain = search(large.folder, build, min(allowed.whole, PLAIN), plain=True)
    benchmark.extra_info |= {"boxes and sums": ours.told(), "plain": plain.told(), "memory": f"{most:.0f} MB"}
    shop = f"{task} {candidates} {'tight' if tight else 'loose'} {seed}"
    print(f"\n| {shop:<22} | {ours.told():<42} | {plain.told():<42} | {most:4.0f} MB |")
    assert ours.found.best is not None
    assert ours.first is not None
    assert ours.first <= allowed.first
    if allowed.gap is not None:
        assert ours.found.gap <= allowed.gap
        assert allowed.gap or (ours.found.ended == "proved" and ours.used <= allowed.whole)
    assert most < MEMORY
    if plain.found.best is not None and plain.found.ended == "proved" and ours.found.ended == "proved":
        assert ours.found.best.worth == plain.found.best.worth


@pytest.mark.parametrize("name", ["first draft", *COMPLETED])
def test_the_demo_shop(benchmark: Any, demo: Library, name: str) -> None:
    """When a draft of the demo shop has its first build that passes, and what half a minute leaves open."""
    if not benchmark.enabled:
        pytest.skip("only for measuring")
    shop = OpenShop(demo.shop, demo.book)
    if name in COMPLETED:
        variant, goal = COMPLETED[name]
        ready = shop.make(variant=variant, goal=goal)
    else:
        ready = shop.build("first-draft")
    shop.check(ready)
    terms = Terms(seconds=30, others=0)

    row = benchmark.pedantic(timed, (shop.session, ready, terms), rounds=1)
    benchmark.extra_info["search"] = row.told()
    assert row.found.best is not None
    benchmark.extra_info["cost"] = str(row.found.best.bill.money)
