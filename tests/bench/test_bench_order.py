"""How long choosing offers takes: for a demo build, and for 60 lines and 8 suppliers by either method."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from compat.trade.buying import plan, wanted
from compat.trade.choosing import choose
from compat.trade.large_choice import choose_large
from compat.trade.problem import Choice, Problem
from tests.look import check, demo_shop
from tests.trade.test_choosing import large


@pytest.mark.parametrize("method", [choose, choose_large])
@pytest.mark.parametrize("seed", [0, 2, 5])
def test_a_shop_of_full_size(
    benchmark: Callable[..., Any], seed: int, method: Callable[[Problem], Choice | None]
) -> None:
    found = benchmark(method, large(seed))
    assert found.proved


@pytest.mark.parametrize("aim", ["cost", "soonest"])
def test_a_demo_build(benchmark: Callable[..., Any], aim: str) -> None:
    demo = demo_shop()
    wants = wanted(check(demo.shop, demo.book, "street-turbo").checked)
    found = benchmark(plan, demo.shop, wants, aim, on=date(2026, 11, 30))
    assert found.proved
