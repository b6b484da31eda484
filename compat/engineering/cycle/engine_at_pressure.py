"""What an engine gives at a manifold pressure."""

from __future__ import annotations

import math  # noqa: F401 (used by the example)

from compat.engineering.cycle.engine import Engine, check_engine
from compat.engineering.cycle.engine_output import (
    POINT_GIVES,
    POINT_SCATTER,
    POINT_SCATTER_SOURCE,
    POINT_SOURCE,
    OperatingPoint,
    balance_at,
    report,
)
from compat.engineering.cycle.goal_search import phase_at, without_knock
from compat.engineering.formula import formula
from compat.engineering.numerics.ranges import within

__all__ = ["output_at_manifold_pressure"]


@formula(
    takes={"engine": Engine, "manifold_pressure": "kPa"},
    gives=POINT_GIVES,
    source=POINT_SOURCE,
    scatter=POINT_SCATTER | {"power": 0.08, "bmep": 0.08},
    scatter_source=POINT_SCATTER_SOURCE,
    heavy=True,
    sensitive_to=("compression_ratio",),
)
def output_at_manifold_pressure(manifold_pressure: float, engine: Engine) -> OperatingPoint:
    """What an engine gives at a manifold pressure, at the earliest phasing without knock.

    Parameters
    ----------
    manifold_pressure : float
        Inlet manifold pressure, absolute [Pa].
    engine : Engine
        Engine, speed, fuel and surroundings, SI units.

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
    >>> point = output_at_manifold_pressure(100e3, Engine(
    ...     speed=5800 * math.pi / 30, bore=0.0855, stroke=0.087, rod_length=0.148, cylinders=4,
    ...     compression_ratio=10.0, octane=98.0, stoichiometric_ratio=14.6, heating_value=43e6,
    ...     heat_of_vaporisation=350e3, density=745.0, relative_air_fuel_ratio=0.9, ambient_pressure=101.3e3,
    ...     charge_temperature=305.0, volumetric_efficiency=0.86))
    >>> 80 < point.power / 1e3 < 105
    True
    """
    within("manifold_pressure", manifold_pressure, 15e3, 1000e3, "kPa absolute", 1e3)
    check_engine(engine)
    ca50 = phase_at(engine, manifold_pressure)
    balance = balance_at(engine, manifold_pressure, ca50)
    free = manifold_pressure
    if ca50 != engine.ca50_best and balance.bmep > 0.0:
        free = without_knock(engine, balance.bmep, manifold_pressure).given.manifold_pressure
    return report(engine, balance, free)
