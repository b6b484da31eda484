"""Journals under turning and pulsing loads against known cases of dynamically loaded bearings and scipy."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp

from compat.engineering import find
from compat.engineering.formula import OutOfRange
from compat.engineering.lubrication.bearing_heat import pressure_fed_bearing
from compat.engineering.lubrication.bearing_orbit import journal_orbit
from compat.engineering.lubrication.plain_bearing import bearing_film, long_bearing_number, short_bearing_number
from compat.engineering.running_gear.ways_of_running import PULL_AWAY, CrankTrain, case_forces

engine_bearing_film = find("engine_bearing_film").function  # by keyword, as figures call it

RPM = math.pi / 30
SPEED = 400.0
OIL = (0.006, 0.058, 0.018, 0.044e-3)
STEPS = 720
ANGLES = 4 * math.pi * np.arange(STEPS) / STEPS


def _path(load: ArrayLike, turning: float, oil: tuple[float, float, float, float] = OIL) -> NDArray[Any]:
    """Place of the journal at each of the steps, two turns of the shaft."""
    viscosity, *size = oil
    return journal_orbit([load], np.full((1, STEPS), turning), [SPEED], [viscosity], *size).place[0]


@pytest.mark.parametrize("load", [300.0, 2e3, 8e3, 25e3])
def test_steady_load_comes_to_the_steady_film(load: float) -> None:
    """Booker 1965: where the journal stands still, mobility and steady solution are the same thing."""
    steady = bearing_film(OIL[0], SPEED, load, *OIL[1:])
    place = _path([load] * STEPS, SPEED / 2)[-1]
    assert abs(place) == pytest.approx(steady.eccentricity, rel=0.01)
    assert (1 - abs(place)) == pytest.approx(1 - steady.eccentricity, rel=0.03)
    # carried round in the sense of turning, by the attitude angle
    assert np.angle(place) == pytest.approx(steady.attitude_angle, abs=0.05)


def test_load_turning_with_the_shaft_is_as_good_as_a_fixed_one() -> None:
    """Shigley ch. 12: the speed that counts is |Nj + Nb - 2 Nf|: a load fixed to the shaft has the same."""
    load = 5e3
    fixed = abs(_path([load] * STEPS, SPEED / 2)[-1])
    turning = abs(_path(load * np.exp(1j * ANGLES), SPEED / 2)[-1])
    assert turning == pytest.approx(fixed, rel=0.01)


def test_load_turning_at_half_speed_finds_no_film() -> None:
    """Shigley ch. 12: |Nj + Nb - 2 Nf| = 0; the film is pressed out, however slowly."""
    with pytest.raises(OutOfRange, match="collapses"):
        _path(5e3 * np.exp(0.5j * ANGLES), SPEED / 2)


def test_peak_of_a_pulsing_load_is_cushioned() -> None:
    """Common knowledge of squeeze films: a short peak leaves more film than the same load held."""
    pulse = np.where(ANGLES % (2 * math.pi) < math.radians(20), 15e3, 1e3)
    worst = np.abs(_path(pulse, SPEED / 2)).max()
    assert worst < bearing_film(OIL[0], SPEED, 15e3, *OIL[1:]).eccentricity - 0.02


def test_turning_shell_and_shaft_the_same_way_doubles_the_speed() -> None:
    """Shigley ch. 12: both at N count as 2 N."""
    load = 5e3
    both = abs(_path([load] * STEPS, SPEED)[-1])
    assert both == pytest.approx(bearing_film(OIL[0], 2 * SPEED, load, *OIL[1:]).eccentricity, rel=0.01)


def test_load_that_turns_about_squeezes_the_film_in_closed_form() -> None:
    """Booker 1965: shaft at rest, load along the line of centres.

    (1 - e)^-3/2 grows straight with time in the short bearing; a load that turns about at each half cycle
    takes the journal from -e to e. Chosen so narrow that its finite width hardly softens it.
    """
    viscosity, diameter, width, clearance = narrow = (0.006, 0.058, 0.0058, 0.044e-3)
    reached = 0.7
    grown = (1 - reached) ** -1.5 - (1 + reached) ** -1.5
    half_cycle = 2 * math.pi / SPEED
    mobility = (clearance / diameter) ** 2 / (width * diameter * viscosity * math.pi * (width / diameter) ** 2)
    load = grown / (1.5 * mobility * half_cycle)
    there = np.where(2 * math.pi > ANGLES, load, -load)
    path = _path(there, 0.0, narrow)
    assert np.abs(path.imag).max() < 1e-9
    assert path.real.max() == pytest.approx(reached, abs=0.02)
    assert path.real.min() == pytest.approx(-reached, abs=0.02)


def _solved(oil: tuple[float, ...], load: NDArray[Any], turning: float, cycles: int = 4) -> NDArray[Any]:
    """The same law of motion written anew and solved by scipy's solve_ivp with tight tolerances."""
    viscosity, diameter, width, clearance = oil
    square = (width / diameter) ** 2
    squeeze = (clearance / diameter) ** 2 / (width * diameter * viscosity)
    cycle = 4 * math.pi / SPEED

    def motion(time: float, state: NDArray[Any]) -> NDArray[Any]:
        force = complex(load[int(time / cycle * STEPS) % STEPS])
        place = complex(*state)
        turned = place * force.conjugate() / abs(force)  # along and across the load
        e = abs(place)
        soft = 1 + square * long_bearing_number(e) / short_bearing_number(e)
        mobility = complex((1 - turned.real) ** 2.5, -4 / math.pi * turned.imag * (1 - turned.real) ** 1.5)
        rate = squeeze * abs(force) * soft / (math.pi * square) * mobility * force / abs(force)
        rate += 1j * turning * place
        return np.array([rate.real, rate.imag])

    times = [(cycles - 1) * cycle + cycle * step / STEPS for step in range(STEPS)]
    solved = solve_ivp(motion, (0, cycles * cycle), [0.5, 0.0], max_step=cycle / STEPS, rtol=1e-7, t_eval=times)
    return np.hypot(*solved.y)


def test_path_against_an_adaptive_solver() -> None:
    load = 6e3 + 5e3 * np.cos(ANGLES) + 4e3j * np.sin(ANGLES)
    reference = _solved(OIL, load, SPEED / 2)
    ours = np.abs(_path(load, SPEED / 2))
    assert np.abs(ours - reference).max() < 0.015
    assert 1 - ours.max() == pytest.approx(1 - reference.max(), rel=0.02)


def test_coarse_steps_keep_the_least_film() -> None:
    """Steps of 4 deg as the formula takes them, against steps of 1 deg, on a crankpin of a petrol engine."""
    _, forces = case_forces(_train(), PULL_AWAY)
    load = -forces.pin_axial + 1j * forces.pin_lateral
    speeds = np.array([case.speed for case in case_forces(_train(), PULL_AWAY)[0]])

    def films(step: int) -> NDArray[Any]:
        turning = np.tile(speeds[:, None] / 2, 720 // step)
        orbit = journal_orbit(
            load[:, ::step], turning, speeds, np.full(len(speeds), 0.0045), 0.048, 0.018, 44e-6
        )
        return orbit.film.min(axis=1)

    assert films(4) == pytest.approx(films(1), rel=0.03)


ENGINE: dict[str, Any] = {
    "bore": 0.0855,
    "stroke": 0.087,
    "centre_length": 0.148,
    "compression_ratio": 10.0,
    "reciprocating_mass": 0.605,
    "rod_rotating_mass": 0.36,
    "peak_pressure": 60e5,
    "manifold_pressure": 98e3,
    "torque_speed": 4200 * RPM,
    "rev_limit": 6500 * RPM,
    "power_speed": 5800 * RPM,
    "net_throw_mass": -0.36,
}
BEARING: dict[str, Any] = {
    "diameter": 0.048,
    "width": 0.018,
    "clearance": 0.044e-3,
    "feed_temperature": 393.15,
    "film_temperature": 413.15,
    "viscosity_40": 75e-6,
    "viscosity_100": 11.5e-6,
}


def _train(**changed: Any) -> CrankTrain:
    return CrankTrain(**(ENGINE | changed))


def _film(bearing: str = "big_end", **changed: Any) -> Any:
    return engine_bearing_film(bearing=bearing, **(ENGINE | BEARING | changed))


def _at(rpm: float, **changed: Any) -> Any:
    """Full load and overrun at one speed alone."""
    one = dict.fromkeys(("pull_away_speed", "torque_speed", "power_speed", "rev_limit"), rpm * RPM)
    return _film(**one, **changed)


def test_engine_bearings_run_on_a_micrometre_or_two() -> None:
    """Common practice, no source: computed least films of petrol engines' bearings are 0.5 to 3 um."""
    for bearing, diameter in (("big_end", 0.048), ("main", 0.058)):
        for rpm in (2000, 4200, 6500):
            film = _at(rpm, bearing=bearing, diameter=diameter)
            assert 0.5e-6 < film.least_film < 3e-6
            assert film.least_film == pytest.approx(0.022e-3 * (1 - film.eccentricity))


def test_worst_of_the_range_is_the_worst_of_its_speeds() -> None:
    """What a check at the rev limit alone misses: gas presses longest where oil is carried round slowest."""
    over_all = _film()
    assert over_all.speed == pytest.approx(1500 * RPM)
    assert 10 < math.degrees(over_all.crank_angle) < 90
    assert over_all.least_film < _at(6500).least_film
    # one for one: the same speed alone, with the heat that the film has there
    rise = 413.15 - 393.15
    alone = _at(1500, film_temperature=393.15 + rise * 1500 / 6500)
    assert over_all.least_film == pytest.approx(alone.least_film, rel=0.01)
    for rpm in (4200, 5800, 6500):
        assert _at(rpm, film_temperature=393.15 + rise * rpm / 6500).least_film > over_all.least_film


def test_gas_rules_the_film_at_low_speed_and_inertia_at_high() -> None:
    """Slow: just after the peak of pressure. Fast: far from it, where the pull of the piston turns."""
    assert 10 < math.degrees(_at(1500).crank_angle) < 90
    assert abs(math.degrees(_at(6500).crank_angle)) > 180


def test_more_gas_at_low_speed_and_more_speed_at_the_limit_both_thin_the_film() -> None:
    assert _film(peak_pressure=80e5).least_film < _film().least_film
    fast = {"torque_speed": 7000 * RPM, "power_speed": 7000 * RPM, "pull_away_speed": 7000 * RPM}
    films = [_film(**fast, rev_limit=rpm * RPM).least_film for rpm in (7000, 8000, 9000)]
    assert films == sorted(films, reverse=True)


def test_a_groove_in_the_loaded_shell_costs_film() -> None:
    """Common practice, no source: lower main shells have none, and a groove all round halves the bearing."""
    films = [_film("main", diameter=0.058, groove=groove).least_film for groove in ("hole", "upper", "full")]
    assert films == sorted(films, reverse=True)
    assert films[2] < 0.6 * films[0]


def test_thicker_oil_and_wider_bearings_hold_more_film() -> None:
    assert _film(viscosity_40=140e-6, viscosity_100=18e-6).least_film > _film().least_film
    assert _film(width=0.022).least_film > _film().least_film
    assert _film(diameter=0.052).least_film > _film().least_film
    assert _film(clearance=0.036e-3).least_film > _film().least_film


def test_film_heat_grows_straight_with_speed() -> None:
    """Within 2 K of the heat balance of Shigley ch. 12 at every speed, from that at the rev limit."""
    cases, forces = case_forces(_train(), PULL_AWAY)
    pin = np.hypot(forces.pin_axial, forces.pin_lateral).mean(axis=1)
    fed = [
        pressure_fed_bearing(
            load,
            case.speed,
            0.048,
            0.018,
            0.044e-3,
            min(450e3, 2250 * case.speed),
            393.15,
            75e-6,
            11.5e-6,
            "hole",
        )
        for case, load in zip(cases, pin, strict=True)
    ]
    limit = next(state for case, state in zip(cases, fed, strict=True) if case.name == "rev limit")
    for case, state in zip(cases, fed, strict=True):
        straight = 393.15 + (limit.film_temperature - 393.15) * case.speed / _train().rev_limit
        assert straight == pytest.approx(state.film_temperature, abs=2.0)
