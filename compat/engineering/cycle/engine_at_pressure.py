"""What an engine gives at a manifold pressure."""

from __future__ import annotations

import math  # noqa: F401 (used by the example)

from compat.engineering.cycle.closed_cycle import BEST_CA50, EXHAUST_OPENS, INLET_CLOSES, WALL_TEMPERATURE
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.engine_arguments import (
    ENGINE_TAKES,
    POINT_GIVES,
    POINT_SCATTER,
    POINT_SCATTER_SOURCE,
    POINT_SOURCE,
    make_engine,
)
from compat.engineering.cycle.engine_output import OperatingPoint, report
from compat.engineering.cycle.goal_search import phase_at, pressure_without_knock
from compat.engineering.cycle.knock_limit import LATEST_CA50
from compat.engineering.formula import formula
from compat.engineering.numerics.ranges import within

__all__ = ["output_at_manifold_pressure"]


@formula(
    takes=ENGINE_TAKES | {"manifold_pressure": "kPa"},
    gives=POINT_GIVES,
    source=POINT_SOURCE,
    scatter=POINT_SCATTER | {"power": 0.08, "bmep": 0.08},
    scatter_source=POINT_SCATTER_SOURCE,
    heavy=True,
    sensitive_to=("compression_ratio",),
)
def output_at_manifold_pressure(
    manifold_pressure: float,
    speed: float,
    bore: float,
    stroke: float,
    rod_length: float,
    cylinders: float,
    compression_ratio: float,
    octane: float,
    stoichiometric_ratio: float,
    heating_value: float,
    heat_of_vaporisation: float,
    density: float,
    relative_air_fuel_ratio: float,
    ambient_pressure: float,
    charge_temperature: float,
    volumetric_efficiency: float,
    exhaust_back_pressure: float = 15e3,
    back_pressure_to_boost: float = 0.0,
    ca50_best: float = BEST_CA50,
    ca50_latest: float = LATEST_CA50,
    friction_factor: float = 1.0,
    burn_factor: float = 1.0,
    wall_temperature: float = WALL_TEMPERATURE,
    inlet_closes: float = INLET_CLOSES,
    exhaust_opens: float = EXHAUST_OPENS,
    evaporated_share: float = 0.30,
    octane_sensitivity: float = 10.0,
) -> OperatingPoint:
    """What an engine gives at a manifold pressure, at the earliest phasing without knock.

    Parameters
    ----------
    manifold_pressure : float
        Inlet manifold pressure, absolute [Pa].
    speed, bore, stroke, rod_length, cylinders, compression_ratio : float
        As `operating_point`.
    octane, stoichiometric_ratio, heating_value, heat_of_vaporisation, density : float
        As `operating_point`.
    relative_air_fuel_ratio, ambient_pressure, charge_temperature, volumetric_efficiency : float
        As `operating_point`.
    exhaust_back_pressure, back_pressure_to_boost, ca50_best, ca50_latest, friction_factor : float
        As `operating_point`.
    burn_factor, wall_temperature, inlet_closes, exhaust_opens, evaporated_share : float
        As `closed_cycle`.
    octane_sensitivity : float
        As `closed_cycle`.

    Returns
    -------
    OperatingPoint
        As `operating_point`; `boost_cost` here is what the same power would save in manifold pressure if
        there were no knock.

    Raises
    ------
    GoalOutOfReach
        When it knocks however late it burns, or gives no brake power.
    OutOfRange
        When an argument lies outside the model.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 9, 13 and 14.

    Examples
    --------
    >>> point = output_at_manifold_pressure(
    ...     100e3, 5800 * math.pi / 30, 0.0855, 0.087, 0.148, 4, 10.0, 98.0, 14.6, 43e6, 350e3, 745.0, 0.9,
    ...     101.3e3, 305.0, 0.86)
    >>> 80 < point.power / 1e3 < 105
    True
    """
    within("manifold_pressure", manifold_pressure, 15e3, 1000e3, "kPa absolute", 1e3)
    engine = make_engine(
        cylinders,
        density,
        ambient_pressure,
        exhaust_back_pressure,
        back_pressure_to_boost,
        ca50_best,
        ca50_latest,
        friction_factor,
        CycleInput(
            bore,
            stroke,
            rod_length,
            compression_ratio,
            speed,
            manifold_pressure,
            charge_temperature,
            volumetric_efficiency,
            octane,
            stoichiometric_ratio,
            heating_value,
            heat_of_vaporisation,
            relative_air_fuel_ratio,
            ambient_pressure,
            ca50_best,
            burn_factor,
            wall_temperature,
            inlet_closes,
            exhaust_opens,
            evaporated_share,
            octane_sensitivity,
        ),
    )
    ca50 = phase_at(engine, manifold_pressure)
    point = report(engine, manifold_pressure, ca50, manifold_pressure)
    if ca50 == ca50_best:
        return point
    free = pressure_without_knock(engine, point.bmep, manifold_pressure)
    return point._replace(boost_cost=manifold_pressure - free)
