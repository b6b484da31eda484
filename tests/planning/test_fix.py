"""Putting the demo shop's builds right, whole and checked."""

from __future__ import annotations

from decimal import Decimal

import pytest

from compat import Faults, OpenShop
from compat.library.library import Library
from compat.planning.fixed import Fixed


@pytest.fixture(scope="module")
def shop(demo: Library) -> OpenShop:
    return OpenShop(demo.shop, demo.book)


@pytest.fixture(scope="module")
def draft(shop: OpenShop) -> Fixed:
    return shop.fix("first-draft", keep={"crankshaft"}, seconds=45)


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
    fixed = shop.fix(wrong, seconds=20)
    assert fixed.best is not None
    assert {change.on for change in fixed.best.changes if change.wish} == {"piston"}
    assert fixed.best.checked.proven


def test_what_is_right_stays_as_it_is(shop: OpenShop) -> None:
    fixed = shop.fix("street-turbo", seconds=10)
    assert fixed.best is not None
    assert not fixed.best.changes


def test_impossible_terms_are_refused(shop: OpenShop) -> None:
    with pytest.raises(Faults) as caught:
        shop.fix("street-turbo", keep={"pistn"}, avoid_suppliers={"nobody"}, budget=Decimal(-1), seconds=0)
    told = [str(fault) for fault in caught.value.faults]
    assert len(told) == 4
    assert "piston" in told[0]
