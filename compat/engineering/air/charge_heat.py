"""Heat of the charge: what a compressor puts in and an intercooler takes out.

Air is taken as a perfect gas whose heat capacity is constant, good to about half a per cent
up to 500 K.
"""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import finite, within

__all__ = [
    "AIR_EXPONENT",
    "AIR_GAS_CONSTANT",
    "AIR_HEAT_CAPACITY",
    "charge_temperature",
    "compressor_outlet_temperature",
    "compressor_power",
    "intercooler_effectiveness",
]

AIR_GAS_CONSTANT = 287.05
"""Of dry air, [J/(kg*K)] (ISO 2533)."""
AIR_HEAT_CAPACITY = 1005.0
"""Of air at constant pressure near room temperature, [J/(kg*K)]."""
AIR_EXPONENT = 0.4 / 1.4
"""(k - 1)/k of air with k = 1.4, [-]."""


def _isentropic_rise(ratio: float, efficiency: float) -> float:
    """Temperature rise over inlet temperature."""
    finite(pressure_ratio=ratio)
    within("pressure_ratio", ratio, 1.0, 8.0)
    within("efficiency", efficiency, 0.05, 1.0)
    return float(math.expm1(AIR_EXPONENT * math.log(ratio)) / efficiency)


@formula(
    takes={"inlet_temperature": "degC", "pressure_ratio": "number", "efficiency": "number"},
    gives="degC",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6",
    rises_with=("inlet_temperature", "pressure_ratio"),
    falls_with=("efficiency",),
)
def compressor_outlet_temperature(inlet_temperature: float, pressure_ratio: float, efficiency: float) -> float:
    """Temperature of the air that leaves a compressor.

    Parameters
    ----------
    inlet_temperature : float
        At the compressor's mouth, [K]
    pressure_ratio : float
        Outlet over inlet pressure, 1 to 8, [-]
    efficiency : float
        Isentropic efficiency, [-]

    Returns
    -------
    float
        Outlet temperature, [K]

    Raises
    ------
    OutOfRange
        When the temperature is not above zero, or ratio or efficiency lie outside their range.

    Notes
    -----
    Heat capacity is held constant. Against the true properties of dry air the outlet comes
    out up to 2 K low at a ratio of 3.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(compressor_outlet_temperature(298.15, 2.0, 0.72) - 273.15, 1)
    115.7
    """
    positive(inlet_temperature=inlet_temperature)
    return inlet_temperature * (1 + _isentropic_rise(pressure_ratio, efficiency))


@formula(
    takes={
        "mass_flow": "kg/s",
        "inlet_temperature": "degC",
        "pressure_ratio": "number",
        "efficiency": "number",
    },
    gives="kW",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6",
    rises_with=("mass_flow", "inlet_temperature", "pressure_ratio"),
    falls_with=("efficiency",),
)
def compressor_power(
    mass_flow: float, inlet_temperature: float, pressure_ratio: float, efficiency: float
) -> float:
    """Power that a compressor takes up.

    Parameters
    ----------
    mass_flow : float
        True flow, [kg/s]
    inlet_temperature : float
        At the compressor's mouth, [K]
    pressure_ratio : float
        Outlet over inlet pressure, 1 to 8, [-]
    efficiency : float
        Isentropic efficiency, [-]

    Returns
    -------
    float
        Power into the air, bearings left out, [W]

    Raises
    ------
    OutOfRange
        When flow or temperature is not above zero, or ratio or efficiency lie outside their range.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(compressor_power(0.25, 298.15, 2.0, 0.72) / 1e3, 1)
    22.8
    """
    positive(mass_flow=mass_flow, inlet_temperature=inlet_temperature)
    return mass_flow * AIR_HEAT_CAPACITY * inlet_temperature * _isentropic_rise(pressure_ratio, efficiency)


@formula(
    takes={"rated_effectiveness": "number", "rated_flow": "kg/s", "mass_flow": "kg/s"},
    gives="number",
    source="effectiveness and transfer units with the cooling air in plenty; Kays & London, "
    "Compact Heat Exchangers; exponent common practice",
    scatter=0.05,
    scatter_source="common practice: the exponent on flow is 0.4 to 0.6 from core to core",
    rises_with=("rated_effectiveness", "rated_flow"),
    falls_with=("mass_flow",),
)
def intercooler_effectiveness(rated_effectiveness: float, rated_flow: float, mass_flow: float) -> float:
    """Effectiveness of an intercooler at another flow than its card states.

    Parameters
    ----------
    rated_effectiveness : float
        Stated, [-]
    rated_flow : float
        Charge flow at which it is stated, [kg/s]
    mass_flow : float
        Charge flow asked for, [kg/s]

    Returns
    -------
    float
        Share of the temperature step to the cooling air that is taken out, [-]

    Raises
    ------
    OutOfRange
        When a flow is not above zero or the effectiveness lies outside 0.05 to 0.98.

    Notes
    -----
    Transfer units fall with the square root of the flow, because the inner film takes about half
    the temperature step and grows better with flow. Good between a third and twice the rated flow.

    References
    ----------
    .. [1] Kays & London, Compact Heat Exchangers, McGraw-Hill.

    Examples
    --------
    >>> round(intercooler_effectiveness(0.75, 0.20, 0.20), 3)
    0.75
    >>> round(intercooler_effectiveness(0.75, 0.20, 0.30), 3)
    0.678
    """
    positive(rated_flow=rated_flow, mass_flow=mass_flow)
    within("rated_effectiveness", rated_effectiveness, 0.05, 0.98)
    units = -math.log1p(-rated_effectiveness) * math.sqrt(rated_flow / mass_flow)
    return -math.expm1(-units)


@formula(
    takes={"outlet_temperature": "degC", "cooling_air_temperature": "degC", "effectiveness": "number"},
    gives="degC",
    source="definition of effectiveness; Kays & London, Compact Heat Exchangers",
    rises_with=("outlet_temperature", "cooling_air_temperature"),
    either_way=("effectiveness",),
)
def charge_temperature(
    outlet_temperature: float, cooling_air_temperature: float, effectiveness: float
) -> float:
    """Temperature of the charge behind the intercooler.

    Parameters
    ----------
    outlet_temperature : float
        At the compressor's outlet, [K]
    cooling_air_temperature : float
        Of the air that reaches the intercooler, [K]
    effectiveness : float
        0 without an intercooler, 1 for a perfect one, [-]

    Returns
    -------
    float
        Charge temperature, [K]

    Raises
    ------
    OutOfRange
        When a temperature is not above zero or the effectiveness lies outside 0 to 1.

    References
    ----------
    .. [1] Kays & London, Compact Heat Exchangers, McGraw-Hill.

    Examples
    --------
    >>> round(charge_temperature(388.85, 298.15, 0.72) - 273.15, 1)
    50.4
    """
    positive(outlet_temperature=outlet_temperature, cooling_air_temperature=cooling_air_temperature)
    within("effectiveness", effectiveness, 0.0, 1.0)
    return outlet_temperature - effectiveness * (outlet_temperature - cooling_air_temperature)
