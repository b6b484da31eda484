"""What the formulas of a whole engine take and give, with units, source and scatter."""

from __future__ import annotations

import math
from dataclasses import replace

from compat.engineering.cycle.closed_cycle import CYCLE_TAKES
from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input
from compat.engineering.cycle.engine_output import Engine
from compat.engineering.formula import positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "ENGINE_TAKES",
    "POINT_GIVES",
    "POINT_SCATTER",
    "POINT_SCATTER_SOURCE",
    "POINT_SOURCE",
    "make_engine",
]

ENGINE_TAKES = {
    name: unit for name, unit in CYCLE_TAKES.items() if name not in ("manifold_pressure", "exhaust_pressure")
} | {
    "cylinders": "number",
    "density": "kg/L",
    "ambient_pressure": "kPa",
    "exhaust_back_pressure": "kPa",
    "back_pressure_to_boost": "number",
    "ca50_best": "deg",
    "ca50_latest": "deg",
    "friction_factor": "number",
}
POINT_GIVES = {
    "power": "kW",
    "manifold_pressure": "kPa",
    "boost": "kPa",
    "exhaust_pressure": "kPa",
    "trapped_air": "mg",
    "residual_fraction": "%",
    "peak_pressure": "bar",
    "peak_pressure_angle": "deg",
    "bmep": "kPa",
    "fmep": "kPa",
    "pmep": "kPa",
    "imep": "kPa",
    "mechanical_efficiency": "%",
    "brake_efficiency": "%",
    "bsfc": "g/(kW*h)",
    "air_flow": "kg/h",
    "fuel_flow": "kg/h",
    "fuel_volume_flow": "L/h",
    "ca50": "deg",
    "knock_integral": "number",
    "knock_margin": "%",
    "knock_retard": "deg",
    "boost_cost": "kPa",
    "octane_extrapolation": "number",
    "end_gas_temperature": "degC",
    "pressure_at_ignition": "bar",
    "exhaust_temperature": "degC",
    "heat_to_coolant": "kW",
}
POINT_SOURCE = (
    "Heywood, Internal Combustion Engine Fundamentals, ch. 9, 13, 14; Chen & Flynn, SAE 650733; "
    "Hohenberg, SAE 790825; Livengood & Wu 1955 with Douaud & Eyzat, SAE 780080"
)
POINT_SCATTER = {
    "manifold_pressure": 0.08,
    "exhaust_pressure": 0.10,
    "trapped_air": 0.06,
    "residual_fraction": 0.40,
    "peak_pressure": 0.10,
    "fmep": 0.20,
    "pmep": 0.30,
    "imep": 0.05,
    "mechanical_efficiency": 0.05,
    "brake_efficiency": 0.06,
    "bsfc": 0.06,
    "air_flow": 0.06,
    "fuel_flow": 0.06,
    "fuel_volume_flow": 0.06,
    "ca50": 0.25,
    "knock_integral": 0.30,
    "end_gas_temperature": 0.03,
    "pressure_at_ignition": 0.15,
    "exhaust_temperature": 0.06,
    "heat_to_coolant": 0.30,
}
POINT_SCATTER_SOURCE = (
    "common practice, no source: peak pressure of single cycles spreads by a tenth about their mean; "
    "the rest own judgement of friction, burn, heat-transfer and delay correlations"
)


def make_engine(
    cylinders: float,
    density: float,
    ambient_pressure: float,
    exhaust_back_pressure: float,
    back_pressure_to_boost: float,
    ca50_best: float,
    ca50_latest: float,
    friction_factor: float,
    cycle: CycleInput,
) -> Engine:
    """Engine at one speed, once its arguments are seen to lie within the model.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and the range that holds.
    """
    positive(density=density, ambient_pressure=ambient_pressure, friction_factor=friction_factor)
    not_negative(exhaust_back_pressure=exhaust_back_pressure)
    within("cylinders", cylinders, 1.0, 24.0)
    within("density", density, 300.0, 1200.0, "kg/m^3")
    within("ambient_pressure", ambient_pressure, 40e3, 110e3, "kPa absolute", 1e3)
    within("exhaust_back_pressure", exhaust_back_pressure, 0.0, 300e3, "kPa above ambient", 1e3)
    within("back_pressure_to_boost", back_pressure_to_boost, 0.0, 4.0)
    within("friction_factor", friction_factor, 0.2, 3.0)
    check_cycle_input(cycle)
    check_cycle_input(replace(cycle, ca50=ca50_latest))
    within("ca50_latest", ca50_latest, ca50_best, math.pi, "deg after top dead centre", math.pi / 180)
    return Engine(
        cycle,
        cylinders,
        density,
        ambient_pressure,
        exhaust_back_pressure,
        back_pressure_to_boost,
        friction_factor,
        ca50_best,
        ca50_latest,
    )
