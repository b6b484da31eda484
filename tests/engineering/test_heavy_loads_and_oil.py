"""The heavy formulas of loads and oil: finite or refused, in order, and without jumps."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compat.engineering import find
from compat.engineering.formula import REGISTER, OutOfRange
from compat.engineering.lubrication.bearing_heat import pressure_fed_bearing
from compat.engineering.lubrication.oil_drain import drain_bore
from compat.engineering.lubrication.plain_bearing import bearing_film
from compat.units import unit

# by keyword, as figures call them
gallery_pressure = find("gallery_pressure").function
oil_demand = find("oil_demand").function
crank_train_loads = find("crank_train_loads").function
engine_bearing_film = find("engine_bearing_film").function

RPM = math.pi / 30
ENGINE: dict[str, Any] = {
    "viscosity_40": 75e-6,
    "viscosity_100": 11.5e-6,
    "stroke": 0.087,
    "main_bearings": 5,
    "main_journal_diameter": 0.058,
    "main_bearing_width": 0.018,
    "main_clearance": 0.044e-3,
    "rod_bearings": 4,
    "rod_journal_diameter": 0.048,
    "rod_bearing_width": 0.018,
    "rod_clearance": 0.044e-3,
}
PUMP = {"pump_displacement": 10.5e-6 / (2 * math.pi), "relief_pressure": 450e3}


def _loads(**changed: Any) -> Any:
    given_values: dict[str, Any] = {
        "bore": 0.0855,
        "stroke": 0.087,
        "centre_length": 0.148,
        "compression_ratio": 10.0,
        "reciprocating_mass": 0.605,
        "rod_rotating_mass": 0.36,
        "peak_pressure": 63e5,
        "manifold_pressure": 98e3,
        "torque_speed": 4200 * RPM,
        "rev_limit": 6500 * RPM,
    }
    return crank_train_loads(**(given_values | changed))


HEAVY = [crank_train_loads, engine_bearing_film, pressure_fed_bearing, gallery_pressure, drain_bore]


@pytest.mark.parametrize("function", HEAVY, ids=lambda f: f.__name__)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(data=st.data())
def test_gives_finite_numbers_or_refuses(function: Any, data: st.DataObject) -> None:
    """Sizes as a reader might type them, from far too small to far too large, and now and then nonsense."""
    arguments = {}
    for name, takes in REGISTER[function.__name__].takes.items():
        if isinstance(takes, tuple):
            words = [*takes, "no such word"] if takes else ["1-3-4-2", "1-2-3", "3, 2, 1"]
            arguments[name] = data.draw(st.sampled_from(words), label=name)
        else:
            sensible = st.floats(min_value=0.01, max_value=1000).map(unit(str(takes)).to_si)
            odd = st.sampled_from([math.nan, math.inf, 0.0, -1.0, 1e-30, 1e30])
            arguments[name] = data.draw(st.one_of(sensible, sensible, sensible, odd), label=name)
    try:
        result = function(**arguments)
    except OutOfRange:
        return
    values = result if isinstance(result, tuple) else (result,)
    assert all(math.isfinite(value) for value in values)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    rpm=st.floats(300, 9000),
    celsius=st.floats(-10, 150),
    clearance=st.floats(0.01e-3, 0.2e-3),
    displacement=st.floats(3e-6, 40e-6),
    jets=st.integers(0, 8),
)
def test_oil_circuit_always_balances(
    rpm: float, celsius: float, clearance: float, displacement: float, jets: int
) -> None:
    engine = ENGINE | {"main_clearance": clearance, "rod_clearance": clearance, "jets": jets}
    engine |= {"speed": rpm * RPM, "oil_temperature": celsius + 273.15}
    state = gallery_pressure(pump_displacement=displacement / (2 * math.pi), relief_pressure=450e3, **engine)
    if state.gallery_pressure > 1.0:
        assert state.delivery - state.spilled == pytest.approx(state.demand, rel=1e-6)
        wanted = oil_demand(pressure=state.gallery_pressure, **engine)
        assert wanted.total == pytest.approx(state.demand)
        assert wanted.total == pytest.approx(sum(wanted[1:]))
    else:
        assert state.delivery <= state.demand


def test_pressure_rises_with_speed_and_pump_and_falls_with_heat() -> None:
    def at(rpm: float, celsius: float = 110.0, pump: float = 10.5e-6) -> float:
        return gallery_pressure(
            pump_displacement=pump / (2 * math.pi),
            relief_pressure=450e3,
            speed=rpm * RPM,
            oil_temperature=celsius + 273.15,
            **ENGINE,
        ).gallery_pressure

    by_speed = [at(rpm) for rpm in range(500, 7001, 250)]
    assert by_speed == sorted(by_speed)
    by_heat = [at(800, celsius) for celsius in range(60, 150, 5)]
    assert by_heat == sorted(by_heat, reverse=True)
    by_pump = [at(800, 120, pump * 1e-6) for pump in (4, 6, 8, 10, 12, 14)]
    assert by_pump == sorted(by_pump)


def test_circuit_has_no_jump_where_jets_and_relief_open() -> None:
    pressures = [
        gallery_pressure(**PUMP, speed=rpm * RPM, oil_temperature=383.15, jets=4, **ENGINE).gallery_pressure
        for rpm in range(400, 2600, 10)
    ]
    steps = [b - a for a, b in itertools.pairwise(pressures)]
    assert min(steps) > 0
    assert max(steps) < 20e3


def test_film_thins_with_load_and_thickens_with_viscosity() -> None:
    films = [
        bearing_film(0.006, 400.0, load, 0.058, 0.018, 0.044e-3).least_film for load in range(500, 40000, 500)
    ]
    assert films == sorted(films, reverse=True)
    assert max(a - b for a, b in itertools.pairwise(films)) < 4e-6
    thick = bearing_film(0.012, 400.0, 8e3, 0.058, 0.018, 0.044e-3)
    assert thick.least_film > bearing_film(0.006, 400.0, 8e3, 0.058, 0.018, 0.044e-3).least_film


def test_film_of_a_fed_bearing_changes_smoothly_with_clearance() -> None:
    states = [
        pressure_fed_bearing(8e3, 600.0, 0.058, 0.018, c * 1e-6, 400e3, 383.15, 75e-6, 11.5e-6)
        for c in range(20, 121, 2)
    ]
    temperatures = [state.film_temperature for state in states]
    assert temperatures == sorted(temperatures, reverse=True)
    assert max(a - b for a, b in itertools.pairwise(temperatures)) < 8
    flows = [state.flow for state in states]
    assert flows == sorted(flows)


def test_loads_grow_with_what_causes_them() -> None:
    plain = _loads()
    assert _loads(peak_pressure=80e5).rod_compression > plain.rod_compression
    assert _loads(peak_pressure=80e5).rod_tension == plain.rod_tension
    assert _loads(rev_limit=7500 * RPM).rod_tension > plain.rod_tension
    assert _loads(reciprocating_mass=0.7).rod_compression < plain.rod_compression
    assert _loads(rod_rotating_mass=0.5).big_end_mean_load > plain.big_end_mean_load


def test_loads_have_no_jump_as_the_peak_pressure_grows() -> None:
    tables = [_loads(peak_pressure=pressure * 1e5) for pressure in range(40, 121, 4)]
    for field in (
        "rod_compression",
        "side_force",
        "crank_torque",
        "big_end_load",
        "main_load",
        "main_cap_load",
    ):
        values = [getattr(row, field) for row in tables]
        assert max(abs(b - a) for a, b in itertools.pairwise(values)) < 0.12 * max(values)


def test_peak_below_compression_is_refused_in_words() -> None:
    with pytest.raises(OutOfRange, match="compression alone"):
        _loads(peak_pressure=15e5)
    with pytest.raises(OutOfRange, match="in this order"):
        _loads(torque_speed=7000 * RPM)
    with pytest.raises(OutOfRange, match="evenly"):
        _loads(cylinders=7)
