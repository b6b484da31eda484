"""Hot and thin air carries less heat away, from oil as from water: cores kept what they were rated with.

A core sheds by its difference to the air, and by the weight of air through it.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.checking.otherwise import figure, goal
from tests.checking.wrong import verdict

TRACK = "endurance-ethanol"
SMALL: dict[str, Any] = {"fit": {"oil_cooler": "cb-oil-cooler-13"}}


def test_a_core_is_rated_at_25_degrees_at_sea_level() -> None:
    """13 kW at 100 K; 120 degC less 25 are 95. ISO 2533: 1.184 kg/m3 at 25 degC and 1013.25 hPa."""
    at_sea = goal(altitude="0 m", air_temperature="25 degC")
    assert figure(TRACK, "cooling_air", at_sea) == pytest.approx(1, rel=1e-3)
    assert figure(TRACK, "oil_cooler_capacity", at_sea) == pytest.approx(0.95 * 13e3, rel=3e-3)


@pytest.mark.parametrize("name", ["oil_cooler_capacity", "radiator_capacity"])
def test_heat_and_height_take_from_it(name: str) -> None:
    """45 degC leaves 75 of 95 K or 60 of 80; at 2500 m air weighs three quarters (ISO 2533)."""
    rated = figure(TRACK, name, goal(altitude="0 m", air_temperature="25 degC"))
    assert figure(TRACK, name, goal(altitude="0 m", air_temperature="45 degC")) < rated * 0.8
    high = figure(TRACK, name, goal(altitude="2500 m", air_temperature="25 degC"))
    assert rated * 0.75 < high < rated * 0.9


def test_a_cooler_that_just_did_does_no_more_in_a_hot_country() -> None:
    assert verdict(TRACK, "oil-cooler-size", **SMALL) == "caution"
    hot = goal(air_temperature="45 degC")
    assert verdict(TRACK, "oil-cooler-far-too-small", **SMALL, **hot) == "shortfall"
    assert verdict(TRACK, "heat-and-radiator", **goal(altitude="2500 m")) == "shortfall"
