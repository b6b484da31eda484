"""From a power goal to charge, pressures and phasing, and back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from random import Random

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from compat.engineering import find
from compat.engineering.cycle import goal_search
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.engine_output import OperatingPoint, balance_at
from compat.engineering.cycle.friction import friction_mean_effective_pressure, pumping_mean_effective_pressure
from compat.engineering.formula import GoalOutOfReach, OutOfRange

# by keyword, as figures call them
operating_point = find("operating_point").function
output_at_manifold_pressure = find("output_at_manifold_pressure").function
closed_cycle = find("closed_cycle").function
knock_limited_ca50 = find("knock_limited_ca50").function

DEGREE, RPM = math.pi / 180, math.pi / 30
FUEL = {
    "octane": 98.0,
    "stoichiometric_ratio": 14.6,
    "heating_value": 43e6,
    "heat_of_vaporisation": 350e3,
    "density": 745.0,
}
# The two-litre four of the demo family, naturally aspirated and turbocharged, at rated power.
ASPIRATED = FUEL | {
    "power": 92e3,
    "speed": 5800 * RPM,
    "bore": 0.0855,
    "stroke": 0.087,
    "rod_length": 0.148,
    "cylinders": 4.0,
    "compression_ratio": 10.0,
    "relative_air_fuel_ratio": 0.88,
    "ambient_pressure": 101.3e3,
    "charge_temperature": 305.0,
    "volumetric_efficiency": 0.86,
}
TURBO = ASPIRATED | {
    "power": 147e3,
    "speed": 5600 * RPM,
    "compression_ratio": 8.8,
    "relative_air_fuel_ratio": 0.80,
    "charge_temperature": 318.0,
    "volumetric_efficiency": 0.90,
    "back_pressure_to_boost": 1.3,
}
# Near peak torque: here the end gas has time to ignite.
KNOCKING = TURBO | {
    "power": 265.0 * 3200 * RPM,
    "speed": 3200 * RPM,
    "relative_air_fuel_ratio": 0.88,
    "charge_temperature": 313.0,
}


def at_pressure(arguments: dict[str, float], manifold_pressure: float) -> OperatingPoint:
    rest = {k: v for k, v in arguments.items() if k not in ("power", "manifold_pressure_limit")}
    return output_at_manifold_pressure(manifold_pressure=manifold_pressure, **rest)


def test_naturally_aspirated_two_litre():
    # Common practice, no source: 280 to 300 g/kWh at rated power, peak pressure 5.5 to 6.5 times bmep,
    # manifold near ambient.
    point = operating_point(**ASPIRATED)
    assert 280 < point.bsfc * 3.6e9 < 300
    assert 5.5 < point.peak_pressure / point.bmep < 6.5
    assert 58e5 < point.peak_pressure < 75e5
    assert 95e3 < point.manifold_pressure < 108e3
    assert 10 * DEGREE < point.peak_pressure_angle < 18 * DEGREE
    assert 0.02 < point.residual_fraction < 0.06
    assert 900 < point.exhaust_temperature < 1250
    # Heat to the coolant about half of the brake power at rated power: common practice.
    assert 0.35 < point.heat_to_coolant / point.power < 0.8


def test_turbocharged_two_litre():
    # Trade: 320 to 350 g/kWh with enrichment, 85 to 120 bar, 70 kPa of boost.
    point = operating_point(**TURBO)
    assert 315 < point.bsfc * 3.6e9 < 350
    assert 82e5 < point.peak_pressure < 120e5
    assert 155e3 < point.manifold_pressure < 180e3
    # About 1 lb/min of air for 9.5 to 10.5 hp (common practice, no source), a little less when enriched.
    horsepower_a_pound_minute = (point.power / 745.7) / (point.air_flow / 0.45359237 * 60)
    assert 9.0 < horsepower_a_pound_minute < 11.0


@pytest.mark.parametrize("arguments", [ASPIRATED, TURBO, KNOCKING])
def test_the_goal_is_met_and_the_books_balance(arguments):
    point = operating_point(**arguments)
    assert point.power == pytest.approx(arguments["power"], rel=1e-6)
    assert point.bmep == pytest.approx(point.imep - point.pmep - point.fmep, rel=1e-12)
    displacement = 4 * math.pi / 4 * 0.0855**2 * 0.087
    assert point.power == pytest.approx(point.bmep * displacement * arguments["speed"] / (4 * math.pi))
    assert point.fmep == pytest.approx(
        friction_mean_effective_pressure(point.peak_pressure, 0.087, arguments["speed"])
    )
    assert point.pmep == pytest.approx(
        pumping_mean_effective_pressure(
            point.manifold_pressure,
            point.exhaust_pressure,
            0.087,
            arguments["speed"],
            arguments["charge_temperature"],
        )
    )
    ratio = arguments["stoichiometric_ratio"] * arguments["relative_air_fuel_ratio"]
    assert point.air_flow / point.fuel_flow == pytest.approx(ratio)
    assert point.bsfc * point.brake_efficiency * arguments["heating_value"] == pytest.approx(1.0)
    assert point.fuel_volume_flow * 745.0 == pytest.approx(point.fuel_flow)


@pytest.mark.parametrize("arguments", [ASPIRATED, TURBO, KNOCKING])
def test_there_and_back(arguments):
    there = operating_point(**arguments)
    back = at_pressure(arguments, there.manifold_pressure)
    for name, a, b in zip(there._fields, there, back, strict=True):
        assert b == pytest.approx(a, rel=1e-5, abs=1e-5), name


def test_the_same_cycle_whichever_way_it_is_asked():
    point = operating_point(**KNOCKING)
    names = ("bore", "stroke", "rod_length", "compression_ratio", "speed", "charge_temperature", "octane")
    names += ("volumetric_efficiency", "stoichiometric_ratio", "heating_value", "heat_of_vaporisation")
    shared = {k: KNOCKING[k] for k in (*names, "relative_air_fuel_ratio")}
    shared |= {"manifold_pressure": point.manifold_pressure, "exhaust_pressure": point.exhaust_pressure}
    cycle = closed_cycle(ca50=point.ca50, **shared)
    assert cycle.imep == pytest.approx(point.imep, rel=1e-9)
    assert cycle.peak_pressure == pytest.approx(point.peak_pressure, rel=1e-9)
    limit = knock_limited_ca50(**shared)
    assert limit.ca50 == pytest.approx(point.ca50, abs=1e-4 * DEGREE)
    assert limit.knock_integral == pytest.approx(limit.integral_limit, rel=1e-5)
    assert 0 < limit.efficiency_cost < 0.1


def test_knock_costs_boost_and_efficiency():
    held = operating_point(**KNOCKING)
    free = operating_point(**(KNOCKING | {"octane": 110.0, "octane_sensitivity": 0.0}))
    assert held.knock_retard > 1 * DEGREE
    assert held.knock_margin == pytest.approx(0.0, abs=1e-5)
    assert free.knock_retard == 0.0
    assert free.knock_margin > 0
    assert held.boost_cost == pytest.approx(held.manifold_pressure - free.manifold_pressure, rel=1e-6)
    assert held.boost_cost > 0
    assert held.bsfc > free.bsfc
    assert held.exhaust_temperature > free.exhaust_temperature
    assert held.peak_pressure < free.peak_pressure
    # Each step down in octane asks for more retard.
    retards = [operating_point(**(KNOCKING | {"octane": o})).knock_retard for o in (100.0, 98.0, 95.0, 92.0)]
    assert retards == sorted(retards)
    assert retards[-1] > retards[0]


def test_octane_outside_the_fit_is_said_and_costs_margin():
    inside = operating_point(**KNOCKING)
    outside = operating_point(**(KNOCKING | {"octane": 109.0}))
    assert inside.octane_extrapolation == 0.0
    assert outside.octane_extrapolation == pytest.approx(4.0)
    limits = dict.fromkeys((109.0,), 1 - outside.knock_margin)
    assert outside.knock_integral / limits[109.0] == pytest.approx(0.8 / 1.08)


def test_twelve_cylinders_are_three_fours():
    four = operating_point(**ASPIRATED)
    twelve = operating_point(**(ASPIRATED | {"cylinders": 12.0, "power": 3 * 92e3}))
    one = operating_point(**(ASPIRATED | {"cylinders": 1.0, "power": 92e3 / 4}))
    for other, factor in ((twelve, 3.0), (one, 0.25)):
        for name in ("power", "air_flow", "fuel_flow", "fuel_volume_flow", "heat_to_coolant"):
            assert getattr(other, name) == pytest.approx(factor * getattr(four, name), rel=1e-6)
        assert other.manifold_pressure == pytest.approx(four.manifold_pressure, rel=1e-6)
        assert other.peak_pressure == pytest.approx(four.peak_pressure, rel=1e-6)


@pytest.mark.parametrize(
    ("goal", "word"),
    [
        (
            ASPIRATED | {"power": 130e3, "manifold_pressure_limit": 101e3},
            "manifold pressure stands in the way",
        ),
        (ASPIRATED | {"power": 20e6}, "no spark-ignition engine"),
        (ASPIRATED | {"power": 1e30}, "no spark-ignition engine"),
        (TURBO | {"power": 560e3}, "knock stands in the way"),
        (ASPIRATED | {"compression_ratio": 30.0}, "knock stands in the way"),
        (KNOCKING | {"octane": 70.0}, "knock stands in the way"),
        (ASPIRATED | {"compression_ratio": 1.2, "power": 3e3}, "burned gas stands in the way"),
        (
            ASPIRATED | {"speed": 200 * RPM, "power": 1.0, "friction_factor": 0.2},
            "less than the engine gives",
        ),
    ],
)
def test_what_stands_in_the_way(goal, word):
    with pytest.raises(GoalOutOfReach, match=word):
        operating_point(**goal)


@pytest.mark.parametrize("manifold_pressure", [15e3, 1000e3])
def test_no_output_to_speak_of(manifold_pressure):
    with pytest.raises(GoalOutOfReach, match=r"take all that the cycle gives|knock stands in the way"):
        at_pressure(ASPIRATED, manifold_pressure)


@pytest.mark.parametrize(
    ("nonsense", "word"),
    [
        ({"power": -1.0}, "power"),
        ({"power": math.nan}, "power"),
        ({"cylinders": 0.0}, "cylinders"),
        ({"density": 0.0}, "density"),
        ({"ambient_pressure": math.inf}, "ambient_pressure"),
        ({"back_pressure_to_boost": -1.0}, "back_pressure_to_boost"),
        ({"speed": 20000 * RPM}, "mean piston speed"),
        ({"ca50_latest": 0.0}, "ca50_latest"),
        ({"friction_factor": 0.0}, "friction_factor"),
    ],
)
def test_nonsense_is_refused(nonsense, word):
    with pytest.raises(OutOfRange, match=word):
        operating_point(**(ASPIRATED | nonsense))


@pytest.mark.parametrize(
    "extreme",
    [
        ASPIRATED | {"power": 10.0},
        ASPIRATED | {"speed": 200 * RPM, "power": 300.0},
        ASPIRATED | {"speed": 20000 * RPM, "bore": 0.05, "stroke": 0.03, "rod_length": 0.07, "power": 35e3},
        ASPIRATED | {"compression_ratio": 2.0, "power": 5e3},
        TURBO | {"power": 400e3, "octane": 106.0, "octane_sensitivity": 8.0, "compression_ratio": 7.0},
        ASPIRATED | {"ambient_pressure": 60e3, "power": 50e3},
    ],
)
def test_extremes_give_an_answer(extreme):
    point = operating_point(**extreme)
    assert all(math.isfinite(value) for value in point)
    assert point.power == pytest.approx(extreme["power"], rel=1e-5)
    assert point.boost_cost >= 0.0
    assert point.knock_margin > -1e-5


RANGES = {
    "power": (20e3, 260e3),
    "speed": (2000 * RPM, 7500 * RPM),
    "bore": (0.075, 0.1),
    "stroke": (0.07, 0.1),
    "rod_length": (0.13, 0.2),
    "compression_ratio": (7.5, 13.0),
    "octane": (85.0, 112.0),
    "relative_air_fuel_ratio": (0.72, 1.2),
    "charge_temperature": (280.0, 370.0),
    "volumetric_efficiency": (0.7, 1.1),
    "ambient_pressure": (70e3, 104e3),
    "exhaust_back_pressure": (0.0, 60e3),
    "back_pressure_to_boost": (0.0, 2.0),
    "octane_sensitivity": (0.0, 15.0),
}
goals = st.fixed_dictionaries({name: st.floats(*ends) for name, ends in RANGES.items()})


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(goals, st.sampled_from(sorted(RANGES)))
def test_nothing_jumps(goal, moved):
    low, high = RANGES[moved]
    goal = FUEL | {"cylinders": 4.0} | goal
    nudged = goal | {moved: goal[moved] + 1e-6 * (high - low)}
    try:
        before, after = operating_point(**goal), operating_point(**nudged)
    except GoalOutOfReach:
        reject()
    size = {
        "boost": 100e3,
        "boost_cost": 100e3,
        "pmep": 100e3,
        "knock_margin": 1.0,
        "octane_extrapolation": 1.0,
    }
    size |= {"knock_retard": 1.0, "ca50": 1.0, "knock_phase": 0.1}  # nought at the edge of knock
    for name, a, b in zip(before._fields, before, after, strict=True):
        if name == "peak_pressure_angle":
            assert abs(a - b) < 0.05 * DEGREE or before.ca50 > 15 * DEGREE
        else:
            assert abs(a - b) <= 3e-4 * max(abs(a), size.get(name, 0.0)), name


def test_smooth_across_the_edge_of_knock():
    """Through the boundary from best phasing to knock-limited: a bend, never a step."""
    octanes = [108.0 - 0.1 * k for k in range(81)]
    points = [operating_point(**(KNOCKING | {"octane": octane})) for octane in octanes]
    retards = [p.knock_retard / DEGREE for p in points]
    assert retards[0] == 0.0
    assert retards[-1] > 1.0
    assert all(0.0 <= b - a < 0.15 for a, b in pairwise(retards))
    pressures = [p.manifold_pressure for p in points]
    assert all(0.0 <= b - a + 1e-3 < 80.0 for a, b in pairwise(pressures))


def test_what_one_cycle_says_that_knock_forbids_the_whole_search_finds_forbidden(monkeypatch):
    """Knock at the latest phasing with the charge of the best: no phasing before it does without."""
    forbids = goal_search._knocks_to_the_end
    asked: list[bool] = []
    # the answer is written down, and the whole search goes on
    monkeypatch.setattr(goal_search, "_HARD_KNOCK", 0.0)
    monkeypatch.setattr(goal_search, "_knocks_to_the_end", lambda *given: asked.append(forbids(*given)))
    chance, forbidden, left = Random(7), 0, 0
    for _ in range(60):
        goal = KNOCKING | {
            "power": chance.uniform(60e3, 220e3),
            "speed": chance.uniform(2500.0, 6500.0) * RPM,
            "compression_ratio": chance.uniform(8.0, 14.0),
            "charge_temperature": chance.uniform(280.0, 420.0),
        }
        asked.clear()
        said = refusal_of(goal)
        if asked == [True]:
            assert "knock stands in the way" in said, goal
        forbidden += asked == [True]
        left += asked == [False] and not said
    assert forbidden > 10
    assert left > 3


def refusal_of(goal: dict[str, float]) -> str:
    """Why a goal is out of reach; nothing where it is not."""
    try:
        operating_point(**goal)
    except GoalOutOfReach as refusal:
        return str(refusal)
    return ""


def goals(seed: int, count: int) -> Iterator[dict[str, float]]:
    """Goals at random, some without knock, most with it, some out of reach."""
    chance = Random(seed)
    for _ in range(count):
        yield KNOCKING | {
            "power": chance.uniform(60e3, 220e3),
            "speed": chance.uniform(2500.0, 6500.0) * RPM,
            "compression_ratio": chance.uniform(8.0, 12.0),
            "charge_temperature": chance.uniform(280.0, 350.0),
            "octane": chance.uniform(92.0, 106.0),
        }


def test_charge_and_phasing_together_end_where_step_by_step_ends(monkeypatch):
    """The quick search and the slow one, which nothing upsets, give the same point, or the same refusal."""

    def fails(*given: object) -> None:
        raise OutOfRange("not today")

    held = 0
    for goal in goals(5, 40):
        quick_refusal = refusal_of(goal)
        quick = None if quick_refusal else operating_point(**goal)
        with monkeypatch.context() as slow:
            slow.setattr(goal_search, "_retarded", fails)
            assert refusal_of(goal) == quick_refusal
            if quick is None:
                continue
            steps = operating_point(**goal)
        held += quick.knock_retard > 0
        assert quick.ca50 == pytest.approx(steps.ca50, abs=2e-6)
        for name in ("manifold_pressure", "peak_pressure", "bsfc", "exhaust_temperature"):
            assert getattr(quick, name) == pytest.approx(getattr(steps, name), rel=3e-6), name
    assert held > 8


def test_the_quick_search_seldom_leaves_it_to_the_slow_one(monkeypatch):
    left: list[object] = []
    steps = goal_search._retarded_by_steps
    monkeypatch.setattr(goal_search, "_retarded_by_steps", lambda *given: left.append(given) or steps(*given))
    for goal in goals(6, 60):
        refusal_of(goal)
    assert len(left) <= 1


def test_the_charge_that_a_search_ends_at_is_that_of_a_cycle_by_itself(monkeypatch):
    """A search steps on before its cycles have settled; a cycle by itself gives the same where it ends."""

    def fails(*given: object) -> float:
        raise AssertionError("the secant left it to the bracket")

    monkeypatch.setattr(goal_search, "bracketed_root", fails)
    for goal in goals(7, 40):
        engine = Engine(**{key: value for key, value in goal.items() if key in Engine.__dataclass_fields__})
        bmep = goal["power"] * 4 * math.pi / (engine.displacement * engine.speed)
        found = goal_search.without_knock(engine, bmep, 1000e3)
        alone = balance_at(engine, found.given.manifold_pressure, engine.ca50_best)
        assert found.bmep == pytest.approx(bmep, rel=2e-9)
        assert alone.bmep == pytest.approx(bmep, rel=5e-9)
        assert found.peak_pressure == pytest.approx(alone.peak_pressure, rel=5e-9)
        assert found.period.pressure == pytest.approx(alone.period.pressure, rel=5e-9)
        assert found.period.heat_loss == pytest.approx(alone.period.heat_loss, rel=2e-8)


def test_the_same_cycle_wherever_its_passes_start():
    """A cycle at hand is a first guess and no more: not even a far one moves the answer."""
    engine = Engine(**{key: value for key, value in KNOCKING.items() if key in Engine.__dataclass_fields__})
    alone = integrate(engine.at(160e3, 12 * DEGREE))
    for pressure, ca50 in ((161e3, 12 * DEGREE), (160e3, 9 * DEGREE), (90e3, 30 * DEGREE), (300e3, 5 * DEGREE)):
        after = integrate(engine.at(160e3, 12 * DEGREE), near=integrate(engine.at(pressure, ca50)))
        assert after.work == pytest.approx(alone.work, rel=2e-9)
        assert after.pressure == pytest.approx(alone.pressure, rel=5e-9)
        assert after.heat_loss == pytest.approx(alone.heat_loss, rel=2e-8)
