"""Two builds side by side."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

import compat
from compat.planning.comparing import compare
from compat.shop.money import Money
from compat.trade.quote import make_quote

Run = Callable[..., Any]
DAY = date(2026, 3, 2)


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return compat.open_shop()


@pytest.mark.parametrize("build", ["street-turbo", "first-draft", "tarn-20-base", "fell-30-top-end"])
def test_a_build_beside_itself_is_alike(build: str, shop: compat.OpenShop) -> None:
    checked = shop.check(build).checked
    found = compare(checked, checked, DAY)
    assert found.alike
    assert found.a == found.b
    assert not any(load.apart for load in found.loads)


def test_what_differs_is_what_was_changed(shop: compat.OpenShop) -> None:
    ready = shop.build("street-turbo")
    other = ready.fitting(spark_plug="spn-plug-short-3")
    found = compare(shop.check(ready).checked, shop.check(other).checked, DAY)
    assert [(one.id, one.a, one.b) for one in found.parts] == [
        ("spark_plug", "4 x spn-plug-short-2", "4 x spn-plug-short-3")
    ]
    assert not found.work
    assert not found.entries


def test_each_side_is_what_a_check_and_a_quote_of_it_say(shop: compat.OpenShop) -> None:
    a, b = (shop.check(name).checked for name in ("street-turbo", "endurance-ethanol"))
    found = compare(a, b, DAY)
    for side, checked in ((found.a, a), (found.b, b)):
        quote = make_quote(shop.session, checked.world.settled.ready, DAY).quote
        assert (side.net, side.total, side.days) == (quote.net, quote.total, quote.lead.days)
        assert side.counts == checked.counts
        labour = [line.quantity for line in quote.lines if line.kind == "labour"]
        assert side.hours >= sum(labour, Decimal(0)) > 0


def test_every_rule_that_comes_out_otherwise_is_told_and_no_other(shop: compat.OpenShop) -> None:
    a, b = (shop.check(name) for name in ("long-stroke-20", "first-draft"))
    found = compare(a.checked, b.checked, DAY)
    told = {one.rule for one in found.findings if one.moved}
    notes = {name for name, bound in shop.book.rules.items() if bound.rule.sort == "note"}
    sides = [{f.rule: f.verdict for f in check.report.findings if f.rule not in notes} for check in (a, b)]
    # of a rule that applies to one build alone only what is not fine there is another outcome
    differ = {rule for rule in {*sides[0], *sides[1]} if sides[0].get(rule, "ok") != sides[1].get(rule, "ok")}
    assert differ <= told
    several = {rule for rule in told - differ if rule.startswith("need-")}
    assert told - differ == several  # a rule that asks for several things may be told of each
    moved = [one.moved for one in found.findings]
    assert moved.index(1) > max(number for number, one in enumerate(moved) if one == -1)


def test_turned_round_it_says_the_same(shop: compat.OpenShop) -> None:
    a, b = (shop.check(name).checked for name in ("street-turbo", "tarn-20-turbo"))
    one, other = compare(a, b, DAY), compare(b, a, DAY)
    assert {(p.id, p.a, p.b) for p in one.parts} == {(p.id, p.b, p.a) for p in other.parts}
    assert {(f.rule, f.moved) for f in one.findings} == {(f.rule, -f.moved) for f in other.findings}
    assert {(x.figure, x.a, x.b) for x in one.loads} == {(x.figure, x.b, x.a) for x in other.loads}


def test_the_command(run: Run) -> None:
    ran = run("compare", "tarn-20-base", "street-turbo", "--date", "2026-03-02")
    assert ran.status == 0
    assert "Turbocharger" in ran.out
    data = json.loads(run("compare", "tarn-20-base", "street-turbo", "--json", "--date", "2026-03-02").out)
    assert data["a"]["build"] == "tarn-20-base"
    total = Decimal(data["b"]["total"])
    assert total > 1000
    assert str(Money(total, "GBP")) in ran.out
    assert f"{total} GBP" not in ran.out
    assert {one["figure"] for one in data["loads"]} > {"design_pressure", "charge_temperature"}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("street-turbo", "street-trubo"), "did you mean 'street-turbo'"),
        (("-", "-"), "standard input holds one build"),
        (("street-turbo", "first-draft", "--date", "soon"), "soon"),
    ],
)
def test_what_cannot_be_compared_is_told(words: tuple[str, ...], says: str, run: Run) -> None:
    ran = run("compare", *words)
    assert ran.status == 2
    assert says in ran.err
    assert ran.out == ""
