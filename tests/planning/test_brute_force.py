"""The best build of random small shops, held against brute force over the checker.

`PLANNING_SHOPS=300` tries three hundred; without it a few are tried.
"""

from __future__ import annotations

import os
from itertools import product
from pathlib import Path

import pytest

from compat.checking.session import Session
from compat.library.library import load
from compat.planning.options import space_of
from compat.planning.search import Search
from compat.planning.standard import FAILING
from compat.planning.terms import Terms
from compat.shop.builds import prepare
from compat.shop.source import Faults
from tests.planning.random_shops import small_shop, write_shop

SHOPS = int(os.environ.get("PLANNING_SHOPS", "8"))


@pytest.mark.parametrize("seed", range(SHOPS))
def test_the_best_build_of_a_small_shop_is_the_best_there_is(seed: int, tmp_path: Path) -> None:
    library = load(write_shop(tmp_path, *small_shop(seed)))
    terms = Terms(seconds=120)
    session = Session(library.shop, library.book)
    search = Search(space_of(session, prepare(library.shop, library.shop.builds["draft"]), terms), terms)
    found = search.run()

    best = None
    other = Session(library.shop, library.book)
    for choice in product(*(range(len(decision.options)) for decision in search.space.decisions)):
        ready = search.space.build(choice)
        if ready.forced:
            continue  # what other work drags in is named, or it has no size
        checked = other.check(ready)
        if any(checked.counts[verdict] for verdict in FAILING):
            continue
        try:
            bill = search.prices.bill(checked)
        except Faults:
            continue  # somebody would have to sell it
        worth = search.prices.grains(bill.money) + search.costs.given_up(choice)
        best = worth if best is None else min(best, worth)

    assert found.ended == ("impossible" if best is None else "proved")
    assert (found.best.worth if found.best else None) == best
    for solution in found.solutions:
        whole = Session(library.shop, library.book).check(solution.checked.world.settled.ready)
        assert not any(whole.counts[verdict] for verdict in FAILING)
        assert solution.worth >= found.bound
