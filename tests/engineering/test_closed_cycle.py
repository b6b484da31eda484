"""The closed cycle: energy, continuity, extremes, and the trace."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from compat.engineering.cycle.closed_cycle import ClosedCycle, closed_cycle
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.pressure_trace import pressure_trace
from compat.engineering.cycle.trapped_charge import burn_duration, cylinder_volume, residual_gas_fraction
from compat.engineering.formula import OutOfRange

DEGREE, RPM = math.pi / 180, math.pi / 30
BASE = {
    "bore": 0.0855,
    "stroke": 0.087,
    "rod_length": 0.148,
    "compression_ratio": 10.0,
    "speed": 4000 * RPM,
    "manifold_pressure": 98e3,
    "charge_temperature": 305.0,
    "volumetric_efficiency": 0.88,
    "octane": 95.0,
    "stoichiometric_ratio": 14.6,
    "heating_value": 43e6,
    "heat_of_vaporisation": 350e3,
    "relative_air_fuel_ratio": 0.95,
    "exhaust_pressure": 108e3,
}
RANGES = {
    "bore": (0.05, 0.12),
    "stroke": (0.05, 0.12),
    "rod_length": (0.13, 0.25),
    "compression_ratio": (6.0, 16.0),
    "speed": (600 * RPM, 9000 * RPM),
    "manifold_pressure": (30e3, 350e3),
    "charge_temperature": (260.0, 390.0),
    "volumetric_efficiency": (0.5, 1.15),
    "octane": (80.0, 110.0),
    "stoichiometric_ratio": (6.5, 15.3),
    "relative_air_fuel_ratio": (0.7, 1.5),
    "exhaust_pressure": (90e3, 400e3),
    "ca50": (0.0, 30 * DEGREE),
    "burn_factor": (0.7, 1.5),
    "wall_temperature": (350.0, 520.0),
    "inlet_closes": (0.0, 80 * DEGREE),
    "exhaust_opens": (20 * DEGREE, 75 * DEGREE),
    "evaporated_share": (0.0, 1.0),
    "octane_sensitivity": (0.0, 18.0),
}
engines = st.fixed_dictionaries({name: st.floats(*ends) for name, ends in RANGES.items()})
quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


def cycle_of(**arguments: float) -> ClosedCycle:
    return closed_cycle(CycleInput(**arguments))


def feasible(arguments: dict[str, float]) -> dict[str, float]:
    """Heating value and heat of vaporisation go with the air a fuel needs: no alcohol burns like petrol."""
    share = (arguments["stoichiometric_ratio"] - 6.45) / (15.1 - 6.45)
    arguments["heating_value"] = 19.9e6 + share * (44.4e6 - 19.9e6)
    arguments["heat_of_vaporisation"] = 1.1e6 - share * (1.1e6 - 0.31e6)
    # Even so an alcohol does not evaporate whole in the air it burns with; the model refuses that (below).
    assume(arguments["stoichiometric_ratio"] > 12.5 or arguments["evaporated_share"] < 0.35)
    return arguments


@quick
@given(engines)
def test_energy_balance_closes(arguments):
    cycle = cycle_of(**feasible(arguments))
    total = cycle.indicated_efficiency + cycle.heat_loss_fraction + cycle.exhaust_energy_fraction
    assert total == pytest.approx(1.0, abs=0.002)  # half a per cent is asked for
    assert cycle.heat_loss_fraction > 0
    assert cycle.indicated_efficiency < 1 - arguments["compression_ratio"] ** -0.4  # the Otto bound


@quick
@given(engines, st.sampled_from(sorted(RANGES)))
def test_nothing_jumps(arguments, moved):
    arguments = feasible(arguments)
    low, high = RANGES[moved]
    inward = 1.0 if arguments[moved] < (low + high) / 2 else -1.0
    nudged = arguments | {moved: arguments[moved] + inward * 1e-6 * (high - low)}
    before, after = cycle_of(**arguments), cycle_of(**nudged)
    for name, a, b in zip(before._fields, before, after, strict=True):
        if name == "peak_pressure_angle":
            # Very late burns have two humps, and the angle is that of the higher.
            assume(arguments["ca50"] < 15 * DEGREE)
            assert abs(a - b) < 0.02 * DEGREE
        else:
            assert abs(a - b) <= 1e-4 * max(abs(a), 1e-3), name


@quick
@given(engines)
def test_a_second_call_gives_the_same(arguments):
    arguments = feasible(arguments)
    assert cycle_of(**arguments) == cycle_of(**arguments)


@pytest.mark.parametrize(
    "extreme",
    [
        {"compression_ratio": 1.2},
        {"compression_ratio": 30.0},
        {"compression_ratio": 30.0, "manifold_pressure": 600e3},
        {"speed": 200 * RPM},
        {"speed": 20000 * RPM, "stroke": 0.03, "rod_length": 0.07},
        {"manifold_pressure": 101.325e3, "exhaust_pressure": 101.325e3},
        {"manifold_pressure": 600e3, "exhaust_pressure": 700e3},
        {"relative_air_fuel_ratio": 0.6},
        {"relative_air_fuel_ratio": 1.8},
        {"stoichiometric_ratio": 6.45, "heating_value": 19.9e6, "heat_of_vaporisation": 1.1e6},
        {"bore": 0.02, "stroke": 0.02, "rod_length": 0.04},
        {"bore": 0.3, "stroke": 0.35, "rod_length": 0.7, "speed": 1000 * RPM},
        {"inlet_closes": 0.0, "exhaust_opens": 0.0},
    ],
)
def test_extremes_give_an_answer(extreme):
    cycle = cycle_of(**(BASE | extreme))
    assert all(math.isfinite(value) for value in cycle)
    assert cycle.peak_pressure > 0
    assert 250 < cycle.exhaust_temperature < 2500
    total = cycle.indicated_efficiency + cycle.heat_loss_fraction + cycle.exhaust_energy_fraction
    assert total == pytest.approx(1.0, abs=0.005)


@pytest.mark.parametrize(
    ("nonsense", "word"),
    [
        ({"bore": -0.086}, "bore"),
        ({"bore": math.nan}, "bore"),
        ({"speed": math.inf}, "speed"),
        ({"compression_ratio": 1.0}, "compression_ratio"),
        ({"rod_length": 0.04}, "rod_length"),
        ({"relative_air_fuel_ratio": 3.0}, "lambda"),
        ({"stoichiometric_ratio": 34.3}, "stoichiometric_ratio"),
        ({"heating_value": 120e6}, "heating_value"),
        ({"manifold_pressure": 0.0}, "manifold_pressure"),
        ({"ca50": 2.0}, "ca50"),
        ({"stoichiometric_ratio": 6.45, "heat_of_vaporisation": 1.1e6, "evaporated_share": 1.0}, "too cold"),
        ({"octane": 0.0}, "octane"),
        ({"evaporated_share": 1.1}, "evaporated_share"),
        (
            {
                "ca50": -20 * DEGREE,
                "burn_factor": 2.0,
                "speed": 20000 * RPM,
                "inlet_closes": 99 * DEGREE,
                "relative_air_fuel_ratio": 1.8,
            },
            "inlet closes",
        ),
    ],
)
def test_nonsense_is_refused(nonsense, word):
    with pytest.raises(OutOfRange, match=word):
        cycle_of(**(BASE | nonsense))


def test_what_raises_pressure_and_what_lowers_it():
    base = cycle_of(**BASE)
    assert cycle_of(**(BASE | {"compression_ratio": 11.0})).peak_pressure > base.peak_pressure
    assert cycle_of(**(BASE | {"compression_ratio": 11.0})).indicated_efficiency > base.indicated_efficiency
    assert cycle_of(**(BASE | {"ca50": 15 * DEGREE})).peak_pressure < base.peak_pressure
    assert cycle_of(**(BASE | {"ca50": 15 * DEGREE})).exhaust_temperature > base.exhaust_temperature
    assert cycle_of(**(BASE | {"manifold_pressure": 150e3})).knock_integral > base.knock_integral
    assert cycle_of(**(BASE | {"octane": 98.0})).knock_integral < base.knock_integral
    assert cycle_of(**(BASE | {"charge_temperature": 340.0})).end_gas_temperature > base.end_gas_temperature
    assert cycle_of(**(BASE | {"speed": 1000 * RPM})).heat_loss_fraction > base.heat_loss_fraction
    assert cycle_of(**(BASE | {"evaporated_share": 1.0})).knock_integral < base.knock_integral
    # Richer than stoichiometric the same fuel does less.
    assert (
        cycle_of(**(BASE | {"relative_air_fuel_ratio": 0.8})).indicated_efficiency < base.indicated_efficiency
    )


def test_the_trace_is_the_cycle():
    cycle, trace = cycle_of(**BASE), pressure_trace(CycleInput(**BASE))
    assert trace.crank_angle.size == 721
    assert trace.crank_angle[0] == pytest.approx(-2 * math.pi)
    assert trace.crank_angle[360] == pytest.approx(0.0, abs=1e-12)
    assert trace.pressure[0] == pytest.approx(trace.pressure[-1])  # a cycle closes
    assert float(trace.pressure.max()) == pytest.approx(cycle.peak_pressure, rel=2e-3)
    swept = math.pi / 4 * BASE["bore"] ** 2 * BASE["stroke"]
    gross = slice(180, 541)  # bottom to bottom dead centre
    work = float(np.trapezoid(trace.pressure[gross], trace.volume[gross]))
    assert work / swept == pytest.approx(cycle.imep, rel=2e-3)
    assert float(trace.volume.max() / trace.volume.min()) == pytest.approx(10.0)
    assert trace.burned_fraction[0] == 0.0
    assert trace.burned_fraction[-1] == pytest.approx(1.0, abs=2e-3)
    assert np.all(np.diff(trace.burned_fraction) >= 0)
    assert float(trace.end_gas_temperature.max()) >= cycle.end_gas_temperature - 1.0
    for values in trace:
        assert np.all(np.isfinite(values))
    # No step from one degree to the next beyond what the burn itself makes.
    assert float(np.max(np.abs(np.diff(trace.pressure)))) < 0.1 * cycle.peak_pressure


def test_pumping_of_the_trace_is_the_pumping_of_the_formula():
    from compat.engineering.cycle.friction import pumping_mean_effective_pressure

    throttled = BASE | {"manifold_pressure": 50e3, "exhaust_pressure": 105e3}
    trace = pressure_trace(CycleInput(**throttled))
    swept = math.pi / 4 * BASE["bore"] ** 2 * BASE["stroke"]
    loop = 0.0
    for part in (slice(0, 181), slice(540, 721)):
        loop -= float(np.trapezoid(trace.pressure[part], trace.volume[part])) / swept
    stated = pumping_mean_effective_pressure(
        50e3, 105e3, BASE["stroke"], BASE["speed"], BASE["charge_temperature"]
    )
    assert loop == pytest.approx(stated, rel=0.15)


def test_volume():
    angle = np.linspace(-math.pi, math.pi, 721)
    volume = cylinder_volume(angle, 0.086, 0.086, 0.145, 11.0)
    swept = math.pi / 4 * 0.086**3
    assert volume.min() == pytest.approx(swept / 10)
    assert volume.max() - volume.min() == pytest.approx(swept)
    # Piston past half its travel at 90 deg, by the tilt of the rod.
    assert float(volume[540] - volume.min()) > swept / 2


def test_burn_duration_and_residual():
    assert burn_duration(6000 * RPM, 0.9) > burn_duration(3000 * RPM, 0.9)
    assert burn_duration(3000 * RPM, 1.3) > burn_duration(3000 * RPM, 0.9)
    assert residual_gas_fraction(10.0, 50e3, 300.0, 0.8, 105e3) > residual_gas_fraction(
        10.0, 100e3, 300.0, 0.8, 105e3
    )
    with pytest.raises(OutOfRange):
        burn_duration(0.0, 1.0)
    with pytest.raises(OutOfRange):
        residual_gas_fraction(1.0, 1e5, 300.0, 0.9, 1e5)
