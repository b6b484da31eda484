"""Journals under turning and pulsing loads against known cases of dynamically loaded bearings and scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from compat.engineering.formula import OutOfRange
from compat.engineering.lubrication.bearing_orbit import engine_bearing_film, journal_orbit
from compat.engineering.lubrication.plain_bearing import bearing_film, long_bearing_number, short_bearing_number

RPM = math.pi / 30
SPEED = 400.0
OIL = (0.006, 0.058, 0.018, 0.044e-3)
DEGREES = range(360)


def _eccentricities(up: list[float], across: list[float], turning: float) -> list[float]:
    path = journal_orbit(up, across, [turning] * len(up), SPEED, *OIL)
    return [math.hypot(*point) for point in path]


@pytest.mark.parametrize("load", [300.0, 2e3, 8e3, 25e3])
def test_steady_load_comes_to_the_steady_film(load: float) -> None:
    """Booker 1965: where the journal stands still, mobility and steady solution are the same thing."""
    steady = bearing_film(OIL[0], SPEED, load, *OIL[1:])
    path = journal_orbit([load] * 360, [0.0] * 360, [SPEED / 2] * 360, SPEED, *OIL)
    up, across = path[-1]
    assert math.hypot(up, across) == pytest.approx(steady.eccentricity, rel=0.01)
    assert (1 - math.hypot(up, across)) == pytest.approx(1 - steady.eccentricity, rel=0.03)
    # carried round in the sense of turning, by the attitude angle
    assert math.atan2(across, up) == pytest.approx(steady.attitude_angle, abs=0.05)


def test_load_turning_with_the_shaft_is_as_good_as_a_fixed_one() -> None:
    """Shigley ch. 12: the speed that counts is |Nj + Nb - 2 Nf|: a load fixed to the shaft has the same."""
    load = 5e3
    fixed = _eccentricities([load] * 360, [0.0] * 360, SPEED / 2)
    angles = np.radians(np.arange(360))
    turning = _eccentricities(list(load * np.cos(angles)), list(load * np.sin(angles)), SPEED / 2)
    assert turning[-1] == pytest.approx(fixed[-1], rel=0.01)


def test_load_turning_at_half_speed_finds_no_film() -> None:
    """Shigley ch. 12: |Nj + Nb - 2 Nf| = 0; the film is pressed out, however slowly."""
    angles = np.radians(np.arange(720)) / 2
    load = 5e3
    with pytest.raises(OutOfRange, match="collapses"):
        _eccentricities(list(load * np.cos(angles)), list(load * np.sin(angles)), SPEED / 2)


def test_peak_of_a_pulsing_load_is_cushioned() -> None:
    """Common knowledge of squeeze films: a short peak leaves more film than the same load held."""
    pulse = [15e3 if degree < 20 else 1e3 for degree in DEGREES]
    worst = max(_eccentricities(pulse, [0.0] * 360, SPEED / 2))
    assert worst < bearing_film(OIL[0], SPEED, 15e3, *OIL[1:]).eccentricity - 0.02


def test_turning_shell_and_shaft_the_same_way_doubles_the_speed() -> None:
    """Shigley ch. 12: both at N count as 2 N."""
    load = 5e3
    both = _eccentricities([load] * 360, [0.0] * 360, SPEED)[-1]
    assert both == pytest.approx(bearing_film(OIL[0], 2 * SPEED, load, *OIL[1:]).eccentricity, rel=0.01)


def test_path_against_an_adaptive_solver() -> None:
    """The same law of motion written anew and solved by scipy's solve_ivp with tight tolerances."""
    viscosity, diameter, width, clearance = OIL
    square = (width / diameter) ** 2
    squeeze = (clearance / diameter) ** 2 / (width * diameter * viscosity)
    load = np.array([6e3 + 5e3 * math.cos(math.radians(d)) for d in DEGREES])
    side = np.array([4e3 * math.sin(math.radians(d)) for d in DEGREES])

    def motion(time: float, state: np.ndarray) -> np.ndarray:
        degree = int(math.degrees(time * SPEED)) % 360
        force = complex(load[degree], side[degree])
        place = complex(*state)
        turned = place * force.conjugate() / abs(force)  # along and across the load
        e = abs(place)
        soft = 1 + square * long_bearing_number(e) / short_bearing_number(e)
        mobility = complex((1 - turned.real) ** 2.5, -4 / math.pi * turned.imag * (1 - turned.real) ** 1.5)
        rate = squeeze * abs(force) * soft / (math.pi * square) * mobility * force / abs(force)
        rate += 1j * SPEED / 2 * place
        return np.array([rate.real, rate.imag])

    cycle = 2 * math.pi / SPEED
    solved = solve_ivp(
        motion,
        (0, 4 * cycle),
        [0.5, 0.0],
        max_step=cycle / 720,
        rtol=1e-7,
        t_eval=[3 * cycle + cycle * d / 360 for d in DEGREES],
    )
    reference = np.hypot(*solved.y)
    ours = np.array(_eccentricities(list(load), list(side), SPEED / 2))
    assert np.abs(ours - reference).max() < 0.01
    assert 1 - ours.max() == pytest.approx(1 - reference.max(), rel=0.03)


@pytest.fixture(scope="module")
def engine() -> dict[str, float]:
    return {
        "bore": 0.0855,
        "stroke": 0.087,
        "centre_length": 0.148,
        "compression_ratio": 10.0,
        "reciprocating_mass": 0.605,
        "rod_rotating_mass": 0.36,
        "manifold_pressure": 98e3,
        "viscosity": 0.0045,
        "width": 0.018,
        "clearance": 0.044e-3,
    }


def test_engine_bearings_run_on_a_micrometre_or_two(engine: dict[str, float]) -> None:
    """Common practice, no source: computed least films of petrol engines' bearings are 0.5 to 3 um."""
    for bearing, diameter in (("big_end", 0.048), ("main", 0.058)):
        for rpm in (2000, 4200, 6500):
            film = engine_bearing_film(
                bearing, **engine, diameter=diameter, speed=rpm * RPM, peak_pressure=60e5
            )
            assert 0.5e-6 < film.least_film < 3e-6
            assert film.least_film == pytest.approx(0.022e-3 * (1 - film.eccentricity))


def test_gas_rules_the_film_at_low_speed_and_inertia_at_high(engine: dict[str, float]) -> None:
    """Slow: just after the peak of pressure. Fast: far from it, where the pull of the piston turns."""
    slow = engine_bearing_film("big_end", **engine, diameter=0.048, speed=1500 * RPM, peak_pressure=60e5)
    fast = engine_bearing_film("big_end", **engine, diameter=0.048, speed=6500 * RPM, peak_pressure=60e5)
    assert 10 < math.degrees(slow.crank_angle) < 90
    assert abs(math.degrees(fast.crank_angle)) > 180
    overrun = engine_bearing_film("big_end", **engine, diameter=0.048, speed=6500 * RPM)
    assert overrun.least_film > fast.least_film


def test_thicker_oil_and_wider_bearings_hold_more_film(engine: dict[str, float]) -> None:
    def film(**changed: float) -> float:
        values = engine | {"diameter": 0.048, "speed": 5000 * RPM, "peak_pressure": 60e5} | changed
        return engine_bearing_film("big_end", **values).least_film

    assert film(viscosity=0.009) > film()
    assert film(width=0.022) > film()
    assert film(diameter=0.052) > film()
