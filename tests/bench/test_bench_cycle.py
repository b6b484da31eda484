"""How long the cycle and the goal take: nothing is asserted on a clock, only cycles are counted."""

from __future__ import annotations

import math

import pytest

from compat.engineering import find
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.pressure_trace import pressure_trace
from compat.engineering.cycle.working_gas import working_gas

# by keyword, as figures call them
closed_cycle = find("closed_cycle").function
operating_point = find("operating_point").function
output_at_manifold_pressure = find("output_at_manifold_pressure").function

RPM = math.pi / 30
CYLINDER = {
    "bore": 0.0855,
    "stroke": 0.087,
    "rod_length": 0.148,
    "compression_ratio": 8.8,
    "octane": 98.0,
    "stoichiometric_ratio": 14.6,
    "heating_value": 43e6,
    "heat_of_vaporisation": 350e3,
    "relative_air_fuel_ratio": 0.88,
    "charge_temperature": 313.0,
    "volumetric_efficiency": 0.92,
    "speed": 3200 * RPM,
}
ENGINE = CYLINDER | {
    "cylinders": 4.0,
    "density": 745.0,
    "ambient_pressure": 101.3e3,
    "back_pressure_to_boost": 1.0,
}


def test_closed_cycle(benchmark):
    benchmark(closed_cycle, manifold_pressure=160e3, exhaust_pressure=175e3, **CYLINDER)


def test_pressure_trace(benchmark):
    benchmark(pressure_trace, CycleInput(manifold_pressure=160e3, exhaust_pressure=175e3, **CYLINDER))


def test_gas_tables(benchmark):
    def fresh():
        working_gas.cache_clear()
        return working_gas(14.6, 43e6, 0.88)

    benchmark(fresh)


@pytest.mark.parametrize("octane", [110.0, 98.0, 92.0], ids=["free", "knock", "heavy_knock"])
def test_operating_point(benchmark, octane):
    arguments = ENGINE | {"octane": octane}
    point = benchmark(operating_point, power=265.0 * 3200 * RPM, **arguments)
    assert (point.knock_retard > 0) is (octane < 100)


def test_output_at_manifold_pressure(benchmark):
    benchmark(output_at_manifold_pressure, manifold_pressure=160e3, **ENGINE)


def test_a_goal_costs_a_few_cycles():
    """With knock a goal takes some twenty cycles, without it about four."""
    from compat.engineering.cycle import engine_output

    count = 0
    inner = engine_output.integrate

    def counting(*arguments, **named):
        nonlocal count
        count += 1
        return inner(*arguments, **named)

    engine_output.integrate = counting
    try:
        operating_point(power=147e3, **(ENGINE | {"speed": 5600 * RPM, "octane": 110.0}))
        free, count = count, 0
        operating_point(power=265.0 * 3200 * RPM, **ENGINE)
    finally:
        engine_output.integrate = inner
    assert free <= 6
    assert count <= 30
