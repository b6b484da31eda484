"""From a power goal to the charge, pressures, flows and phasing that it asks of the engine."""

from __future__ import annotations

import math

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
from compat.engineering.cycle.goal_search import meet_goal
from compat.engineering.cycle.knock_limit import LATEST_CA50
from compat.engineering.formula import GoalOutOfReach, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["operating_point"]


@formula(
    takes=ENGINE_TAKES | {"power": "kW", "manifold_pressure_limit": "kPa"},
    gives=POINT_GIVES,
    source=POINT_SOURCE,
    scatter=POINT_SCATTER,
    scatter_source=POINT_SCATTER_SOURCE,
    heavy=True,
    sensitive_to=(),
)
def operating_point(
    power: float,
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
    manifold_pressure_limit: float = 600e3,
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
    """What a power goal asks of a four-stroke spark-ignition engine: charge, pressures, flows, phasing, heat.

    Parameters
    ----------
    power : float
        Brake power at the flywheel [W].
    speed : float
        Engine speed [rad/s].
    bore, stroke, rod_length : float
        Cylinder diameter, piston travel, rod length between centres [m].
    cylinders : float
        Number of cylinders [-].
    compression_ratio : float
        Geometric compression ratio [-].
    octane, stoichiometric_ratio : float
        Research octane number and stoichiometric air/fuel ratio of the fuel [-].
    heating_value, heat_of_vaporisation : float
        Lower heating value and heat of vaporisation of the fuel [J/kg].
    density : float
        Density of the fuel [kg/m^3].
    relative_air_fuel_ratio : float
        Lambda at this point [-].
    ambient_pressure : float
        Pressure of the surroundings [Pa].
    charge_temperature : float
        Temperature of the air in the inlet manifold [K].
    volumetric_efficiency : float
        Trapped air against the swept volume filled at manifold density [-].
    exhaust_back_pressure : float
        Of the exhaust system behind any turbine, above ambient [Pa].
    back_pressure_to_boost : float
        Rise of the pressure before the turbine over the boost, both gauge [-]; 0 without a turbocharger.
    manifold_pressure_limit : float
        Highest manifold pressure that is to be had, absolute [Pa].
    ca50_best, ca50_latest : float
        Half the charge burned: where torque is best, and the latest that is run [rad].
    friction_factor : float
        Friction against the usual constants [-].
    burn_factor, wall_temperature, inlet_closes, exhaust_opens, evaporated_share : float
        As `closed_cycle`.
    octane_sensitivity : float
        As `closed_cycle`.

    Returns
    -------
    OperatingPoint
        Power [W]; manifold pressure, boost above ambient, exhaust pressure [Pa]; air trapped by one cylinder
        [kg]; residual share [-]; peak pressure [Pa] and its angle [rad]; bmep, fmep, pmep, gross imep [Pa];
        mechanical and brake efficiency [-]; bsfc [kg/J]; air and fuel flow [kg/s], fuel volume flow [m^3/s];
        phasing [rad]; knock integral and the margin to its limit [-]; retard for knock [rad] and the manifold
        pressure it costs [Pa]; points of octane outside 80 to 100 [-]; highest end gas temperature [K];
        pressure where burning starts [Pa]; exhaust temperature behind the port [K]; heat to the coolant [W].

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
    `ca50_best` saves more heat than it loses work. The delay takes the mean of research and motor octane
    number, and `octane_extrapolation` says by how many points that lies outside the 80 to 100 it was measured
    for; the knock limit is then tightened. Heat to the coolant counts the closed cylinder, valves and ports,
    and half the friction. The model describes a warm engine in steady running; it does not replace a
    dynamometer, nor listening for knock.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 9, 13 and 14.
    2. S. K. Chen, P. F. Flynn, SAE 650733. 3. G. F. Hohenberg, SAE 790825.
    4. A. M. Douaud, P. Eyzat, SAE 780080.

    Examples
    --------
    >>> point = operating_point(
    ...     92e3, 5800 * math.pi / 30, 0.0855, 0.087, 0.148, 4, 10.0, 98.0, 14.6, 43e6, 350e3, 745.0, 0.9,
    ...     101.3e3, 305.0, 0.86)
    >>> 90 < point.manifold_pressure / 1e3 < 112, 1.05 < point.imep / point.bmep < 1.5
    (True, True)
    """
    positive(power=power)
    within("manifold_pressure_limit", manifold_pressure_limit, 20e3, 1000e3, "kPa absolute", 1e3)
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
            ambient_pressure,
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
    bmep = power * 4.0 * math.pi / (engine.displacement * speed)
    if bmep > 10e6:
        raise GoalOutOfReach(
            f"{power / 1e3:.0f} kW at {speed * 30 / math.pi:.0f} rpm from {engine.displacement * 1e3:.2f} L "
            f"is a brake mean effective pressure of {bmep / 1e5:.0f} bar; "
            "no spark-ignition engine reaches 100 bar"
        )
    return report(engine, *meet_goal(engine, bmep, manifold_pressure_limit))
