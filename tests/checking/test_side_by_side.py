"""Threads in one session, and shops beside each other: each finds what it would find alone.

Threads are made to change over a thousand times as often as they would, and what they share lets others in
at every look, so that few checks show what is shared without a lock. The small shop's checks are short, and
thus many.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections import OrderedDict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest

from compat import Check, OpenShop, open_shop
from compat.checking.answers import Answers
from compat.engineering import OutOfRange, find
from compat.library.library import Library
from compat.shop.builds import ReadyBuild
from tests.checking.walks import steps
from tests.look import settle

pytestmark = pytest.mark.usefixtures("formulas_run_anew")


@pytest.fixture
def hurried() -> Iterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(2e-6)
    yield
    sys.setswitchinterval(before)


class OpenToOthers(OrderedDict[Any, Any]):
    """Every look into it lets other threads in before what was seen is used."""

    def __contains__(self, key: object) -> bool:
        found = super().__contains__(key)
        time.sleep(2e-5)
        return found

    def __len__(self) -> int:
        length = super().__len__()
        time.sleep(2e-5)
        return length

    def values(self) -> Any:
        for value in super().values():
            time.sleep(2e-5)
            yield value


def told(found: Check) -> Any:
    return found.outcomes, found.report


def hold_beside(shop: OpenShop, walks: list[list[ReadyBuild]], times: int) -> None:
    """Each walk in a thread of its own, so many times over, in an order of its own; held against one thread."""
    alone = OpenShop(shop.things, shop.book)
    wanted = [[told(alone.check(build)) for build in walk] for walk in walks]

    def work(number: int) -> bool:
        order = list(range(len(walks[number]))) * times
        random.Random(number).shuffle(order)
        return all(told(shop.check(walks[number][i])) == wanted[number][i] for i in order)

    with ThreadPoolExecutor(len(walks)) as pool:
        assert all(pool.map(work, range(len(walks))))


@pytest.mark.usefixtures("hurried")
@pytest.mark.parametrize("checks", [8, 0])
def test_eight_threads_find_what_one_finds_alone(tiny: Any, checks: int) -> None:
    """8 threads x 200 checks in one session of a small shop; half as many where it remembers none."""
    shop = open_shop(tiny.folder)
    shared = OpenShop(shop.things, shop.book, checks=checks)
    shared.session.known = OpenToOthers()
    walks = [list(steps(shop.build(name), 25, seed)) for seed, name in enumerate(["sport", "mixed"] * 4)]
    hold_beside(shared, walks, 8 if checks else 4)
    assert len(shared.session.known) == checks


@pytest.mark.usefixtures("hurried")
def test_threads_that_share_cycles_and_reports(demo: Library) -> None:
    shared = OpenShop(demo.shop, demo.book, checks=4)
    names = ["street-turbo", "first-draft", "tarn-20-phase", "fell-30-base"]
    walks = [list(steps(shared.build(name), 6, seed)) for seed, name in enumerate(names)]
    hold_beside(shared, walks, 1)
    assert len(shared.session.known) == 4


@pytest.mark.usefixtures("hurried")
@pytest.mark.parametrize("most", [2, 0])
def test_answers_are_asked_for_while_others_are_thrown_out(most: int) -> None:
    """Five bores, room for two answers or none: a known one is often gone a moment later."""
    answers = Answers(most)
    answers._kept = OpenToOthers()
    swept = replace(find("swept_volume"), heavy=True)
    bores = [0.08, 0.082, 0.084, 0.086, -1.0]

    def work(number: int) -> None:
        chance = random.Random(number)
        for _ in range(100):
            bore = chance.choice(bores)
            arguments = {"bore": bore, "stroke": 0.09}
            if bore < 0:
                with pytest.raises(OutOfRange, match="bore"):
                    answers.ask(swept, arguments)
            else:
                assert answers.ask(swept, arguments) == pytest.approx(math.pi / 4 * bore**2 * 0.09)

    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(work, range(8))) == [None] * 8
    assert len(answers) == most


def test_figures_are_taken_over_while_another_thread_computes_more(demo: Library) -> None:
    """What is moved is looked up figure by figure; in between, the other build grows figures of its own."""
    before = settle(demo.shop, demo.book, "street-turbo")
    before.figure("deck_clearance")

    class Meanwhile(set[str]):
        def __contains__(self, name: object) -> bool:
            before.figure_or_absent("compression_ratio")
            return super().__contains__(name)

    world = settle(demo.shop, demo.book, "street-turbo")
    world.take_over(before, Meanwhile())
    assert world.figure("deck_clearance") is before.figure("deck_clearance")


def test_shops_beside_each_other_do_not_mix(demo: Library, tiny: Any) -> None:
    small = open_shop(tiny.folder)
    big = OpenShop(demo.shop, demo.book)
    before = (small.check("sport").report, big.check("first-draft").report)
    for _ in range(2):
        assert (small.check("sport").report, big.check("first-draft").report) == before
    assert open_shop(tiny.folder).check("sport").report == before[0]
