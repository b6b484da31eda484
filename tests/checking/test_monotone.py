"""Verdicts move the way a builder expects: more power, speed, heat or duty never makes a part look better.

The directions are common practice, no source; each rests on one sentence of physics named beside it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import pytest

from compat.library.library import Library
from compat.rulebook.values import Number
from compat.shop.builds import as_build
from compat.shop.models import Build
from compat.shop.shop import Shop
from compat.units import Band, read_band
from compat.words.report import Finding
from tests.look import check, settle

TURBO, NATURAL = ["street-turbo", "tarn-20-turbo"], ["tarn-20-phase", "tarn-20-base"]
ORDER = ("ok", "caution", "measure", "unknown", "missing", "shortfall", "conflict")
Run = Callable[..., dict[str, Finding]]


def _build(demo: Library, name: str) -> Build:
    shop = demo.shop
    return shop.builds[name] if name in shop.builds else as_build(shop.variants[name])


def _scaled(band: Band, factor: float) -> Band:
    return dataclasses.replace(
        band, nominal=band.nominal * factor, low=band.low * factor, high=band.high * factor
    )


@pytest.fixture(scope="module")
def run(demo: Library) -> Run:
    """Findings by rule, with the goal scaled (power, torque, boost) or said anew; each goal checked once."""
    known: dict[tuple[object, ...], dict[str, Finding]] = {}

    def found(name: str, power: float = 1.0, boost: float = 1.0, **said: str) -> dict[str, Finding]:
        key = (name, power, boost, *sorted(said.items()))
        if key not in known:
            build = _build(demo, name)
            goal = build.goal
            assert goal.power is not None
            assert goal.torque is not None
            update: dict[str, object] = {
                "power": _scaled(goal.power, power),
                "torque": _scaled(goal.torque, power),
                "boost": _scaled(goal.boost, boost) if goal.boost else None,
            }
            update |= {n: v if n in ("fuel", "duty") else read_band(v) for n, v in said.items()}
            report = check(
                demo.shop, demo.book, dataclasses.replace(build, goal=dataclasses.replace(goal, **update))
            )
            known[key] = {finding.rule: finding for finding in report.report.findings}
        return known[key]

    return found


def _never_more_headroom(steps: Sequence[dict[str, Finding]]) -> int:
    """No load rule gains headroom from one step to the next; how many rules lost some."""
    lost = set()
    for before, after in pairwise(steps):
        for rule in before.keys() & after.keys():
            least, most = after[rule].headroom, before[rule].headroom
            if least is not None and most is not None:
                assert least <= most + 1e-6 * (1 + abs(most)), f"{rule}: {most} -> {least}"
                if least < most - 1e-6:
                    lost.add(rule)
    return len(lost)


def _climbs(steps: Sequence[dict[str, Finding]], *rules: str) -> None:
    """The measured value of each rule never falls from step to step, and rises in all."""
    for rule in rules:
        values = [step[rule].value for step in steps]
        numbers = [value for value in values if value is not None]
        assert len(numbers) == len(steps), (rule, values)
        assert numbers == sorted(numbers), (rule, numbers)
        assert numbers[-1] > numbers[0], (rule, numbers)


def _never_better(steps: Sequence[dict[str, Finding]], but: Sequence[str] = ()) -> None:
    """No rule that applies at both steps comes to a better verdict at the later one."""
    for before, after in pairwise(steps):
        for rule in (before.keys() & after.keys()) - set(but):
            worse = ORDER.index(after[rule].verdict) >= ORDER.index(before[rule].verdict)
            assert worse, f"{rule}: {before[rule].verdict} -> {after[rule].verdict}"


@pytest.mark.parametrize("name", [*TURBO, *NATURAL])
def test_more_power_never_gives_more_headroom(name: str, run: Run) -> None:
    """Whatever carries load, fuel, heat or torque has less to spare at more of them."""
    steps = [run(name, power=factor) for factor in (0.75, 1.0, 1.5, 2.0)]
    assert _never_more_headroom(steps) > 15
    _climbs(steps, "injector-duty", "exhaust-back-pressure", "duct-air-speed", "throttle-air-speed")


@pytest.mark.parametrize("name", TURBO)
def test_more_power_than_a_turbocharger_gives_is_never_called_in_reach(name: str, run: Run) -> None:
    """Past its map a compressor heats the air most; the engine is not given cold air for it."""
    far = run(name, power=2.0)
    assert far["compressor-flow"].verdict == "shortfall"
    assert not {"compressor-efficiency", "turbo-overspeed", "turbine-drives-compressor"} & far.keys()
    for rule in ("knock-limit-at-power", "knock-limit-at-torque"):
        assert far[rule].verdict == "shortfall"
    for rule in ("turbine-housing-heat", "exhaust-valve-temperature"):
        assert rule not in far or far[rule].verdict != "ok"


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-phase"])
def test_a_higher_rev_limit_never_gives_more_headroom(name: str, run: Run, demo: Library) -> None:
    """Inertia grows with the square of speed, oil films are sheared hotter and thinner."""
    limit = _build(demo, name).goal.rev_limit
    assert limit is not None
    speed = round(limit.nominal * 30 / math.pi)
    steps = [run(name, rev_limit=f"{speed + more} rpm") for more in (0, 500, 1000)]
    # the pull on a main cap comes of the gas at these speeds, and stays
    assert _never_more_headroom(steps) >= 8
    _climbs(steps, "piston-speed", "pickup-suction-speed", "trigger-frequency")
    _climbs(steps[::-1], "main-film", "big-end-film")
    _never_better(steps)


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-phase"])
def test_hot_air_knocks_sooner_and_fills_less(name: str, run: Run) -> None:
    """Colder air never knocks more, the end gas starts cooler; warm air is thin and wants more pressure."""
    steps = [run(name, air_temperature=f"{warm} degC") for warm in (0, 20, 40)]
    _climbs(steps, "manifold-pressure-for-power", "manifold-pressure-for-torque", "throttle-air-speed")
    retards = [step["knock-limit-at-torque"].value or 0.0 for step in steps]
    assert retards == sorted(retards)
    headroom = [step["heat-and-radiator"].headroom or 0.0 for step in steps]
    assert headroom == sorted(headroom, reverse=True)
    if name in TURBO:
        _climbs(steps, "knock-limit-at-torque", "charge-over-ambient", "turbo-overspeed", "compressor-surge")


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-phase"])
def test_thin_air_asks_more_of_what_moves_it(name: str, run: Run) -> None:
    """The same air is more volume at less pressure; boost is gauge, so a sensor has more to spare."""
    steps = [run(name, altitude=f"{height} m") for height in (0, 1250, 2500)]
    _climbs(steps, "manifold-pressure-for-power", "manifold-pressure-for-torque", "duct-air-speed")
    if name in TURBO:
        _climbs(steps, "turbo-overspeed", "turbine-pressure", "charge-over-ambient")
        _climbs(steps[::-1], "compressor-flow")
        room = [step["manifold-sensor-under-boost"].headroom or 0.0 for step in steps]
        assert room == sorted(room)


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-phase"])
def test_better_fuel_knocks_later(name: str, run: Run) -> None:
    """Octane delays self-ignition; it does not change what is burned by much."""
    steps = [run(name, fuel=fuel) for fuel in ("race-102", "pump-98", "pump-95")]
    retards = [step["knock-limit-at-torque"].value or 0.0 for step in steps]
    assert retards == sorted(retards)
    _never_better([{r: f for r, f in step.items() if "knock" in r or "ratio" in r} for step in steps])
    duties = [step["injector-duty"].value or 0.0 for step in steps]
    assert max(duties) < 1.02 * min(duties)


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-phase"])
def test_alcohol_wants_a_third_more_fuel(name: str, run: Run) -> None:
    """By heating value and density E85 takes 1.35 to 1.4 times the volume of petrol, at idle too."""
    petrol, alcohol = run(name), run(name, fuel="ethanol-85")
    for rule in ("injector-duty", "injector-smallest-pulse"):
        share = (alcohol[rule].value or 0.0) / (petrol[rule].value or 1.0)
        assert 1.30 < share < 1.45, rule
    for rule in ("fuel-pump-flow", "fuel-filter-flow"):
        assert (alcohol[rule].headroom or 0.0) < (petrol[rule].headroom or 0.0), rule
    assert (alcohol["knock-limit-at-torque"].value or 0.0) <= (petrol["knock-limit-at-torque"].value or 0.0)
    assert alcohol["ethanol-pump"].verdict == "missing"


@pytest.mark.parametrize("name", [*TURBO, "tarn-20-phase"])
def test_a_harder_duty_never_gives_a_better_verdict(name: str, run: Run) -> None:
    """Headroom asked, heat held and oil wanted all grow; road manners alone are asked of the street only."""
    steps = [run(name, duty=duty) for duty in ("street", "track", "endurance")]
    _never_better(steps, but=("valve-overlap", "sintered-clutch-on-the-road"))
    asked = [
        [step[rule].headroom_asked or 0.0 for step in steps]
        for rule in set.intersection(*map(set, steps))
        if steps[0][rule].headroom_asked is not None
    ]
    assert all(three == sorted(three) for three in asked)
    assert sum(three[-1] > three[0] for three in asked) > 10


@pytest.mark.parametrize("name", TURBO)
def test_more_boost_for_the_same_power_strains_what_boost_reaches(name: str, run: Run) -> None:
    """Springs, hoses, sensor and ratio see the pressure itself, not the power made of it."""
    steps = [run(name, boost=factor) for factor in (0.8, 1.0, 1.3)]
    for rule in (
        "inlet-spring-under-boost",
        "exhaust-spring-under-boost",
        "charge-hose-pressure",
        "manifold-sensor-under-boost",
        "fuel-pump-flow",
    ):
        headroom = [step[rule].headroom or 0.0 for step in steps]
        assert headroom == sorted(headroom, reverse=True), rule
        assert headroom[0] > headroom[-1], rule
    _climbs(steps, "reachable-boost", "wastegate-spring")
    _climbs(steps[::-1], "manifold-pressure-for-power", "turbine-drives-compressor")


@pytest.mark.parametrize("name", TURBO)
def test_torque_low_down_is_beyond_a_large_turbine(name: str, run: Run) -> None:
    """Gas flow falls with speed: full boost comes later, and first surges the compressor."""
    steps = [run(name, torque_at=f"{speed} rpm") for speed in (1500, 2200, 3800)]
    _climbs(steps, "turbine-drives-compressor-at-torque", "compressor-surge")
    assert steps[0]["turbine-drives-compressor-at-torque"].verdict == "shortfall"
    assert steps[-1]["turbine-drives-compressor-at-torque"].verdict == "ok"


def test_a_blower_heats_its_air_and_takes_its_power(demo: Library, stating: Callable[..., Shop]) -> None:
    """No map is known of it: 60 % of isentropic, no intercooler; what its drive takes comes off the flywheel.

    60 kPa on 100 by isentropic compression of air: 293 K x (1.6^0.286 - 1)/0.6 is about 70 K (ideal gas).
    """
    plain = _build(demo, "tarn-20-phase")
    goal = dataclasses.replace(plain.goal, boost=read_band("60 kPa"), air_temperature=read_band("20 degC"))
    build = dataclasses.replace(plain, fit={"supercharger": "rt-supercharger-10"}, goal=goal)
    found = {}
    for drive in ("18 kW", "30 kW"):
        world = settle(stating({"rt-supercharger-10": {"drive_power": drive}}), demo.book, build)
        for figure in ("manifold_temperature", "cycle_air_flow", "cycle_pressure_at_power"):
            value = world.figure(figure)
            assert isinstance(value, Number)
            found[drive, figure] = value.x
        assert found[drive, "manifold_temperature"] - 293.15 == pytest.approx(70, abs=3)
    for figure in ("cycle_air_flow", "cycle_pressure_at_power"):
        assert found["30 kW", figure] > 1.06 * found["18 kW", figure]
