"""How long a change of a build takes on the page: its form and the view after it, by the processor's clock.

`change_light` is a part that moves no long calculation, `change_cycle` a goal or a part that has the cycle run
anew; no answer of a formula is at hand for either. On the screen they may take 0.1 and 0.25 seconds. `reading`
is a bore measured at the bench, which moves the cycle, and the step after it.
"""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator
from itertools import chain, count
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="the page (its extra, shop-compat[page], is not installed)")

from anyio.from_thread import start_blocking_portal

from compat.library.library import Library
from compat.library.sources import demo_folder
from tests.page.visiting import Visitor, make_page

BUILDS = ["street-turbo", "first-draft"]
LIGHT = ["spark_plug", "engine_mount", "oil_filter", "main_bearing", "silencer", "valve_spring"]
CORE = ["turbocharger", "piston", "camshaft_inlet", "head_gasket"]


@pytest.fixture
def visitor() -> Iterator[Visitor]:
    """A visitor of a page that was opened for this alone: nothing was asked of it yet."""
    with start_blocking_portal() as portal:
        visitor = Visitor(make_page(demo_folder(), cache=False), portal)
        yield visitor
        visitor.close()


def parts(demo: Library, positions: list[str], build: str) -> list[tuple[str, str]]:
    """Parts by position that the build does not have, turn about."""
    own = demo.shop.builds[build].fit
    found = {place: [one for one in demo.shop.fillers[place] if own.get(place) != one] for place in positions}
    longest = max(map(len, found.values()))
    return [(place, found[place][n]) for n in range(longest) for place in positions if n < len(found[place])]


def changed(visitor: Visitor, build: str, form: str, said: dict[str, str]) -> str:
    """The view after a change."""
    return visitor.send(f"/build/{build}/{form}", **said).text


def measured(
    benchmark, visitor: Visitor, build: str, steps: Iterator[tuple[str, dict[str, str]]], rounds: int
) -> None:
    """Take steps one after the other, each once."""
    visitor.get(f"/build/{build}")
    texts: list[str] = []

    def one(form: str, said: dict[str, str]) -> None:
        texts.append(changed(visitor, build, form, said))

    def next_step() -> tuple[tuple[str, dict[str, str]], dict[str, object]]:
        return next(steps), {}

    enabled = getattr(benchmark, "enabled", False)
    benchmark.pedantic(one, setup=next_step, rounds=rounds if enabled else 1)
    assert all(re.search(r'id="the-step"', text) for text in texts)
    if enabled:
        benchmark.extra_info["view"] = f"{max(map(len, texts)) / 1000:.0f} kB"


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("build", BUILDS)
def test_change_light(benchmark, demo: Library, visitor: Visitor, build: str) -> None:
    steps = (("fit", {"position": place, "part": part}) for place, part in parts(demo, LIGHT, build))
    measured(benchmark, visitor, build, steps, 24)


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("build", BUILDS)
def test_change_cycle(benchmark, demo: Library, visitor: Visitor, build: str) -> None:
    fits = (("fit", {"position": place, "part": part}) for place, part in parts(demo, CORE, build))
    aims = (
        ("aim", {"goal-power": f"{150 + 0.7 * n:.1f} kW", "goal-at": "5800 rpm", "goal-duty": "street"})
        for n in count()
    )
    turns = chain.from_iterable(zip(fits, aims, strict=False))
    measured(benchmark, visitor, build, turns, 24)


@pytest.mark.benchmark(timer=time.process_time)
def test_reading(benchmark, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COMPAT_QUOTES", raising=False)
    shop = tmp_path / "shop"
    for name in ("catalog", "rules"):
        shutil.copytree(demo_folder() / name, shop / name)
    with start_blocking_portal() as portal:
        visitor = Visitor(make_page(shop, cache=False), portal)
        step = "/bench/street-turbo/" + next(
            number
            for number in re.findall(
                r'href="/bench/street-turbo/(\d+)"', visitor.get("/bench/street-turbo").text
            )
            if "reading/block.bore_diameter/1/top" in visitor.get(f"/bench/street-turbo/{number}").text
        )
        sizes = count(86.004, 0.001)
        texts: list[str] = []

        def one() -> None:
            bore = {"reading/block.bore_diameter/1/top": f"{next(sizes):.3f}"}
            texts.append(visitor.send(step, **bore, **{"off/reading/block.bore_diameter": "0.002"}).text)

        benchmark.pedantic(one, rounds=12 if benchmark.enabled else 1)
        visitor.close()
    assert all("86.0" in text for text in texts)
    if benchmark.enabled:
        assert benchmark.stats.stats.median < 0.25
