"""A build at another goal is the build that its file would say, though nothing else of it is read again."""

from __future__ import annotations

import pytest

from compat.library.library import Library, build_of_id
from compat.shop.aiming import re_aimed
from compat.shop.source import Faults
from compat.shop.writing import as_said

GOALS = [
    {"power": "151 kW"},
    {"rev_limit": "6450 rpm"},
    {"boost": "60 kPa", "power": "139 kW", "torque": "235 N*m"},
    {"altitude": "1500 m", "air_temperature": "35 degC"},
    {"at": "5990 rpm"},
    {"power": "200 hp"},
]


@pytest.mark.parametrize("goal", GOALS)
def test_it_is_the_build_that_its_file_would_say(demo: Library, goal: dict[str, str]) -> None:
    quick = 0
    for name in (*demo.shop.builds, *demo.shop.variants):
        ready = build_of_id(demo.shop, name)
        whole = ready.changed(goal={**as_said(ready.build.goal), **goal})
        assert ready.aiming(**goal) == whole
        assert repr(ready.aiming(**goal).build) == repr(whole.build)
        quick += re_aimed(ready, goal) is not None
    assert quick >= len(demo.shop.variants)


def test_an_option_with_a_goal_of_its_own_is_held_again(demo: Library) -> None:
    ready = build_of_id(demo.shop, "street-turbo")
    assert any(option.goal for option in ready.build.options)
    assert re_aimed(ready, {"power": "151 kW"}) is None


def test_what_was_measured_beside_the_build_stays(demo: Library) -> None:
    ready = build_of_id(demo.shop, "first-draft").measuring({"block.deck_height": "212.02 mm"})
    assert ready.aiming(power="150 kW").measured == ready.measured


@pytest.mark.parametrize(
    ("goal", "says"),
    [
        ({"power": "0 kW"}, "goal.power: '0 kW' is zero"),
        ({"power": "150 mm"}, "goal.power: '150 mm' is a length"),
        ({"power": 150}, "'power' wants a quantity in kW"),
        ({"powr": "150 kW"}, "'powr' is not known in a build; did you mean 'power'"),
        ({"duty": "lazy"}, "'lazy' is not one of"),
        ({"fuel": "no-such-fuel"}, "part 'no-such-fuel' is not known"),
        ({"torque": None}, "'torque_at' says at what speed, and 'torque' not how much"),
    ],
)
def test_what_does_not_suit_is_told_as_of_a_file(demo: Library, goal: dict[str, object], says: str) -> None:
    with pytest.raises(Faults) as told:
        build_of_id(demo.shop, "tarn-20-base").aiming(**goal)
    assert says in str(told.value)
