"""How long commands take from a standing start, and what a large shop costs: seconds, and memory at its peak.

Every command is a process of its own, with byte code. `bare` only loads the libraries that such a program would
load, and runs before each command, so that the ratio of the two holds for the state of the machine just then.

A cache has three states: `off`; `compiled`, where the shop was read once by another command and no answer of a
heavy formula is kept; `kept`, where the same command ran before.

`BENCH_PARTS=1000,10000,100000` says how large the shops are; each is written for the run (the last has 45 MB).
The module is not collected where benchmarks are disabled (`conftest.py`).
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.bench.big_shop import edit_one, retitle, write_shop
from tests.bench.launcher import Launcher, Spent

SIZES = [int(number) for number in os.environ.get("BENCH_PARTS", "1000,10000").split(",")]
ROUNDS = 7

BARE = ("-c", "import typer, pydantic, networkx, pint; pint.UnitRegistry()")
COMPAT = ("-m", "compat")
COMPLETE = {"_COMPAT_COMPLETE": "complete_bash", "COMP_WORDS": "compat check street-t", "COMP_CWORD": "2"}
OPEN = """
import sys, time
import compat
started = time.perf_counter()
shop = compat.open_shop(sys.argv[1])
print("opened in", time.perf_counter() - started)
"""


@dataclass(frozen=True)
class Command:
    """What is run, how it ends and what it is bound to print."""

    words: tuple[str, ...]
    says: str
    status: int = 0
    settings: dict[str, str] = field(default_factory=dict)

    def run(self, launcher: Launcher, cache: str, shop: Path | None = None) -> Spent:
        """Run it, on the demo shop or another one."""
        there = {"COMPAT_SHOP": str(shop)} if shop else {}
        words = [word.replace("SHOP", str(shop)) for word in self.words]
        spent = launcher.python(*words, COMPAT_CACHE=cache, **there, **self.settings)
        assert spent.status == self.status, spent.text
        assert self.says in spent.text
        return spent


COMMANDS = {
    "check street-turbo": Command((*COMPAT, "check", "street-turbo"), "street-turbo goes together"),
    "check first-draft": Command((*COMPAT, "check", "first-draft"), "first-draft does NOT go together", 1),
    "check fell-30-base": Command((*COMPAT, "check", "fell-30-base"), "fell-30-base goes together"),
    "show": Command((*COMPAT, "show", "tarn-20-turbo-rod"), "tarn-20-turbo-rod: "),
    "find": Command((*COMPAT, "find", "piston", "bore", "86..86.5", "mm"), "piston"),
    "TAB": Command(COMPAT, "street-turbo", settings=COMPLETE),
    "lint": Command((*COMPAT, "lint"), "no faults"),
}
ON_LARGE = {
    "open": Command(("-c", OPEN, "SHOP"), "opened in"),
    **{
        name: COMMANDS[name]
        for name in ("check street-turbo", "check first-draft", "show", "find", "TAB", "lint")
    },
}
SEARCHES = (
    "piston bore 86..86.5 mm",
    "pistn bore 86 mm",
    "stenick rod",
    "northgate piston",
    "rod 148 mm",
    "forged piston pin bore 21..22 mm",
    "SF1480H-21",
    "head gasket",
    "bore 86..86.5 mm",
    "bolt",
    "86 mm",
    "bore at least 20 mm",
    "northgate",
    "at least 1 mm",
    "0..5000 mm",
    "50..500 mm",
)
"""What is asked at a counter: words, slips, codes, suppliers, sizes of a position and of none."""
FIND = """
import json, sys, time
from datetime import date
import compat
from compat.planning.finding import Asked, find
shop = compat.open_shop(sys.argv[1])
spent = {}
for words in json.loads(sys.argv[2]):
    asked = Asked(tuple(words.split()), date(2026, 11, 30))
    for _ in range(5):
        started, worked = time.perf_counter(), time.process_time()
        found = find(shop.things, asked)
        assert found.hits, words
        now = (time.perf_counter() - started, time.process_time() - worked, found.count)
        spent[words] = min(now, spent.get(words, now))
print(json.dumps(spent))
"""
FIRST = Command((*COMPAT, "show", "suppliers"), "northgate")
"""Reads a shop and works nothing out."""


def note(benchmark, spent: list[Spent], bare: list[Spent] | None = None) -> None:
    """Note peak memory and seconds of a processor, and both ratios to the bare imports, as extra figures."""
    extra = benchmark.extra_info
    extra["least s"] = round(min(one.seconds for one in spent), 3)
    extra["least s of a processor"] = round(min(one.worked for one in spent), 3)
    extra["peak MB"] = round(max(one.peak for one in spent))
    if bare:
        seconds = [one.seconds / other.seconds for one, other in zip(spent, bare, strict=True)]
        extra["least to least bare"] = round(extra["least s"] / min(one.seconds for one in bare), 2)
        extra["median of the ratios"] = round(statistics.median(seconds), 2)
        worked = min(one.worked for one in spent) / min(one.worked for one in bare)
        extra["least to least bare, of a processor"] = round(worked, 2)
    if spent[0].text.startswith("opened in"):
        extra["opened in s"] = round(min(float(one.text.split()[-1]) for one in spent), 3)


def repeated(benchmark, run: Callable[[], Spent], before: Callable[[], object], rounds: int) -> list[Spent]:
    """Run again and again, with something before each round that is not measured."""
    spent: list[Spent] = []

    def setup() -> None:  # which must give nothing, or it would be taken for arguments
        before()

    benchmark.pedantic(lambda: spent.append(run()), setup=setup, rounds=rounds)
    return spent


@pytest.mark.parametrize("state", ["off", "compiled", "kept"])
@pytest.mark.parametrize("name", COMMANDS)
def test_cold(benchmark, launcher: Launcher, tmp_path: Path, name: str, state: str) -> None:
    """A command on the demo shop beside the bare imports."""
    command, cache, clean = COMMANDS[name], tmp_path / "cache", tmp_path / "clean"
    where = "off" if state == "off" else str(cache)
    cache.mkdir(0o700)
    launcher.python(*BARE)
    FIRST.run(launcher, where)
    shutil.copytree(cache, clean)
    command.run(launcher, where)
    bare: list[Spent] = []

    def before() -> None:
        if state == "compiled":
            shutil.rmtree(cache)
            shutil.copytree(clean, cache)
        bare.append(launcher.python(*BARE))

    note(benchmark, repeated(benchmark, lambda: command.run(launcher, where), before, ROUNDS), bare)


@pytest.mark.parametrize("ending", [".pdf", ".xlsx"])
def test_quote_beside_check(benchmark, launcher: Launcher, tmp_path: Path, ending: str) -> None:
    """A quote into a file beside a check of the same build, both from a standing start: `bare` is the check."""
    check, cache, out = COMMANDS["check street-turbo"], tmp_path / "cache", tmp_path / f"q{ending}"
    words = (*COMPAT, "quote", "street-turbo", "--out", str(out))
    quote = Command(words, "wrote", settings={"XDG_DATA_HOME": str(tmp_path)})
    cache.mkdir(0o700)
    quote.run(launcher, str(cache))
    checks: list[Spent] = []
    spent = repeated(
        benchmark,
        lambda: quote.run(launcher, str(cache)),
        lambda: checks.append(check.run(launcher, str(cache))),
        ROUNDS,
    )
    note(benchmark, spent, checks)
    assert out.stat().st_size > 1000


@dataclass(frozen=True)
class Large:
    """A shop of many parts, and the folder of its cache."""

    shop: Path
    cache: Path
    rounds: int


@pytest.fixture(scope="module", params=SIZES)
def large(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp(f"large-{request.param}")
    cache = folder / "cache"
    cache.mkdir(0o700)
    yield Large(write_shop(folder / "shop", request.param), cache, 5 if request.param < 50_000 else 2)
    shutil.rmtree(folder)


def test_large_first(benchmark, launcher: Launcher, large: Large) -> None:
    """The first command on a shop, with an empty cache: all files are read, and kept."""

    def empty() -> None:
        shutil.rmtree(large.cache)
        large.cache.mkdir(0o700)

    def first() -> Spent:
        return FIRST.run(launcher, str(large.cache), large.shop)

    note(benchmark, repeated(benchmark, first, empty, min(large.rounds, 3)))


def test_large_without(benchmark, launcher: Launcher, large: Large) -> None:
    """The same with the cache turned off."""

    def first() -> Spent:
        return FIRST.run(launcher, "off", large.shop)

    note(benchmark, repeated(benchmark, first, lambda: None, min(large.rounds, 3)))


@pytest.mark.parametrize("name", ON_LARGE)
def test_large(benchmark, launcher: Launcher, large: Large, name: str) -> None:
    """A command on a shop that is compiled, its answers kept."""
    command = ON_LARGE[name]
    command.run(launcher, str(large.cache), large.shop)
    bare: list[Spent] = []
    spent = repeated(
        benchmark,
        lambda: command.run(launcher, str(large.cache), large.shop),
        lambda: bare.append(launcher.python(*BARE)),
        large.rounds,
    )
    note(benchmark, spent, bare)


def test_large_searches(benchmark, launcher: Launcher, large: Large) -> None:
    """Searches one after the other in an open shop: the best of five each, in ms, and of a processor."""
    FIRST.run(launcher, str(large.cache), large.shop)
    words = ("-c", FIND, str(large.shop), json.dumps(SEARCHES))
    spent = benchmark.pedantic(lambda: launcher.python(*words, COMPAT_CACHE=str(large.cache)), rounds=1)
    assert spent.status == 0, spent.text
    found = json.loads(spent.text.splitlines()[-1])
    for name, (seconds, worked, count) in found.items():
        benchmark.extra_info[name] = f"{1000 * seconds:.1f} ({1000 * worked:.1f}), {count} found"


EDITS = {
    "a price": edit_one,
    "a build": lambda shop: retitle(shop / "catalog" / "builds" / "street-turbo.yaml", "name"),
    "a rule": lambda shop: retitle(shop / "rules" / "rods.yaml", "title"),
}
"""What somebody changes; all but rules stand as they were kept after the first two."""


@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize("name", ["show", "check street-turbo"])
def test_large_after_an_edit(benchmark, launcher: Launcher, large: Large, name: str, edit: str) -> None:
    """A command after one file was changed; `bare` is the same command with nothing changed."""
    command, same = ON_LARGE[name], list[Spent]()

    def before() -> None:
        command.run(launcher, str(large.cache), large.shop)
        same.append(command.run(launcher, str(large.cache), large.shop))
        EDITS[edit](large.shop)

    spent = repeated(
        benchmark, lambda: command.run(launcher, str(large.cache), large.shop), before, large.rounds
    )
    note(benchmark, spent, same)
    beyond = min(one.worked for one in spent) - min(one.worked for one in same)
    benchmark.extra_info["beyond it, s of a processor"] = round(beyond, 3)
