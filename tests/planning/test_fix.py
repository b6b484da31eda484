"""Putting the demo shop's builds right, whole and checked."""

from __future__ import annotations

import os
from decimal import Decimal

import pytest

from compat import Faults, OpenShop, open_shop
from compat.library.library import Library
from compat.planning.fixed import Fixed


@pytest.fixture(scope="module")
def shop(demo: Library) -> OpenShop:
    return OpenShop(demo.shop, demo.book)


@pytest.fixture(scope="module")
def draft(shop: OpenShop) -> Fixed:
    return shop.fix("first-draft", keep={"crankshaft"}, seconds=45, gap=0.5, others=1)


def test_the_first_draft_is_put_right_on_the_customers_crankshaft(shop: OpenShop, draft: Fixed) -> None:
    assert draft.best is not None
    build = draft.best.ready
    assert build.part_in("crankshaft") == shop.build("first-draft").part_in("crankshaft")
    whole = shop.check(build)
    assert whole.proven
    assert draft.bound <= draft.best.worth
    assert build.goal == shop.build("first-draft").goal


def test_every_change_is_told_once_with_its_reason(draft: Fixed) -> None:
    assert draft.best is not None
    changes = [(change.what, change.on) for change in draft.best.changes]
    assert len(changes) == len(set(changes))
    assert any(change.clears or change.holds for change in draft.best.changes)
    assert all(change.given_up >= 0 for change in draft.best.changes)


def test_a_wrong_piston_alone_is_exchanged(shop: OpenShop) -> None:
    wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    fixed = shop.fix(wrong, seconds=20, gap=0.02)
    assert fixed.best is not None
    assert {change.on for change in fixed.best.changes if change.wish} == {"piston"}
    assert fixed.best.checked.proven


def test_an_engine_as_it_left_the_factory_stays_as_it_is(shop: OpenShop) -> None:
    fixed = shop.fix("tarn-20-turbo", seconds=20)
    assert fixed.best is not None
    assert not fixed.best.changes
    assert fixed.ended == "proved"


@pytest.mark.parametrize(
    ("variant", "goal"),
    [
        ("tarn-20-phase", {"power": "118 kW", "at": "6300 rpm", "rev_limit": "6800 rpm"}),
        ("fell-30-base", {"power": "175 kW", "at": "6700 rpm", "rev_limit": "7200 rpm"}),
    ],
)
def test_a_goal_alone_is_completed(shop: OpenShop, variant: str, goal: dict[str, str]) -> None:
    fixed = shop.fix(shop.make(variant=variant, goal=goal), seconds=20, gap=0.5)
    assert fixed.best is not None
    assert shop.check(fixed.best.ready).proven
    assert fixed.bound <= fixed.best.worth


def test_what_is_avoided_is_not_used(shop: OpenShop) -> None:
    wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    usual = shop.fix(wrong, seconds=15, others=0, gap=0.02)
    assert usual.best is not None
    piston = usual.best.ready.part_in("piston")
    other = shop.fix(wrong, seconds=15, others=0, gap=0.02, avoid={piston})
    assert other.best is None or other.best.ready.part_in("piston") != piston


def test_nothing_is_bought_from_whom_one_avoids(demo: Library) -> None:
    shop = open_shop()  # as it is kept, read row by row
    wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    fixed = shop.fix(wrong, seconds=20, others=0, gap=0.05, avoid_suppliers={"vossmar"})
    assert fixed.best is not None
    from compat.planning.prices import Prices
    from compat.planning.terms import Terms

    terms = Terms(avoid_suppliers=frozenset({"vossmar"}))
    bill = Prices(shop.things, terms, "tarn").bill(fixed.best.checked)
    assert bill.money == fixed.best.money
    assert {order.supplier.supplier for order in bill.plan.orders}.isdisjoint({"vossmar"})


def test_with_the_shelf_alone_an_engine_that_is_right_stays(shop: OpenShop) -> None:
    fixed = shop.fix("fell-30-base", seconds=15, stock_only=True)
    assert fixed.ended == "proved"
    assert fixed.best is not None
    assert not fixed.best.changes


def test_few_changes_and_early_days_are_aims_of_their_own(shop: OpenShop) -> None:
    wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    money, changes, days = (
        shop.fix(wrong, seconds=15, others=0, gap=0.02, aim=aim).best for aim in ("money", "changes", "time")
    )
    assert money is not None
    assert changes is not None
    assert days is not None
    count = [sum(change.what != "renew" for change in each.changes) for each in (money, changes)]
    assert count[1] <= count[0]
    assert days.days is not None
    assert money.days is not None
    assert days.days <= money.days


@pytest.mark.skipif("PLANNING_SHOPS" not in os.environ, reason="half a minute: with PLANNING_SHOPS set")
def test_within_a_budget_the_least_headroom_is_raised(shop: OpenShop) -> None:
    plain = shop.fix("phase-upgrade", seconds=15, others=0, gap=0.02)
    assert plain.best is not None
    budget = plain.best.money * 2
    strong = shop.fix("phase-upgrade", seconds=30, aim="headroom", budget=budget)
    assert strong.best is not None
    assert strong.best.money <= budget
    assert strong.best.least_headroom is not None
    assert plain.best.least_headroom is not None
    assert strong.best.least_headroom >= plain.best.least_headroom


def test_impossible_terms_are_refused(shop: OpenShop) -> None:
    with pytest.raises(Faults) as caught:
        shop.fix("street-turbo", keep={"pistn"}, avoid_suppliers={"nobody"}, budget=Decimal(-1), seconds=0)
    told = [str(fault) for fault in caught.value.faults]
    assert len(told) == 4
    assert any("did you mean 'piston'" in each for each in told)
