"""How long reading and checking take: nothing is asserted on a clock, only that the work was done.

`check_first` is a check by itself, no answer of a heavy formula kept; `check_anew` one with those answers at
hand. `change` is what a repair, a power ladder or a page pays for each step of a session, `ask` one question,
and `sweep` a whole grid of combinations beside a loop over some of them. Commands from a standing start are
measured in `test_bench_shop`.
"""

from __future__ import annotations

import time

import pytest

from compat import OpenShop
from compat.checking.adding import close
from compat.checking.answers import Answers
from compat.checking.asking import Asker
from compat.checking.check import check
from compat.checking.session import Session
from compat.checking.supply import Market
from compat.library.library import Library, build_of_id, load
from compat.library.sources import demo_folder
from compat.rulebook.growing import grow
from compat.rulebook.influence import influence
from compat.rulebook.reading import read_rulebook
from compat.shop.reading import read_shop
from compat.words.reporting import report

BUILDS = ["tarn-20-base", "fell-30-base", "street-turbo", "first-draft"]
LIGHT = ["spark_plug", "injector", "head_fastener", "main_bearing"]
CORE = ["piston", "rod", "crankshaft", "turbocharger"]


@pytest.mark.parametrize("name", BUILDS)
def test_check_first(benchmark, demo: Library, name: str) -> None:
    ready = build_of_id(demo.shop, name)
    found = benchmark(lambda: check(demo.shop, demo.book, ready))
    assert sum(found.counts.values()) > 250


@pytest.mark.parametrize("name", BUILDS)
def test_check_anew(benchmark, demo: Library, name: str) -> None:
    ready, answers = build_of_id(demo.shop, name), Answers()
    check(demo.shop, demo.book, ready, answers)
    found = benchmark(lambda: check(demo.shop, demo.book, ready, answers))
    assert sum(found.counts.values()) > 250


@pytest.mark.parametrize("name", BUILDS)
def test_report(benchmark, demo: Library, name: str) -> None:
    found = check(demo.shop, demo.book, build_of_id(demo.shop, name))
    assert len(benchmark(report, found).findings) > 250


def test_influence(benchmark, demo: Library) -> None:
    """Turning the grounds of the rulebook round: once a session."""
    assert len(benchmark(influence, demo.book).by_fact) > 1000


def candidates(shop: OpenShop, name: str, position: str, most: int) -> list[str]:
    base = shop.build(name)
    family, own = base.variant.family, shop.check(base).world.settled.fitted[position].part.part
    parts = shop.things.parts
    names = [p for p in shop.things.fillers[position] if not parts[p].families or family in parts[p].families]
    return [part for part in names if part != own][:most]


def changing(benchmark, demo: Library, name: str, position: str, known: bool):
    """One change of a session as a benchmark's setup: back to the base, then another part."""
    shop = OpenShop(demo.shop, demo.book)
    base = shop.check(name).checked
    parts = candidates(shop, name, position, 6 if benchmark.enabled else 1)
    builds = [shop.build(name).fitting(**{position: part}) for part in parts]
    turn = iter(range(10_000))

    def setup():
        answers = Answers()
        session = Session(demo.shop, demo.book)
        assert session.influence  # made once a session
        session.answers = shop.session.answers if known else answers
        session.cards = shop.session.cards
        return (session, builds[next(turn) % len(builds)], base), {}

    for build in builds:
        shop.session.check(build, base)
    return setup, len(builds)


def change(session, build, base):
    return session.check(build, base)


@pytest.mark.parametrize("position", [*LIGHT, *CORE])
@pytest.mark.parametrize("name", ["street-turbo", "first-draft"])
def test_change_with_the_cycle_known(benchmark, demo: Library, name: str, position: str) -> None:
    setup, number = changing(benchmark, demo, name, position, known=True)
    found = benchmark.pedantic(change, setup=setup, rounds=4 * number, warmup_rounds=number)
    assert sum(found.counts.values()) > 250


@pytest.mark.parametrize("position", CORE)
@pytest.mark.parametrize("name", ["street-turbo", "first-draft"])
def test_change_with_a_new_cycle(benchmark, demo: Library, name: str, position: str) -> None:
    setup, number = changing(benchmark, demo, name, position, known=False)
    found = benchmark.pedantic(change, setup=setup, rounds=3 * number)
    assert sum(found.counts.values()) > 250


def test_no_change(benchmark, demo: Library) -> None:
    """The same engine for another customer: a new build, read whole, that differs in nothing that matters."""
    shop = OpenShop(demo.shop, demo.book)
    shop.check("street-turbo")
    builds = iter([shop.build("street-turbo").changed(customer=f"Customer {number}") for number in range(400)])
    found = benchmark.pedantic(lambda: shop.check(next(builds)), rounds=300)
    assert found.clean


def test_ask_one_light_rule(benchmark, demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    asker = Asker(shop.session, shop.check("street-turbo").checked)
    names = candidates(shop, "street-turbo", "rod_bearing", 6)
    found = benchmark(lambda: [asker.ask("big-end-clearance", {"rod_bearing": name}) for name in names])
    benchmark.extra_info["questions"] = len(names)
    assert any(found)


def test_grow(benchmark, demo: Library) -> None:
    """Closures of every expression of the rulebook: about a microsecond a node."""
    trees = [e.tree for rule in demo.book.rules.values() for e in rule.expressions()]
    assert len(benchmark(lambda: [grow(tree) for tree in trees])) > 700


def test_thousands_of_faults(benchmark, tiny) -> None:
    """Every name of two thousand parts unknown, each with its nearest word."""
    number = 1500 if benchmark.enabled else 100
    known = "- {{part: known-{0}, name: K, fills: piston}}\n"
    wrong = "- {{part: wrong-{0}, name: W, fills: piston, includes: [knwon-{0}, never-{0}-heard-of]}}\n"
    text = "".join(map(known.format, range(900))) + "".join(map(wrong.format, range(number)))
    tiny.write("catalog/extra.yaml", text)
    assert len(benchmark.pedantic(tiny.faults, rounds=1)) == 2 * number


def test_sweep(benchmark, demo: Library) -> None:
    """Five positions whole, beside a loop of checks in a session: their ratio is an extra figure."""
    places = ["piston", "rod", "head_gasket", "crankshaft", "head_fastener"][: 5 if benchmark.enabled else 2]
    shop = OpenShop(demo.shop, demo.book)
    base = shop.build("street-turbo")
    own = shop.check(base).world.settled.fitted
    grid = {p: [own[p].part.part, *candidates(shop, "street-turbo", p, 99)] for p in places}

    spent: list[float] = []

    def run():
        started = time.perf_counter()
        found = OpenShop(demo.shop, demo.book).sweep(base, grid)
        spent.append(time.perf_counter() - started)
        return found

    found = benchmark.pedantic(run, rounds=1)
    tried = [base.fitting(piston=part) for part in grid["piston"]]
    started = time.perf_counter()
    loop = OpenShop(demo.shop, demo.book)
    for build in tried:
        loop.check(build)
    each = (time.perf_counter() - started) / len(tried)
    benchmark.extra_info["combinations"] = found.worst.size
    benchmark.extra_info["times the loop"] = round(each * found.worst.size / min(spent))
    assert found.clean.any()


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
    found = check(demo.shop, demo.book, build_of_id(demo.shop, "first-draft"))
    world = found.world
    rules = [demo.book.rules[name] for name in found.judged.asking]

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
