"""Every formula of charge, valve train, cooling, driveline, ignition and electrics, shaken.

Two promises hold for all: an answer is finite or refused in a plain sentence, and moving an input
by very little moves the answer by little.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.engineering.air import airflow, charge, charge_heat, compressor_map, turbine
from compat.engineering.drive import belt_path, belts, driveline
from compat.engineering.electrics import electrical, ignition
from compat.engineering.formula import REGISTER, Formula, OutOfRange, Table
from compat.engineering.heat import cooling
from compat.engineering.valves import (
    cam_profile,
    spring_control,
    valve_piston,
    valve_pocket,
    valve_spring,
    valve_train,
)
from compat.engineering.valves.cam_profile import valve_lift

RPM, DEG = math.pi / 30, math.radians(1)
_CAM = {"max_lift": 9.6e-3, "duration": 220 * DEG, "duration_lift": 1e-3}
_LIFTS = tuple(
    (a * DEG, valve_lift("polynomial_2_8_14_20", 9.6e-3, 220 * DEG, 1e-3, a * DEG)) for a in range(-150, 151, 5)
)
_MAP = (
    (8e3, 0.04, 1.40, 0.66), (8e3, 0.08, 1.35, 0.74), (8e3, 0.12, 1.18, 0.62),
    (12e3, 0.07, 2.05, 0.67), (12e3, 0.14, 1.95, 0.76), (12e3, 0.19, 1.55, 0.62),
    (15e3, 0.12, 2.90, 0.66), (15e3, 0.19, 2.75, 0.74), (15e3, 0.26, 2.10, 0.61),
)  # fmt: skip

# a usual value for each argument name; where one name means two things, keyed by formula too
USUAL = {
    **_CAM, "ambient_pressure": 101e3, "boost": 80e3, "map_absolute": 181e3, "charge_loss": 6e3,
    "filter_loss": 2e3, "mass_flow": 0.22, "inlet_pressure": 98e3, "inlet_temperature": 300.0,
    "reference_pressure": 100e3, "reference_temperature": 298.15, "corrected_speed": 14e3,
    "pressure_ratio": 2.0, "efficiency": 0.72, "rated_effectiveness": 0.7, "rated_flow": 0.2,
    "outlet_temperature": 390.0, "cooling_air_temperature": 300.0, "effectiveness": 0.7,
    "rated_loss": 8e3, "density_ratio": 1.1, "sensor_full_scale": 250e3, "corrected_flow": 0.15,
    "compressor_power": 20e3, "exhaust_flow": 0.25, "gas_temperature": 1150.0, "outlet_pressure": 115e3,
    "turbine_efficiency": 0.66, "swallowing_capacity": 0.18, "spring_pressure": 50e3,
    "boost_multiple": 2.0, "rated_temperature": 950.0, "pressure": 100e3, "temperature": 300.0,
    "bore": 0.0855, "passages": 1.0, "stroke": 0.087, "speed": 6500 * RPM, "port_area": 1.1e-3,
    "valve_diameter": 0.033, "valves": 2.0, "flow_coefficient": 0.35, "angle": 40 * DEG,
    "wanted_lift": 0.5e-3, "reading_step": 0.01e-3, "lobe_velocity": 0.0129, "seat_load": 230.0,
    "nose_load": 547.0, "lift": 6e-3, "wire_diameter": 3.8e-3, "mean_diameter": 23e-3,
    "active_coils": 5.5, "shear_modulus": 79e9, "installed_length": 0.035, "solid_length": 0.0235,
    "rate": 31e3, "active_mass": 0.04, "valve_mass": 0.042, "retainer_mass": 0.01, "collet_mass": 0.002,
    "spring_mass": 0.045, "tappet_mass": 0.045, "moving_mass": 0.114, "rev_limit": 6900 * RPM,
    "nose_acceleration": 0.02, "head_diameter": 0.033, "lobe_centre": 108 * DEG, "valve_angle": 18 * DEG,
    "centre_length": 0.148, "cam_shift": 3 * DEG, "valve_recess": 0.5e-3, "pocket_depth": 2e-3,
    "gasket_thickness": 0.8e-3, "deck_clearance": 0.2e-3,
    "teeth": 44.0, "pitch": 8e-3, "diameter_a": 0.15,
    "diameter_b": 0.06, "centre_distance": 0.3, "small_diameter": 0.07, "large_diameter": 0.15,
    "head_rise": 1e-3, "crank_radius": 0.028, "cam_radius": 0.056,
    "teeth_a": 21.0, "teeth_b": 42.0, "brake_power": 220e3, "friction_power": 30e3, "rated_heat": 90e3,
    "rated_difference": 65.0, "rated_air_speed": 8.0, "coolant_temperature": 368.0,
    "air_temperature": 303.0, "air_speed": 7.0, "heat": 150e3, "temperature_rise": 8.0, "density": 7200.0,
    "heat_capacity": 3600.0, "rated_speed": 500.0, "transfer_units": 1.5, "capacity_ratio": 0.5,
    "outer_diameter": 0.27, "inner_diameter": 0.04, "faces": 2.0, "friction": 0.3, "clamp_load": 6e3,
    "mean_radius": 0.095, "wheel_power": 180e3, "drive_loss": 0.15, "poisson_ratio": 0.27,
    "tensile_strength": 220e6, "stress_concentration": 2.0, "supply_voltage": 13.0, "resistance": 0.5,
    "inductance": 4e-3, "dwell": 2.8e-3, "current": 7.5, "cylinders": 4.0, "charge_current": 7.5,
    "charges_per_turn": 2.0, "gap": 0.7e-3, "power_gain": 80e3, "tooth_positions": 60.0,
    "wheel_radius": 0.075, "tooth_share": 0.5, "rated_voltage": 4.0, "sound_speed": 977.0,
    "rated_current": 120.0, "engine_speed": 850 * RPM, "pulley_ratio": 2.4, "pump_current": 12.0,
    "fan_current": 25.0, "coil_current": 5.0, "injector_current": 3.0, "management_current": 5.0,
    "lamp_current": 15.0, "other_current": 1.0, "profile": "polynomial_2_8_14_20", "side": "inlet",
    "aspiration": "boosted", "piston_jets": "fitted", "arrangement": "crossflow", "wear": "uniform_wear",
    "failure": "brittle", "ignition": "wasted_spark", "mode": "first", "compressor_map": _MAP,
    "lift_table": _LIFTS,
    "pulleys": ((0.0, 0.0, 0.028, 0.0), (0.065, 0.33, 0.056, 1.0), (-0.065, 0.33, 0.056, 1.0)),
    ("pocket_volume", "radius"): 18e-3, ("pocket_volume", "depth"): 2.5e-3,
    ("breakdown_voltage", "pressure"): 20e5, ("breakdown_voltage", "temperature"): 700.0,
}  # fmt: skip

_MODULES = (
    airflow, belt_path, belts, cam_profile, charge, charge_heat, compressor_map, cooling, driveline,
    electrical, ignition, spring_control, turbine, valve_piston, valve_pocket, valve_spring,
    valve_train,
)  # fmt: skip
_NAMES = {module.__name__ for module in _MODULES}
FORMULAS = sorted((f for f in REGISTER.values() if f.function.__module__ in _NAMES), key=lambda f: f.name)


def _usual(formula: Formula) -> dict:
    return {name: USUAL.get((formula.name, name), USUAL.get(name)) for name in formula.takes}


def _numbers(formula: Formula) -> list[str]:
    return [name for name, kind in formula.takes.items() if isinstance(kind, str)]


def _values(result) -> list[float]:
    return list(result) if isinstance(result, Iterable) else [result]


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.name)
def test_usual_case_has_an_answer(formula):
    values = _values(formula.function(**_usual(formula)))
    assert len(values) == len(formula.gives)
    assert all(math.isfinite(value) for value in values)


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.name)
def test_small_step_gives_small_change(formula):
    usual = _usual(formula)
    base = _values(formula.function(**usual))
    for name in _numbers(formula):
        moved = _values(formula.function(**{**usual, name: usual[name] * (1 + 1e-6)}))
        for before, after in zip(base, moved, strict=True):
            # a millionth on the input, at most a thousandth of the answer's own size
            assert abs(after - before) <= 1e-3 * abs(before) + 1e-9, name


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.name)
def test_nonsense_is_refused_by_name(formula):
    usual = _usual(formula)
    for name in _numbers(formula):
        for wrong in (math.nan, math.inf, -math.inf):
            with pytest.raises(OutOfRange) as refusal:
                formula.function(**{**usual, name: wrong})
            assert name.split("_")[-1] in str(refusal.value)
    for name, kind in formula.takes.items():
        if isinstance(kind, tuple):
            with pytest.raises(OutOfRange):
                formula.function(**{**usual, name: "no-such-word"})
        elif isinstance(kind, Table):
            with pytest.raises(OutOfRange):
                formula.function(**{**usual, name: ()})


# down to a billionth of the usual size; what floats cannot hold is refused by the caller
_SIZES = st.floats(-3, 3).filter(lambda size: abs(size) > 1e-9)
_FACTORS = st.one_of(_SIZES, st.floats(0.5, 2.0), st.sampled_from([0.0, 1e-9, 1e9, -1.0]))


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_answer_is_finite_or_refused(data):
    formula = data.draw(st.sampled_from(FORMULAS))
    arguments = _usual(formula)
    for name in _numbers(formula):
        if data.draw(st.booleans()):
            arguments[name] = arguments[name] * data.draw(_FACTORS)
    for name, kind in formula.takes.items():
        if isinstance(kind, tuple):
            arguments[name] = data.draw(st.sampled_from(kind))
    try:
        values = _values(formula.function(**arguments))
    except OutOfRange:
        return
    assert all(math.isfinite(value) for value in values), (formula.name, arguments)


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.name)
def test_says_what_a_reader_must_know(formula):
    text = inspect.getdoc(formula.function) or ""
    for part in ("Parameters", "Returns", "Raises", "References", "Examples"):
        assert f"\n{part}\n---" in text, part
    assert formula.source
    assert not formula.scatter or formula.scatter_source
