"""Another goal as a remedy: the value is the nearest at which a whole check finds nothing any more."""

from __future__ import annotations

from typing import Any

import pytest

import compat
from compat.checking.check import Checked
from compat.checking.easing import eased, with_aims
from compat.checking.helping import Helping
from compat.checking.outcome import RANK, Outcome
from compat.checking.trials import Trials
from compat.rulebook.scope import GOAL
from compat.shop.changing import Aim, with_changes
from compat.units import read_band


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return compat.open_shop()


@pytest.fixture(scope="module")
def draft(shop: compat.OpenShop) -> Checked:
    return shop.check("first-draft").checked


def at(shop: compat.OpenShop, checked: Checked, aims: tuple[Aim, ...], rule: str) -> int:
    after = shop.session.check(with_changes(checked.world.settled.ready, aims), checked)
    outcome = after.judged.outcomes.get(rule)
    return RANK["ok"] if outcome is None else RANK[outcome.verdict]


def found_by(checked: Checked, rule: str, key: str, what: str, along: bool = False) -> tuple[Aim, ...] | None:
    return eased(Trials(checked.world, checked.judged), checked.judged.outcomes[rule], key, what, along)


def test_the_power_is_what_the_maker_of_the_rod_states(draft: Checked) -> None:
    """160 kW on its card, and no headroom asked of a figure that the maker states."""
    limit = draft.world.settled.specs.at("rod", "power_limit")
    assert limit is not None
    assert found_by(draft, "rod-within-power-limit", "relax", "power") == (Aim("power", "160 kW"),)
    assert limit.value == read_band("160 kW")


def test_the_rev_limit_follows_from_the_stroke(draft: Checked) -> None:
    """Mean piston speed is twice the stroke times the speed; 20.5 m/s are borne, in steps of 50 rpm."""
    stroke: Any = draft.world.settled.specs.at("crankshaft", "stroke")
    limit = 20.5 / (2 * stroke.value.nominal) * 60
    assert found_by(draft, "piston-speed", "relax", "rev_limit") == (
        Aim("rev_limit", f"{limit // 50 * 50:g} rpm"),
    )


def test_less_torque_takes_the_power_along_where_it_must(draft: Checked) -> None:
    """Torque at the speed of peak power is no more than the peak torque: power is torque times speed."""
    found = found_by(draft, "gearbox-torque", "relax", "torque")
    assert found is not None
    torque, power = (read_band(one.value).nominal for one in found)
    assert [one.entry for one in found] == ["torque", "power"]
    rating: Any = draft.world.settled.specs.at("gearbox", "torque_rating")
    assert torque == pytest.approx(rating.value.nominal // 5 * 5)
    assert power <= torque * 6200 * 2 * 3.14159265 / 60 < power + 1e3


def test_less_power_takes_the_torque_along_where_it_must(draft: Checked) -> None:
    """360 N*m at 4000 rpm are 151 kW: below that the torque goes down with the power."""
    found = found_by(draft, "rod-buckling", "relax", "power")
    assert found is not None
    assert [one.entry for one in found] == ["power", "torque"]
    power, torque = (read_band(one.value).nominal for one in found)
    assert torque * 4000 * 2 * 3.14159265 / 60 <= power < 151e3


ASKED = [("relax", what) for what in GOAL if what not in ("altitude", "air_temperature")]
ASKED += [("raise", "boost"), ("raise", "speed"), ("raise", "torque_speed")]


@pytest.mark.parametrize("build", ["first-draft", "endurance-ethanol"])
@pytest.mark.parametrize(("key", "what"), ASKED)
def test_one_step_nearer_does_not_do(build: str, key: str, what: str, shop: compat.OpenShop) -> None:
    """By whole checks at the value found, and at the value a step nearer to what is asked."""
    checked = shop.check(build).checked
    trials, step = Trials(checked.world, checked.judged), {"kW": 1, "N*m": 5, "rpm": 50, "kPa": 1}
    rules = [
        rule
        for rule, outcome in checked.judged.outcomes.items()
        if RANK[outcome.verdict] <= RANK["shortfall"]
        and any(entry.get(key) == what for entry in trials.book.rules[rule].rule.remedies)
    ]
    for rule in rules[:6]:
        found = eased(trials, checked.judged.outcomes[rule], key, what)
        if found is None:
            continue
        assert at(shop, checked, found, rule) > RANK["unknown"], rule
        entry, (number, unit) = found[0].entry, found[0].value.split()
        nearer = float(number) + step[unit] * (1 if key == "relax" else -1)
        asked = getattr(checked.world.settled.goal, entry).nominal
        if abs(read_band(f"{nearer} {unit}").nominal - asked) < 1e-9:
            continue
        if len(found) == 1:  # else what goes along would have to move with it
            assert at(shop, checked, (Aim(entry, f"{nearer:g} {unit}"),), rule) <= RANK["unknown"], rule


@pytest.mark.parametrize("build", ["first-draft", "street-turbo", "fell-30-base"])
def test_a_rule_asked_at_another_goal_says_what_a_whole_check_says(build: str, shop: compat.OpenShop) -> None:
    """But for rules that look at joints or offers, which nobody eases a goal by before a whole check agrees."""
    checked = shop.check(build).checked
    trials = Trials(checked.world, checked.judged)
    goal = checked.world.settled.goal
    aims = (
        Aim("power", f"{goal.power.nominal / 1e3 * 0.8:.0f} kW"),
        Aim("rev_limit", f"{goal.at.nominal * 60 / 6.283185 * 1.05:.0f} rpm"),
        *([Aim("torque", f"{goal.torque.nominal * 0.75:.0f} N*m")] if goal.torque else []),
        *([Aim("boost", f"{goal.boost.nominal / 1e3 * 0.7:.0f} kPa")] if goal.boost else []),
    )
    moved = trials.book.influence.of(("goal", name) for name in GOAL)
    after = shop.session.check(with_changes(checked.world.settled.ready, aims), checked)
    asked = [
        rule
        for rule in moved.rules & trials.book.judged.keys()
        if trials.places.by_itself(trials.book.judged[rule])
    ]
    assert len(asked) > 100
    for rule in asked:
        whole: Outcome | None = after.judged.outcomes.get(rule)
        light = trials.aimed(rule, with_aims(goal, aims), moved.figures)
        assert (light and light.verdict) == (whole and whole.verdict), rule


def test_an_entry_that_is_not_stated_is_not_moved(shop: compat.OpenShop) -> None:
    """A naturally aspirated goal has no boost to be less of."""
    helping = Helping(shop.check("fell-30-base").world)
    assert not helping.can_be("relax", "boost")
    assert helping.can_be("relax", "power")


def test_a_word_of_the_setup_that_is_said_already_helps_nobody(draft: Checked) -> None:
    helping = Helping(draft.world)
    assert helping.can_be("set", "ignition=wasted_spark")
    assert not helping.can_be("set", "ignition=sequential")


def test_what_is_not_fitted_is_not_left_out(draft: Checked) -> None:
    helping = Helping(draft.world)
    assert helping.can_be("leave_out", "wastegate")
    assert not helping.can_be("leave_out", "supercharger")
    assert not helping.can_be("raise", "boost", "supercharger")
    assert helping.can_be("raise", "boost", "turbocharger")
