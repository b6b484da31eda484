"""How long reading and checking take: nothing is asserted on a clock, only that the work was done.

`check_again` is what a repair or a power ladder pays for each candidate, `check_anew` a check with no finding
kept, `check_first` one with no answer of a heavy formula kept either. `cold` is the command line from a
standing start, next to a process that only loads the libraries any such program would load.
"""

from __future__ import annotations

import dataclasses
import statistics
import subprocess
import sys
import time

import pytest

from compat.checking.answers import forget
from compat.checking.needs import close
from compat.checking.supply import Market
from compat.library.library import Library, demo_folder, load
from compat.rulebook.reading import read_rulebook
from compat.shop.reading import read_shop
from tests.look import check

BUILDS = ["tarn-20-base", "fell-30-base", "street-turbo", "first-draft"]


@pytest.mark.parametrize("name", BUILDS)
def test_check_again(benchmark, demo: Library, name: str) -> None:
    result = benchmark(check, demo.shop, demo.book, name)
    assert len(result.world.settled.fitted) >= 45
    assert len(result.report.findings) > 250


@pytest.mark.parametrize("name", BUILDS)
def test_check_anew(benchmark, demo: Library, name: str) -> None:
    check(demo.shop, demo.book, name)

    def setup():
        book = dataclasses.replace(demo.book)
        for rule in book.rules.values():
            book.grounds(rule)
            book.rests_on(rule)
        return (demo.shop, book, name), {}

    result = benchmark.pedantic(check, setup=setup, rounds=10)
    assert len(result.report.findings) > 250


@pytest.mark.parametrize("name", BUILDS)
def test_check_first(benchmark, demo: Library, name: str) -> None:
    def setup():
        forget()
        return (demo.shop, dataclasses.replace(demo.book), name), {}

    result = benchmark.pedantic(check, setup=setup, rounds=5)
    assert len(result.report.findings) > 250


def test_check_of_one_part_changed(benchmark, demo: Library) -> None:
    """Each round another piston: what a search over one position pays."""
    base = demo.shop.builds["street-turbo"]
    pistons = [p for p in demo.shop.fillers["piston"] if "tarn" in demo.shop.parts[p].families]
    builds = [dataclasses.replace(base, fit={**base.fit, "piston": piston}) for piston in pistons]

    def search():
        return [check(demo.shop, demo.book, build).report.summary for build in builds]

    summaries = benchmark(search)
    benchmark.extra_info["builds"] = len(builds)
    assert len(summaries) == len(pistons) >= 8


def test_read_shop(benchmark) -> None:
    def read():
        faults: list = []
        shop = read_shop(demo_folder() / "catalog", faults)
        assert not faults
        return shop

    assert len(benchmark(read).parts) >= 150


def test_compile_rulebook(benchmark, demo: Library) -> None:
    def read():
        faults: list = []
        book = read_rulebook(demo.folder / "rules", demo.shop, faults)
        assert not faults
        return book

    assert len(benchmark(read).rules) >= 150


def test_read_everything(benchmark) -> None:
    assert benchmark(load, demo_folder()).shop.variants


def test_close_needs(benchmark, demo: Library) -> None:
    """The draft with most open: four rounds of parts that need parts."""
    world = check(demo.shop, demo.book, "first-draft").world
    rules = [rule for rule in demo.book.rules.values() if rule.rule.sort == "need"]

    def closing():
        market = Market(world)
        present = [entry.part.part for entry in world.settled.fitted.values()] + market.works()
        return close(
            market.supplies(),
            market.demands(rules),
            world.settled.fitted,
            present,
            market.providers,
            market.excluded(),
        )

    closure = benchmark(closing)
    assert len(closure.added) > 10


def test_cold_check(benchmark) -> None:
    """The whole command, and beside it in the same run the bare libraries; their ratio is an extra figure."""
    bare = [sys.executable, "-c", "import typer, pydantic, networkx, pint; pint.UnitRegistry()"]
    whole = [sys.executable, "-m", "compat", "check", "fell-30-base"]
    spent: dict[str, list[float]] = {"bare": [], "whole": []}

    def both():
        for name, command in (("bare", bare), ("whole", whole)):
            started = time.perf_counter()
            done = subprocess.run(command, capture_output=True, check=False)
            spent[name].append(time.perf_counter() - started)
            assert done.returncode == 0, done.stderr
        return done.stdout

    printed = benchmark.pedantic(both, rounds=5)
    assert b"fell-30-base" in printed
    for name, figures in spent.items():
        benchmark.extra_info[f"{name}, least, s"] = round(min(figures), 3)
        benchmark.extra_info[f"{name}, median, s"] = round(statistics.median(figures), 3)
    benchmark.extra_info["ratio of the least"] = round(min(spent["whole"]) / min(spent["bare"]), 2)
