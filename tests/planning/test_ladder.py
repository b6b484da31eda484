"""What runs out as a goal rises, against whole checks just below and just above each rung."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import compat
from compat.checking.outcome import OUT, RANK
from compat.planning.ladder import Ladder, Rung, climb, raised
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, with_changes
from compat.trade.quote import make_quote

Run = Callable[..., Any]
DAY = date(2026, 3, 2)
CLIMBED = {"tarn-20-base": 130e3, "street-turbo": 200e3, "fell-30-base": 180e3}


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return compat.open_shop()


@pytest.fixture(scope="module")
def ladders(shop: compat.OpenShop) -> dict[str, Ladder]:
    return {name: climb(shop.session, shop.build(name), DAY, to=to, most=6) for name, to in CLIMBED.items()}


def rank_at(shop: compat.OpenShop, ready: ReadyBuild, power: float, rule: str) -> int:
    """What a whole check of the build at another power says by one rule."""
    goal = raised(ready.goal, power / ready.goal.power.nominal)
    outcome = shop.session.check(ready.aiming(**goal)).judged.outcomes.get(rule)
    return RANK["ok"] if outcome is None else RANK[outcome.verdict]


def rungs(ladders: dict[str, Ladder]) -> list[tuple[str, Rung]]:
    return [(name, rung) for name, found in ladders.items() for rung in found.rungs]


def test_each_rung_holds_below_and_fails_above(ladders: dict[str, Ladder], shop: compat.OpenShop) -> None:
    assert len(rungs(ladders)) > 12
    for name, rung in rungs(ladders):
        ready = shop.build(name)
        assert rank_at(shop, ready, rung.power * 1.001, rung.rule) <= OUT, rung
        if rung.power * 0.997 > ready.goal.power.nominal:
            assert rank_at(shop, ready, rung.power * 0.997, rung.rule) > OUT, rung


def test_a_rung_is_in_doubt_from_where_it_may_fail(ladders: dict[str, Ladder], shop: compat.OpenShop) -> None:
    doubtful = [(name, rung) for name, rung in rungs(ladders) if rung.may < 0.995 * rung.power]
    assert len(doubtful) > 4
    for name, rung in doubtful:
        ready = shop.build(name)
        assert rank_at(shop, ready, (rung.may + rung.power) / 2, rung.rule) < RANK["ok"], rung
        if rung.may * 0.996 > ready.goal.power.nominal:
            assert rank_at(shop, ready, rung.may * 0.996, rung.rule) == RANK["ok"], rung


def test_rungs_come_in_order_and_no_rule_fails_below_the_first(
    ladders: dict[str, Ladder], shop: compat.OpenShop
) -> None:
    for name, found in ladders.items():
        powers = [rung.power for rung in found.rungs]
        assert powers == sorted(powers)
        ready = shop.build(name)
        first = (found.start + min(powers)) / 2
        outcomes = shop.session.check(
            ready.aiming(**raised(ready.goal, first / found.start))
        ).judged.outcomes.values()
        assert not [o.rule for o in outcomes if RANK[o.verdict] <= OUT]


def test_what_passes_a_rung_passes_it_and_costs_what_a_quote_says(
    ladders: dict[str, Ladder], shop: compat.OpenShop
) -> None:
    passed = 0
    for name, rung in rungs(ladders):
        if not rung.changes:
            continue
        ready = shop.build(name)
        factor = min(
            rung.power / ready.goal.power.nominal * 1.02, CLIMBED[name] / ready.goal.power.nominal * 1.02
        )
        at = ready.aiming(**raised(ready.goal, factor))
        changes: list[Change] = [
            Fit(one["position"], one["part"]) if "position" in one else Do(one["work"]) for one in rung.changes
        ]
        after = with_changes(at, changes)
        outcome = shop.session.check(after).judged.outcomes.get(rung.rule)
        assert outcome is None or RANK[outcome.verdict] > OUT, rung
        if rung.cost is not None:
            nets = [make_quote(shop.session, one, DAY).quote.net for one in (at, after)]
            assert rung.cost == nets[1] - nets[0]
        passed += 1
    assert passed > 4


def test_torque_and_boost_rise_with_the_power(shop: compat.OpenShop) -> None:
    goal = shop.build("street-turbo").goal
    said = raised(goal, 1.2)
    assert float(said["power"].split()[0]) == pytest.approx(216.0)
    assert float(said["torque"].split()[0]) == pytest.approx(366.0)
    # ISO 2533: 100.13 kPa at 100 m; (100 + 100.13) * 1.2 - 100.13
    assert float(said["boost"].split()[0]) == pytest.approx(140.03, abs=0.01)


def test_the_command_writes_what_python_finds(run: Run, tmp_path: Path, ladders: dict[str, Ladder]) -> None:
    picture, page = tmp_path / "rungs.svg", tmp_path / "rungs.md"
    words = ("ladder", "tarn-20-base", "--to", "130 kW", "--most", "6", "--date", "2026-03-02")
    ran = run(*words, "--out", picture, "--out", page, "--json")
    assert ran.status == 0
    data = json.loads(ran.out)
    assert [one["rule"] for one in data["rungs"]] == [one.rule for one in ladders["tarn-20-base"].rungs]
    assert all(Decimal(one["cost"]) >= 0 for one in data["rungs"] if one["cost"] is not None)
    drawn = picture.read_text()
    assert drawn.startswith("<?xml")
    assert "Bars of power" in drawn
    for one in data["rungs"]:
        assert one["title"] in page.read_text()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("tarn-20-base", "--to", "150 mm"), "is a length"),
        (("tarn-20-base", "--to", "50 kW"), "no higher"),
        (("tarn-20-base", "--to", "lots"), "--to"),
        (("tarn-20-bass",), "tarn-20-base"),
    ],
)
def test_what_cannot_be_climbed_is_told(words: tuple[str, ...], says: str, run: Run) -> None:
    ran = run("ladder", *words)
    assert ran.status == 2
    assert says in ran.err
