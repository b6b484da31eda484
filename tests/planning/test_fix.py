"""Putting the demo shop's builds right, whole and checked."""

from __future__ import annotations

import os
from dataclasses import replace
from decimal import Decimal
from itertools import product

import pytest

from compat import Build, Faults, OpenShop, open_shop
from compat.library.library import Library
from compat.planning.fixed import Fixed
from compat.planning.options import space_of
from compat.planning.search import Search
from compat.planning.standard import FAILING
from compat.planning.terms import Terms
from compat.trade.pricing import final_works


@pytest.fixture(scope="module")
def shop(demo: Library) -> OpenShop:
    return OpenShop(demo.shop, demo.book)


@pytest.fixture(scope="module")
def draft(shop: OpenShop) -> Fixed:
    return shop.fix("first-draft", keep={"crankshaft"}, seconds=60, gap=0.5, others=0)


@pytest.fixture(scope="module")
def wrong(shop: OpenShop) -> Build:
    return shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")


@pytest.fixture(scope="module")
def cheapest(shop: OpenShop, wrong: Build) -> Fixed:
    return shop.fix(wrong, seconds=15, others=0, gap=0.02)


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


def test_a_wrong_piston_alone_is_exchanged(shop: OpenShop, wrong: Build) -> None:
    fixed = shop.fix(wrong, seconds=20, gap=0.02)
    assert fixed.best is not None
    assert {change.on for change in fixed.best.changes if change.wish} == {"piston"}
    assert fixed.best.checked.proven


def test_an_engine_as_it_left_the_factory_stays_as_it_is(shop: OpenShop) -> None:
    fixed = shop.fix("tarn-20-turbo", seconds=20)
    assert fixed.best is not None
    assert not fixed.best.changes
    assert fixed.ended == "proved"


def test_the_customers_turbocharger_cannot_be_kept(shop: OpenShop) -> None:
    """Whatever manifold, gate, boost valve and control it gets: found here without the solver."""
    build, things = shop.build("first-draft"), shop.things
    manifolds = things.fillers["exhaust_manifold"]
    gates, valves = ([None, *things.fillers[place]] for place in ("wastegate", "boost_valve"))

    def fails(rule: str, on: Build, **parts: str | None) -> bool:
        outcome = shop.ask(rule, on.fitting(**parts))
        return outcome is not None and outcome.verdict in FAILING

    turbo = {m: fails("turbo-flange", build, exhaust_manifold=m) for m in manifolds}
    gate = {
        (m, g): fails("gate-flange", build, exhaust_manifold=m, wastegate=g) for m in manifolds for g in gates
    }
    boost = {}
    for control in things.kinds["setup"]["boost_control"].words:
        other = build.changed(setup={**build.build.setup, "boost_control": control})
        for g, v in product(gates, valves):
            boost[control, g, v] = fails("reachable-boost", other, wastegate=g, boost_valve=v)
    stuck = [turbo[m] or gate[m, g] or boost[c, g, v] for m in manifolds for c, g, v in boost]
    assert len(stuck) == len(manifolds) * len(boost)
    assert all(stuck)
    kept = shop.fix("first-draft", keep={"turbocharger"}, seconds=60)
    assert (kept.ended, kept.best) == ("impossible", None)


COMPLETED = {
    "a turbocharged street engine, its boost left open": (
        "tarn-20-turbo",
        {
            "power": "175 kW",
            "at": "5600 rpm",
            "torque": "320 N*m",
            "torque_at": "3600 rpm",
        },
    ),
    "a natural engine": (
        "tarn-20-base",
        {
            "power": "110 kW",
            "at": "6000 rpm",
            "torque": "190 N*m",
            "torque_at": "4400 rpm",
            "rev_limit": "6800 rpm",
        },
    ),
    "a V6 that turns higher": ("fell-30-base", {"power": "175 kW", "at": "6700 rpm", "rev_limit": "7200 rpm"}),
    "a V6 with longer cams": (
        "fell-30-base",
        {
            "power": "185 kW",
            "at": "6800 rpm",
            "torque": "290 N*m",
            "torque_at": "4800 rpm",
            "rev_limit": "7300 rpm",
        },
    ),
}
"""Two goals on each family, each of them a draft that names a variant and a goal alone."""


@pytest.mark.parametrize(("variant", "goal"), COMPLETED.values(), ids=COMPLETED)
def test_a_goal_alone_is_completed(shop: OpenShop, variant: str, goal: dict[str, str]) -> None:
    fixed = shop.fix(shop.make(variant=variant, goal=goal), seconds=240, gap=0.99, others=0)
    assert fixed.best is not None
    whole = shop.check(fixed.best.ready)
    assert whole.proven
    assert 0 < fixed.bound <= fixed.best.worth
    asked = shop.make(variant=variant, goal=goal).goal
    got = fixed.best.ready.goal
    assert replace(got, boost=None) == asked
    if got.boost is not None:
        tried = fixed.sizes["boost"]
        assert got.boost.text() in tried
        assert any((change.what, change.on) == ("set", "boost") for change in fixed.best.changes)


def test_what_costs_least_is_never_reckoned_above_its_price(shop: OpenShop) -> None:
    """Work that the check adds by itself (a balance for another flywheel) is reckoned with what it renews."""
    goal = {"power": "175 kW", "at": "6700 rpm", "rev_limit": "7200 rpm"}
    ready = shop.make(variant="fell-30-base", goal=goal)
    terms = Terms(seconds=60, others=0)
    search = Search(space_of(shop.session, ready, terms), terms, enough=True)
    found = search.run()
    assert found.best is not None
    assert "balance" not in [done.work for done in found.best.checked.world.settled.build.work]
    assert "balance" in [work.work for work in final_works(found.best.checked)]
    reckoned = search.master.reckoned * search.master.scale
    assert reckoned <= found.best.worth
    assert reckoned >= 0.97 * found.best.worth


def test_a_goal_out_of_reach_is_proved_to_be_so(shop: OpenShop) -> None:
    goal = {
        "power": "195 kW",
        "at": "6800 rpm",
        "torque": "300 N*m",
        "torque_at": "5000 rpm",
        "rev_limit": "7400 rpm",
    }
    fixed = shop.fix(shop.make(variant="fell-30-base", goal=goal), seconds=60)
    assert (fixed.ended, fixed.best) == ("impossible", None)


def test_what_is_avoided_is_not_used(shop: OpenShop, wrong: Build, cheapest: Fixed) -> None:
    assert cheapest.best is not None
    piston = cheapest.best.ready.part_in("piston")
    other = shop.fix(wrong, seconds=15, others=0, gap=0.02, avoid={piston})
    assert other.best is None or other.best.ready.part_in("piston") != piston


def test_nothing_is_bought_from_whom_one_avoids(demo: Library) -> None:
    shop = open_shop()  # as it is kept, read row by row
    wrong = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    fixed = shop.fix(wrong, seconds=20, others=0, gap=0.05, avoid_suppliers={"vossmar"})
    assert fixed.best is not None
    from compat.planning.prices import Prices

    terms = Terms(avoid_suppliers=frozenset({"vossmar"}))
    bill = Prices(shop.things, terms, "tarn").bill(fixed.best.checked)
    assert bill.money == fixed.best.money
    assert {order.supplier.supplier for order in bill.plan.orders}.isdisjoint({"vossmar"})


def test_with_the_shelf_alone_an_engine_that_is_right_stays(shop: OpenShop) -> None:
    fixed = shop.fix("fell-30-base", seconds=15, stock_only=True)
    assert fixed.ended == "proved"
    assert fixed.best is not None
    assert not fixed.best.changes


def test_few_changes_and_early_days_are_aims_of_their_own(
    shop: OpenShop, wrong: Build, cheapest: Fixed
) -> None:
    money = cheapest.best
    changes, days = (
        shop.fix(wrong, seconds=15, others=0, gap=0.02, aim=aim).best for aim in ("changes", "time")
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
