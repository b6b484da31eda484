"""From a power goal to the charge, pressures, flows and phasing that it asks of the engine."""

from __future__ import annotations

import math

from compat.engineering.cycle.cycle_directions import POINT_FALLS, POINT_RISES
from compat.engineering.cycle.engine import Engine, check_engine
from compat.engineering.cycle.engine_output import (
    POINT_GIVES,
    POINT_SCATTER,
    POINT_SCATTER_SOURCE,
    POINT_SLOPES,
    POINT_SOURCE,
    OperatingPoint,
    report,
)
from compat.engineering.cycle.goal_search import meet_goal
from compat.engineering.formula import GoalOutOfReach, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["operating_point"]


@formula(
    takes={"engine": Engine, "power": "kW", "manifold_pressure_limit": "kPa"},
    gives=POINT_GIVES,
    source=POINT_SOURCE,
    scatter=POINT_SCATTER,
    scatter_source=POINT_SCATTER_SOURCE,
    heavy=True,
    slopes=POINT_SLOPES,
    rises_with=POINT_RISES,
    falls_with=POINT_FALLS,
)
def operating_point(power: float, engine: Engine, manifold_pressure_limit: float = 600e3) -> OperatingPoint:
    """What a power goal asks of a four-stroke spark-ignition engine: charge, pressures, flows, phasing, heat.

    Parameters
    ----------
    power : float
        Brake power at the flywheel [W].
    engine : Engine
        Engine, speed, fuel and surroundings, SI units.
    manifold_pressure_limit : float, optional
        Highest manifold pressure that is to be had, absolute [Pa].

    Returns
    -------
    OperatingPoint
        Power [W]; manifold pressure, boost above ambient, exhaust pressure [Pa]; air trapped by one cylinder
        [kg]; residual share [-]; peak pressure [Pa] and its angle [rad]; bmep, fmep, pmep, gross imep [Pa];
        mechanical and brake efficiency [-]; bsfc [kg/J]; air and fuel flow [kg/s], fuel volume flow [m^3/s];
        phasing [rad]; knock integral and the margin to its limit [-]; retard for knock [rad] and the manifold
        pressure it costs [Pa]; phasing after the best at which this charge just does not knock, below zero
        where there is room [rad], and by how much that moves with the log of the knock integral, compression
        ratio, charge temperature and octane at the same charge [rad], [rad/K]; manifold pressure that the
        square of the retard costs [Pa]; points of octane outside 80 to 100 [-]; highest end gas temperature
        [K]; pressure where burning starts [Pa]; exhaust temperature behind the port [K]; heat to the coolant
        [W].

    Raises
    ------
    GoalOutOfReach
        When the goal cannot be met; the message says what stands in the way: manifold pressure, knock, burned
        gas in the charge, or friction.
    OutOfRange
        When an argument lies outside the model.

    Notes
    -----
    The charge is found at which imep less pumping and friction gives the power. Where the end gas would
    ignite by itself the burn is retarded until it does not, which costs efficiency and asks for more charge:
    `boost_cost` is the difference; it may fall below zero at cranking speeds, where burning later than
    `ca50_best` saves more heat than it loses work. The delay takes the octane number between research and
    motor that `motor_octane_weight` gives, and `octane_extrapolation` says by how many points that lies
    outside the 80 to 100 it was measured for; the knock limit is then tightened. Heat to the coolant counts
    the cylinder, closed and while the exhaust flows, valves and ports, and half the friction. The model
    describes a warm engine in steady running; it does not replace a dynamometer, nor listening for knock.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 9, 13 and 14.
    2. S. K. Chen, P. F. Flynn, SAE 650733. 3. G. F. Hohenberg, SAE 790825.
    4. A. M. Douaud, P. Eyzat, SAE 780080.

    Examples
    --------
    >>> point = operating_point(92e3, Engine(
    ...     speed=5800 * math.pi / 30, bore=0.0855, stroke=0.087, rod_length=0.148, cylinders=4,
    ...     compression_ratio=10.0, octane=98.0, stoichiometric_ratio=14.6, heating_value=43e6,
    ...     heat_of_vaporisation=350e3, density=745.0, relative_air_fuel_ratio=0.9, ambient_pressure=101.3e3,
    ...     charge_temperature=305.0, volumetric_efficiency=0.86))
    >>> 90 < point.manifold_pressure / 1e3 < 112, 1.05 < point.imep / point.bmep < 1.5
    (True, True)
    """
    positive(power=power)
    within("manifold_pressure_limit", manifold_pressure_limit, 20e3, 1000e3, "kPa absolute", 1e3)
    check_engine(engine)
    bmep = power * 4.0 * math.pi / (engine.displacement * engine.speed)
    if bmep > 10e6:
        raise GoalOutOfReach(
            f"{power / 1e3:.0f} kW at {engine.speed * 30 / math.pi:.0f} rpm from "
            f"{engine.displacement * 1e3:.2f} L is a brake mean effective pressure of {bmep / 1e5:.0f} bar; "
            "no spark-ignition engine reaches 100 bar"
        )
    return report(engine, *meet_goal(engine, bmep, manifold_pressure_limit))
