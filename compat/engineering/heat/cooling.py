"""Heat that coolant and oil carry away, and what a radiator and pump make of it."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "coolant_flow",
    "coolant_heat",
    "oil_heat",
    "pump_flow_at_speed",
    "radiator_capacity",
]

_COOLANT_SHARE = {"natural": 0.70, "boosted": 0.85}
_JET_SHARE = {"none": 0.0, "fitted": 0.05}


@formula(
    takes={"brake_power": "kW", "aspiration": ("natural", "boosted")},
    gives="kW",
    source="common practice: 0.6 to 0.8 of brake power, 0.7 to 1.0 boosted",
    scatter=0.17,
    scatter_source="common practice: that range",
    rises_with=("brake_power",),
)
def coolant_heat(brake_power: float, aspiration: str) -> float:
    """Heat that the coolant carries to the radiator at a brake power.

    Parameters
    ----------
    brake_power : float
        At the flywheel, [W]
    aspiration : str
        natural or boosted.

    Returns
    -------
    float
        Heat flow, [W]

    Raises
    ------
    OutOfRange
        When the power is not above zero or the aspiration is another word.

    Notes
    -----
    For a water-cooled four-stroke petrol engine near full load; idling in traffic is another case.

    References
    ----------
    .. [1] Common practice; Heywood, Internal Combustion Engine Fundamentals, ch. 12 gives like shares.

    Examples
    --------
    >>> coolant_heat(220e3, "boosted") / 1e3
    187.0
    """
    positive(brake_power=brake_power)
    if aspiration not in _COOLANT_SHARE:
        raise OutOfRange(f"aspiration must be natural or boosted, got {aspiration}")
    return brake_power * _COOLANT_SHARE[aspiration]


@formula(
    takes={"brake_power": "kW", "friction_power": "kW", "piston_jets": ("none", "fitted")},
    gives="kW",
    source="common practice: three quarters of the friction, and what piston jets pick up",
    scatter=0.25,
    scatter_source="common practice",
    rises_with=("brake_power", "friction_power"),
)
def oil_heat(brake_power: float, friction_power: float, piston_jets: str) -> float:
    """Heat that the oil picks up.

    Parameters
    ----------
    brake_power : float
        At the flywheel, [W]
    friction_power : float
        Lost in bearings, pistons and drives, [W]
    piston_jets : str
        none or fitted.

    Returns
    -------
    float
        Heat flow, part of which the sump gives to the air, [W]

    Raises
    ------
    OutOfRange
        When the brake power is not above zero, the friction negative, or the word another.

    Notes
    -----
    Jets take 4 to 6 per cent of brake power out of the crowns (common practice).

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(oil_heat(220e3, 30e3, "fitted") / 1e3, 1)
    33.5
    """
    positive(brake_power=brake_power)
    not_negative(friction_power=friction_power)
    if piston_jets not in _JET_SHARE:
        raise OutOfRange(f"piston_jets must be none or fitted, got {piston_jets}")
    return 0.75 * friction_power + _JET_SHARE[piston_jets] * brake_power


@formula(
    takes={
        "rated_heat": "kW",
        "rated_difference": "K",
        "rated_air_speed": "m/s",
        "coolant_temperature": "degC",
        "air_temperature": "degC",
        "air_speed": "m/s",
        "rated_effectiveness": "number",
    },
    gives="kW",
    source="effectiveness and transfer units; Kays & London, Compact Heat Exchangers",
    scatter=0.10,
    scatter_source="common practice: core, grille and fan as fitted against the card",
    rises_with=("rated_heat", "coolant_temperature", "air_speed"),
    falls_with=("rated_difference", "rated_air_speed", "air_temperature"),
)
def radiator_capacity(
    rated_heat: float,
    rated_difference: float,
    rated_air_speed: float,
    coolant_temperature: float,
    air_temperature: float,
    air_speed: float,
    rated_effectiveness: float = 0.55,
) -> float:
    """Heat that a radiator sheds at other temperatures and air speed than its card states.

    Parameters
    ----------
    rated_heat : float
        Stated, [W]
    rated_difference : float
        Coolant inlet less air inlet when stated, [K]
    rated_air_speed, air_speed : float
        Through the core's face, when stated and now, [m/s]
    coolant_temperature, air_temperature : float
        Where coolant and air enter, [K]
    rated_effectiveness : float, optional
        Share of the temperature difference that the air takes up when stated, [-]

    Returns
    -------
    float
        Heat flow, [W]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the coolant is colder than the air.

    Notes
    -----
    The air side governs: its film grows with the 0.6 power of air speed, its capacity with the
    first. Speed through the core is a quarter to a third of road speed (common practice).

    References
    ----------
    .. [1] Kays & London, Compact Heat Exchangers, McGraw-Hill.

    Examples
    --------
    >>> round(radiator_capacity(90e3, 65.0, 8.0, 368.15, 303.15, 8.0) / 1e3, 1)
    90.0
    >>> round(radiator_capacity(90e3, 65.0, 8.0, 368.15, 303.15, 4.0) / 1e3, 1)
    53.3
    """
    positive(
        rated_heat=rated_heat,
        rated_difference=rated_difference,
        rated_air_speed=rated_air_speed,
        coolant_temperature=coolant_temperature,
        air_temperature=air_temperature,
        air_speed=air_speed,
    )
    within("rated_effectiveness", rated_effectiveness, 0.05, 0.95)
    difference = coolant_temperature - air_temperature
    if difference < 0:
        raise OutOfRange(
            f"coolant_temperature ({coolant_temperature - 273.15:.0f} degC) must not be below "
            f"air_temperature ({air_temperature - 273.15:.0f} degC)"
        )
    flow = air_speed / rated_air_speed
    units = -math.log1p(-rated_effectiveness) * math.pow(flow, 0.6 - 1.0)
    effectiveness = -math.expm1(-units)
    return rated_heat * difference / rated_difference * flow * effectiveness / rated_effectiveness


@formula(
    takes={"heat": "kW", "temperature_rise": "K", "density": "kg/m^3", "heat_capacity": "J/(kg*K)"},
    gives="L/min",
    source="heat balance of a liquid stream",
    rises_with=("heat",),
    falls_with=("temperature_rise", "density", "heat_capacity"),
)
def coolant_flow(
    heat: float, temperature_rise: float, density: float = 1040.0, heat_capacity: float = 3600.0
) -> float:
    """Flow that carries a heat at a temperature rise.

    Parameters
    ----------
    heat : float
        To be carried, [W]
    temperature_rise : float
        Between engine inlet and outlet; 5 to 10 K is usual, [K]
    density : float, optional
        Of the liquid; half water, half glycol at 90 degC unless said, [kg/m^3]
    heat_capacity : float, optional
        Of the liquid, [J/(kg*K)]

    Returns
    -------
    float
        Flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Any text on heat transfer.

    Examples
    --------
    >>> round(coolant_flow(150e3, 10.0) * 6e4)
    240
    """
    positive(heat=heat, temperature_rise=temperature_rise, density=density, heat_capacity=heat_capacity)
    return heat / (density * heat_capacity * temperature_rise)


@formula(
    takes={"rated_flow": "L/min", "rated_speed": "rpm", "speed": "rpm"},
    gives="L/min",
    source="affinity law of centrifugal pumps",
    rises_with=("rated_flow", "speed"),
    falls_with=("rated_speed",),
)
def pump_flow_at_speed(rated_flow: float, rated_speed: float, speed: float) -> float:
    """Flow of a water pump at another speed, in the same circuit.

    Parameters
    ----------
    rated_flow : float
        Stated, [m^3/s]
    rated_speed, speed : float
        Pump speeds when stated and now, [rad/s]

    Returns
    -------
    float
        Flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Holds until the impeller cavitates, for usual pumps near 7500 to 8000 rpm (common practice).

    References
    ----------
    .. [1] Any text on fluid machinery.

    Examples
    --------
    >>> round(pump_flow_at_speed(150 / 6e4, 5000, 6500) * 6e4)
    195
    """
    positive(rated_flow=rated_flow, rated_speed=rated_speed, speed=speed)
    return rated_flow * speed / rated_speed
