"""What lies beside a design point: the same found by way of it, and by itself; and passes that settle."""

from __future__ import annotations

import math
from collections.abc import Iterator
from random import Random

import numpy as np
import pytest

from compat.checking.answers import Answers, said
from compat.engineering import GoalOutOfReach, OutOfRange, find
from compat.engineering.cycle import design_point as module
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.cycle_passes import TOLERANCE, Passes
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.working_gas import working_gas

RPM = math.pi / 30
POINT = find("design_point")
RATIO = "compression_ratio"


def goals(seed: int, count: int) -> Iterator[dict[str, float]]:
    """Goals of a four-cylinder at random, aspirated and boosted, at any speed."""
    chance = Random(seed)
    for _ in range(count):
        yield {
            "power": chance.uniform(40e3, 220e3),
            "speed": chance.uniform(2500.0, 7000.0) * RPM,
            "bore": chance.uniform(0.07, 0.1),
            "stroke": chance.uniform(0.07, 0.1),
            "rod_length": chance.uniform(0.14, 0.16),
            "cylinders": 4.0,
            RATIO: chance.uniform(7.5, 13.0),
            "octane": chance.uniform(92.0, 106.0),
            "stoichiometric_ratio": 14.6,
            "heating_value": 43e6,
            "heat_of_vaporisation": 350e3,
            "density": 745.0,
            "relative_air_fuel_ratio": chance.choice((0.85, 0.9, 1.0)),
            "ambient_pressure": 101.3e3,
            "charge_temperature": chance.uniform(290.0, 350.0),
            "volumetric_efficiency": chance.uniform(0.8, 1.0),
            "back_pressure_to_boost": chance.choice((0.0, 1.3)),
        }


def test_beside_a_point_is_the_point_of_what_was_moved():
    knocked = 0
    for goal in goals(11, 30):
        for step in (0.002, -0.05, 0.4):
            beside = POINT.function_beside(**goal, argument=RATIO, step=step)
            alone = POINT.function(**(goal | {RATIO: goal[RATIO] + step}))
            knocked += 0.0 < alone.light_knock < module.LIGHT_KNOCK
            assert beside == pytest.approx(alone, rel=5e-9, abs=10.0)
            assert beside.light_knock == pytest.approx(alone.light_knock, abs=1e-6 * module.LIGHT_KNOCK)
    assert knocked > 5


def test_beside_a_point_nothing_hangs_on_what_was_asked_before():
    one, other = goals(12, 2)
    module._burned_best.cache_clear()
    anew = POINT.function_beside(**one, argument=RATIO, step=0.05)
    POINT.function(**other)
    POINT.function_beside(**one, argument=RATIO, step=-0.3)
    assert POINT.function_beside(**one, argument=RATIO, step=0.05) == anew
    point = POINT.function(**one)
    module._burned_best.cache_clear()
    assert POINT.function(**one) == point


def test_beside_a_point_may_lie_outside_the_model():
    goal = next(goals(13, 1))
    with pytest.raises(OutOfRange, match="compression_ratio"):
        POINT.function_beside(**goal, argument=RATIO, step=40.0)
    with pytest.raises(GoalOutOfReach):
        POINT.function_beside(**(goal | {"power": 2e6}), argument=RATIO, step=0.1)


def test_answers_beside_are_kept_apart(formulas_run_anew: None):
    """What is found by way of a point and what is asked by itself agree, and are two questions."""
    goal, answers = next(goals(14, 1)), Answers()
    beside = answers.of(POINT, goal, (RATIO, 0.1))
    alone = answers.of(POINT, goal | {RATIO: goal[RATIO] + 0.1})
    assert len(answers) == 2
    assert said(beside, "quick_peak") == pytest.approx(said(alone, "quick_peak"), rel=5e-9)
    assert answers.of(POINT, goal, (RATIO, 0.1)) is beside
    plain = find("compressor_point")
    assert not plain.beside
    with pytest.raises(LookupError):
        _ = plain.function_beside


def test_passes_settle_to_less_than_a_hundredth_of_what_the_last_one_moved():
    """Against as many passes more as change nothing any longer."""
    for goal in goals(15, 25):
        engine = Engine(**{name: value for name, value in goal.items() if name != "power"})
        given = engine.at(120e3, math.radians(12.0))
        passes = Passes(given, given.manifold_pressure, given.exhaust_pressure, given.ca50)
        moved = passes.within(TOLERANCE)
        settled = passes.period()
        for _ in range(6):
            passes.once()
        final = passes.period()
        off = float(np.max(np.abs(settled.pressure / final.pressure - 1.0)))
        assert off < max(1e-2 * moved, 1e-13)
        assert integrate(given).work == pytest.approx(final.work, rel=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.07, 1.0])
def test_enthalpy_of_a_charge_is_that_of_the_tables(share: float):
    gas = working_gas(14.6, 43e6, 0.9)
    mixed = (1.0 - share) * gas.fresh_enthalpy + share * gas.burned_enthalpy
    for temperature in (150.0, 200.0, 293.15, 330.0, 1100.0, 4193.0, 4200.0, 5000.0):
        enthalpy = gas.enthalpy(temperature, share)
        assert enthalpy == pytest.approx(np.interp(temperature, gas.temperature, mixed), rel=1e-12)
        held = min(max(temperature, 200.0), 4200.0)
        assert gas.temperature_of(enthalpy, share) == pytest.approx(held, rel=1e-12)
    assert gas.temperature_of(mixed[0] - 1e5, share) == 200.0
    assert gas.temperature_of(mixed[-1] + 1e5, share) == 4200.0
