"""The page of a shop of 100 000 parts, by the processor's clock: a change, the chooser while one types, lists.

Not collected where benchmarks are off (`conftest.py`): writing and compiling such a shop takes minutes. One
that was written before is taken from the folder that `COMPAT_BENCH_SHOP` names.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Iterator
from itertools import chain, islice
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="the page (its extra, shop-compat[page], is not installed)")

from anyio.from_thread import start_blocking_portal

from tests.bench.big_shop import write_shop
from tests.bench.test_bench_page import CORE, LIGHT
from tests.page.visiting import Visitor, make_page

PARTS = 100_000
LIGHT_WITHIN, CYCLE_WITHIN, TYPED_WITHIN, LIST_WITHIN = 0.1, 0.25, 0.25, 0.1
"""What a median may take [s]."""
FIRST_WITHIN, FIRST_SENT = 1.0, 150_000
"""What a first view may take [s], and bytes that may be sent for it with all that it loads."""
LOADED = ("/static/page.css", "/static/htmx.min.js", "/static/mark.svg")


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop of many parts."""
    there = os.environ.get("COMPAT_BENCH_SHOP")
    return Path(there) if there else write_shop(tmp_path_factory.mktemp("large") / "shop", PARTS)


@pytest.fixture(scope="module")
def visitor(large: Path) -> Iterator[Visitor]:
    with start_blocking_portal() as portal:
        visitor = Visitor(make_page(large), portal)
        yield visitor
        visitor.close()
        visitor.app.state.slowly.close()


def medians(benchmark, visitor: Visitor, asked: list[tuple[str, dict[str, str]]]) -> float:
    """Ask each once; the median, in seconds of the processor."""
    spent: list[float] = []

    def one(path: str, said: dict[str, str]) -> None:
        began = time.process_time()
        text = visitor.send(path, **said).text if said else visitor.get(path).text
        spent.append(time.process_time() - began)
        assert "</html>" in text

    waiting = iter(asked)
    benchmark.pedantic(one, setup=lambda: (next(waiting), {}), rounds=len(asked))
    benchmark.extra_info["longest"] = f"{max(spent) * 1000:.0f} ms"
    return statistics.median(spent)


def turns(visitor: Visitor, positions: list[str], each: int) -> list[tuple[str, str]]:
    """Some parts of each position, turn about."""
    fillers = visitor.app.state.desk.library.shop.fillers
    found = [[(place, part) for part in islice(fillers[place], 1, 1 + each)] for place in positions]
    return [one for turn in zip(*found, strict=False) for one in turn]


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("build", ["street-turbo", "first-draft"])
def test_large_change_light(benchmark, visitor: Visitor, build: str) -> None:
    visitor.get(f"/build/{build}")
    steps = [
        (f"/build/{build}/fit", {"position": place, "part": part}) for place, part in turns(visitor, LIGHT, 4)
    ]
    assert medians(benchmark, visitor, steps) < LIGHT_WITHIN


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("build", ["street-turbo", "first-draft"])
def test_large_change_cycle(benchmark, visitor: Visitor, build: str) -> None:
    visitor.get(f"/build/{build}")
    fits = [
        (f"/build/{build}/fit", {"position": place, "part": part}) for place, part in turns(visitor, CORE, 3)
    ]
    aims = [
        (
            f"/build/{build}/aim",
            {"goal-power": f"{150 + 0.7 * n:.1f} kW", "goal-at": "5800 rpm", "goal-duty": "street"},
        )
        for n in range(len(fits))
    ]
    steps = list(chain.from_iterable(zip(fits, aims, strict=True)))
    assert medians(benchmark, visitor, steps) < CYCLE_WITHIN


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("position", ["spark_plug", "piston", "head_gasket"])
def test_large_chooser(benchmark, visitor: Visitor, position: str) -> None:
    """Letter by letter, as one types."""
    visitor.get("/build/street-turbo")
    words = {"spark_plug": "short", "piston": "forged 86", "head_gasket": "steel"}[position]
    typed = [(f"/build/street-turbo/at/{position}?q={words[:n]}", {}) for n in range(len(words) + 1)]
    assert medians(benchmark, visitor, typed) < TYPED_WITHIN


@pytest.mark.benchmark(timer=time.process_time)
def test_large_lists(benchmark, visitor: Visitor) -> None:
    asked = ["/", "/parts", "/parts/rod", "/parts/piston", "/find?words=rod", "/find?words=piston+86", "/stock"]
    asked += ["/find?supplier=northgate", "/bench", "/quotes"]
    assert medians(benchmark, visitor, [(path, {}) for path in asked]) < LIST_WITHIN


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("path", ["/", "/build/street-turbo"])
def test_large_first_view(benchmark, visitor: Visitor, path: str) -> None:
    """What somebody who was never there before waits for, and what is sent to them."""
    sent: list[int] = []

    def first() -> None:
        sent.append(sum(visitor.get(one).num_bytes_downloaded for one in (path, *LOADED)))

    benchmark.pedantic(first, rounds=3)
    benchmark.extra_info["sent"] = f"{max(sent) / 1000:.0f} kB"
    assert max(sent) < FIRST_SENT
    assert benchmark.stats.stats.max < FIRST_WITHIN
