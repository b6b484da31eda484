"""The choice of offers against every number of packs tried, by both methods."""

from __future__ import annotations

from random import Random

import pytest

from compat.trade.choosing import choose
from compat.trade.large_choice import choose_large
from compat.trade.problem import Offered, Problem, Seller
from compat.trade.small_choice import choose_small
from tests.trade.exhaustive import least

CASES = 300


def case(seed: int) -> Problem:
    """A small shop drawn at random: two or three sellers in two currencies, breaks, tiers, minima, packs."""
    draw = Random(seed)
    sellers = []
    for _ in range(draw.choice([1, 2, 2, 3])):
        tiers: list[tuple[int | None, int]] = []
        mark = 0
        for _ in range(draw.choice([0, 1, 1, 2])):
            mark += draw.randint(4, 20)
            tiers.append((mark, draw.randint(1, 8)))
        if draw.random() < 0.3:
            tiers.append((None, draw.randint(1, 4)))
        minimum = draw.choice([0, 0, draw.randint(3, 25)])
        sellers.append(Seller(draw.choice([125, 108]), tuple(tiers), minimum))
    needs, offers = [], []
    for part in range(draw.choice([1, 2, 2, 3])):
        needs.append(draw.randint(1, 6))
        for _ in range(draw.choice([1, 1, 2]) if part else 2):
            price = draw.randint(4, 14)
            steps = [(1, price)]
            if draw.random() < 0.4:
                steps.append((draw.randint(2, 3), price - draw.randint(1, 3)))
            seller = draw.randrange(len(sellers))
            offers.append(Offered(part, seller, draw.choice([1, 1, 2, 3, 4]), tuple(steps), draw.randint(0, 9)))
    return Problem(tuple(needs), tuple(offers), tuple(sellers))


@pytest.mark.parametrize("block", range(10))
def test_both_methods_find_what_trying_everything_does(block: int) -> None:
    for seed in range(block, CASES, 10):
        problem = case(seed)
        best = least(problem)
        assert best is not None
        for method in (choose_small, choose_large):
            found = method(problem)
            assert found is not None, (seed, method)
            assert found.proved
            assert problem.cost(found.packs) == found.cost == best[0], (seed, method, found, best)
            pieces = [0] * len(problem.needs)
            for offer, packs in zip(problem.offers, found.packs, strict=True):
                pieces[offer.part] += offer.pack * packs
            assert all(have >= need for have, need in zip(pieces, problem.needs, strict=True))


def test_time_that_runs_out_is_no_proof() -> None:
    found = choose_large(large(1), seconds=0.02)
    assert found is None or not found.proved


def large(seed: int, parts: int = 60, sellers: int = 8) -> Problem:
    """A shop of full size."""
    draw = Random(seed)
    own = []
    for _ in range(sellers):
        first, second = draw.randint(50, 150) * 100, draw.randint(200, 400) * 100
        tiers = ((first, draw.randint(500, 1500)), (second, draw.randint(200, 499)))
        own.append(Seller(draw.choice([125, 108]), tiers, draw.choice([0, 2500, 5000])))
    needs, offers = [], []
    for part in range(parts):
        needs.append(draw.choice([1, 1, 1, 2, 4, 8, 10, 16]))
        worth = draw.randint(300, 40000)
        for seller in draw.sample(range(sellers), min(sellers, draw.choice([1, 2, 3, 4]))):
            pack = draw.choice([1, 1, 1, 2, 4, 10])
            price = max(1, int(worth * pack * draw.uniform(0.85, 1.15) / pack**0.1))
            steps = [(1, price)]
            if draw.random() < 0.4:
                steps.append((draw.randint(2, 6), int(price * 0.93)))
            if draw.random() < 0.2:
                steps.append((draw.randint(7, 12), int(price * 0.88)))
            offers.append(Offered(part, seller, pack, tuple(steps), draw.randint(1, 20)))
    return Problem(tuple(needs), tuple(offers), tuple(own))


@pytest.mark.parametrize("seed", range(3))
def test_a_shop_of_full_size_is_proved(seed: int) -> None:
    found = choose(large(seed))
    assert found is not None
    assert found.proved
    assert large(seed).cost(found.packs) == found.cost


def test_the_small_method_agrees_with_the_large_where_it_takes_the_case() -> None:
    taken = 0
    for seed in range(40):
        problem = large(seed, parts=8, sellers=3)
        small, big = choose_small(problem), choose_large(problem)
        assert big is not None
        assert big.proved
        if small is not None:
            taken += 1
            assert small.cost == big.cost, seed
    assert taken > 10
