"""Two changes of one build put together: nothing is lost, and what both changed is told."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.shop.joining import join
from compat.shop.writing import as_said
from tests.look import demo_shop

WAS: dict[str, Any] = {
    "build": "mule",
    "name": "Mule",
    "variant": "base",
    "goal": {"power": "100 kW", "at": "6000 rpm"},
    "fit": {"rod": "a", "piston": "p"},
    "take_from": [{"variant": "sister", "positions": ["head", "cam"]}],
    "leave_out": {"cooler": "short races"},
    "work": [{"work": "bore", "size": "86 mm"}, {"work": "hone"}, {"work": "wash"}],
    "renew": ["gasket"],
}


def changed(**entries: Any) -> dict[str, Any]:
    said = {**WAS, **entries}
    return {key: value for key, value in said.items() if value is not None}


def test_without_changes_all_stays() -> None:
    found = join(WAS, WAS, WAS)
    assert found.said == WAS
    assert not found.both
    assert not found.mine
    assert not found.theirs


@pytest.mark.parametrize("name", ["street-turbo", "first-draft", "endurance-ethanol", "phase-upgrade"])
def test_every_demo_build_comes_out_as_it_went_in(name: str) -> None:
    said = as_said(demo_shop().shop.builds[name])
    assert join(said, said, said).said == said


@pytest.mark.parametrize(
    "change",
    [
        {"goal": {"power": "120 kW", "at": "6000 rpm"}},
        {"goal": {"at": "6000 rpm", "power": "100 kW", "torque": "200 N*m"}},
        {"fit": {"rod": "b", "piston": "p"}},
        {"fit": {"piston": "p"}},
        {"fit": {"rod": "a", "piston": "p", "cooler": "c"}, "leave_out": None},
        {"take_from": [{"variant": "sister", "positions": ["head"]}], "fit": {**WAS["fit"], "cam": "c"}},
        {"take_from": None},
        {"work": [{"work": "bore", "size": "86.5 mm"}, {"work": "hone"}, {"work": "wash"}]},
        {"work": [{"work": "hone"}, {"work": "bore", "size": "86 mm"}, {"work": "wash"}]},
        {"work": [{"work": "bore", "size": "86 mm"}, {"work": "test"}, {"work": "hone"}, {"work": "wash"}]},
        {"work": None},
        {"renew": "all"},
        {"renew": ["gasket", "seal"]},
        {"note": "for the hill climb", "customer": "A. Rowe"},
        {"setup": {"ignition": "sequential"}, "measured": {"rod.mass": "500 g"}},
    ],
)
def test_what_one_side_changed_is_as_that_side_has_it(change: dict[str, Any]) -> None:
    one = changed(**change)
    for mine, theirs in ((one, WAS), (WAS, one), (one, one)):
        found = join(WAS, mine, theirs)
        assert found.said == one, (mine is one, theirs is one)
        assert not found.both


def test_two_changes_of_different_entries_are_both_there() -> None:
    mine = changed(
        goal={"power": "120 kW", "at": "6000 rpm"},
        fit={"rod": "b", "piston": "p"},
        work=[{"work": "bore", "size": "86 mm"}, {"work": "hone"}, {"work": "balance"}, {"work": "wash"}],
    )
    theirs = changed(
        goal={"power": "100 kW", "at": "6200 rpm"},
        fit={"rod": "a", "piston": "q"},
        work=[{"work": "test"}, {"work": "bore", "size": "86.5 mm"}, {"work": "hone"}, {"work": "wash"}],
        renew=["gasket", "seal"],
    )
    found = join(WAS, mine, theirs)
    assert not found.both
    assert found.said["goal"] == {"power": "120 kW", "at": "6200 rpm"}
    assert found.said["fit"] == {"rod": "b", "piston": "q"}
    assert [one["work"] for one in found.said["work"]] == ["test", "bore", "hone", "balance", "wash"]
    assert found.said["work"][1] == {"work": "bore", "size": "86.5 mm"}
    assert found.said["renew"] == ["gasket", "seal"]


def test_what_both_changed_is_told_and_chosen() -> None:
    mine = changed(fit={"rod": "b", "piston": "p"}, leave_out={"cooler": "mine"})
    theirs = changed(fit={"piston": "p"}, leave_out={"cooler": "short races", "rod": "theirs"})
    found = join(WAS, mine, theirs)
    (both,) = found.both
    assert both.key == ("place", "rod")
    assert (both.was, both.mine, both.theirs) == ({"fit": "a"}, {"fit": "b"}, {"leave_out": "theirs"})
    assert found.said["fit"]["rod"] == "b"
    assert found.said["leave_out"] == {"cooler": "mine"}
    chosen = join(WAS, mine, theirs, {both.key: "theirs"})
    assert chosen.said["fit"] == {"piston": "p"}
    assert chosen.said["leave_out"] == {"cooler": "mine", "rod": "theirs"}


def test_an_entry_struck_by_one_and_changed_by_the_other_is_told() -> None:
    mine = changed(fit={"piston": "p"})
    theirs = changed(fit={"rod": "b", "piston": "p"})
    (both,) = join(WAS, mine, theirs).both
    assert both.mine is None
    assert both.theirs == {"fit": "b"}
    assert "rod" not in join(WAS, mine, theirs).said["fit"]
    assert join(WAS, mine, theirs, {both.key: "theirs"}).said["fit"]["rod"] == "b"


def test_work_that_comes_twice_is_not_taken_for_one() -> None:
    twice = changed(work=[{"work": "measure"}, {"work": "hone"}, {"work": "measure"}])
    assert join(twice, twice, twice).said == twice
    more = changed(work=[{"work": "measure"}, {"work": "hone"}, {"work": "measure"}, {"work": "wash"}])
    assert join(twice, more, twice).said == more


def test_two_orders_of_the_work_are_a_choice() -> None:
    bore, hone, wash = WAS["work"]
    mine, theirs = changed(work=[hone, bore, wash]), changed(work=[bore, wash, hone])
    (both,) = join(WAS, mine, theirs).both
    assert both.key == ("work", "in its order")
    assert join(WAS, mine, theirs).said["work"] == [hone, bore, wash]
    assert join(WAS, mine, theirs, {both.key: "theirs"}).said["work"] == [bore, wash, hone]


words = st.dictionaries(st.sampled_from("abcd"), st.sampled_from("123"), max_size=4)
things = st.lists(st.sampled_from("uvwx"), unique=True, max_size=4)


@st.composite
def builds(draw: st.DrawFn) -> dict[str, Any]:
    said: dict[str, Any] = {"build": "x", "goal": draw(words), "fit": draw(words)}
    said["work"] = [{"work": one} for one in draw(things)]
    return {key: value for key, value in said.items() if value}


@given(builds(), builds(), builds())
def test_nothing_that_one_side_alone_said_is_lost(
    was: dict[str, Any], mine: dict[str, Any], theirs: dict[str, Any]
) -> None:
    found = join(was, mine, theirs)
    told = {one.key for one in found.both}
    for entry, kind in (("goal", "goal"), ("fit", "place")):
        for word in "abcd":
            old, my, their = (side.get(entry, {}).get(word) for side in (was, mine, theirs))
            now = found.said.get(entry, {}).get(word)
            if my in (old, their):
                assert now == their
            elif their == old:
                assert now == my
            else:
                assert (kind, word) in told
                assert now == my
    names = [one["work"] for one in found.said.get("work", [])]
    assert len(names) == len(set(names))
    for one in "uvwx":
        old, my, their = ({"work": one} in side.get("work", []) for side in (was, mine, theirs))
        assert (one in names) == (their if my == old else my)
