"""What the turbine must give, what the wastegate lets go, and what the exhaust system behind holds back.

Exhaust gas is taken as a perfect gas of constant heat capacity, lean to rich petrol alike.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "BoostRange",
    "TurbineBalance",
    "TurbineMatch",
    "exhaust_back_pressure",
    "turbine_balance",
    "turbine_match",
    "wastegate_range",
]

_GAS_HEAT_CAPACITY = 1150.0  # [J/(kg*K)], exhaust near 1100 K
_GAS_CONSTANT = 287.0  # [J/(kg*K)]
_EXPONENT = _GAS_CONSTANT / _GAS_HEAT_CAPACITY  # (k - 1)/k, k = 1.333
_K = 1 / (1 - _EXPONENT)
_CRITICAL = ((_K + 1) / 2) ** (_K / (_K - 1))  # expansion ratio at which a nozzle chokes
_HIGHEST_EXPANSION = 6.0


class TurbineBalance(NamedTuple):
    """Expansion that balances the compressor."""

    expansion_ratio: float
    inlet_pressure: float


class TurbineMatch(NamedTuple):
    """Expansion and flow that balance the compressor, and what is left for the wastegate."""

    expansion_ratio: float
    inlet_pressure: float
    wastegate_share: float


class BoostRange(NamedTuple):
    """Boost from the bare spring, and the most a control valve makes of it."""

    least_boost: float
    most_boost: float


def _expansion(drop: float) -> float:
    """Expansion ratio from the isentropic drop over inlet enthalpy."""
    return float((1 - drop) ** (-1 / _EXPONENT))


def _check(**arguments: float) -> None:
    efficiency = arguments.pop("turbine_efficiency")
    positive(**arguments)
    within("turbine_efficiency", efficiency, 0.2, 0.9)
    within("gas_temperature", arguments["gas_temperature"], 500.0, 1500.0, "K")


@formula(
    takes={
        "compressor_power": "kW",
        "exhaust_flow": "kg/s",
        "gas_temperature": "degC",
        "outlet_pressure": "kPa",
        "turbine_efficiency": "number",
    },
    gives={"expansion_ratio": "number", "inlet_pressure": "kPa"},
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6: power balance of a turbocharger",
    scatter={"inlet_pressure": 0.06},
    scatter_source="common practice: turbine efficiency in pulsing flow is known to a tenth",
)
def turbine_balance(
    compressor_power: float,
    exhaust_flow: float,
    gas_temperature: float,
    outlet_pressure: float,
    turbine_efficiency: float = 0.66,
) -> TurbineBalance:
    """Least pressure before a turbine that drives its compressor with all the exhaust.

    Parameters
    ----------
    compressor_power : float
        Taken up by the compressor, [W]
    exhaust_flow : float
        Air and fuel together, [kg/s]
    gas_temperature : float
        Before the turbine, [K]
    outlet_pressure : float
        Behind the turbine, absolute, [Pa]
    turbine_efficiency : float, optional
        Isentropic and mechanical together, [-]

    Returns
    -------
    TurbineBalance
        expansion_ratio [-] and inlet_pressure, absolute [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the exhaust does not hold the power.

    Notes
    -----
    Gas that goes by the wastegate does no work, so the true pressure is higher: see
    `turbine_match`. Heat capacity 1150 J/(kg K), ratio of heat capacities 1.333.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> balance = turbine_balance(22.8e3, 0.27, 1173.15, 110e3)
    >>> round(balance.expansion_ratio, 3), round(balance.inlet_pressure / 1e3, 1)
    (1.491, 164.0)
    """
    _check(
        compressor_power=compressor_power,
        exhaust_flow=exhaust_flow,
        gas_temperature=gas_temperature,
        outlet_pressure=outlet_pressure,
        turbine_efficiency=turbine_efficiency,
    )
    available = exhaust_flow * _GAS_HEAT_CAPACITY * gas_temperature * turbine_efficiency
    drop = compressor_power / available
    most = 1 - _HIGHEST_EXPANSION**-_EXPONENT
    if drop > most:
        raise OutOfRange(
            f"compressor_power of {compressor_power / 1e3:.1f} kW asks an expansion ratio above "
            f"{_HIGHEST_EXPANSION:g}; this exhaust gives at most {most * available / 1e3:.1f} kW"
        )
    ratio = _expansion(drop)
    return TurbineBalance(ratio, ratio * outlet_pressure)


def _shape(ratio: float) -> float:
    """Mass flow of a nozzle at an expansion ratio below the critical one, but for what does not hang on it."""
    return math.sqrt(math.pow(ratio, -2 / _K) - math.pow(ratio, -(_K + 1) / _K))


_CHOKED = _shape(_CRITICAL)


def _nozzle(ratio: float) -> float:
    """Mass flow of a nozzle at an expansion ratio, over its flow when choked."""
    return 1.0 if ratio >= _CRITICAL else _shape(max(ratio, 1.0)) / _CHOKED


@formula(
    takes={
        "compressor_power": "kW",
        "exhaust_flow": "kg/s",
        "gas_temperature": "degC",
        "outlet_pressure": "kPa",
        "swallowing_capacity": "kg/s",
        "turbine_efficiency": "number",
    },
    gives={"expansion_ratio": "number", "inlet_pressure": "kPa", "wastegate_share": "number"},
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6; the turbine as a nozzle",
    scatter={"inlet_pressure": 0.10},
    scatter_source="common practice: turbine efficiency in pulsing flow, and its flow against a nozzle's",
    rises_with={
        "expansion_ratio": ("compressor_power", "exhaust_flow"),
        "inlet_pressure": ("compressor_power", "outlet_pressure", "exhaust_flow"),
        "wastegate_share": ("exhaust_flow", "gas_temperature", "turbine_efficiency"),
    },
    falls_with={
        "expansion_ratio": ("gas_temperature", "outlet_pressure", "swallowing_capacity", "turbine_efficiency"),
        "inlet_pressure": ("gas_temperature", "swallowing_capacity", "turbine_efficiency"),
        "wastegate_share": ("compressor_power", "outlet_pressure", "swallowing_capacity"),
    },
)
def turbine_match(
    compressor_power: float,
    exhaust_flow: float,
    gas_temperature: float,
    outlet_pressure: float,
    swallowing_capacity: float,
    turbine_efficiency: float = 0.66,
) -> TurbineMatch:
    """Pressure before a turbine of known size, and the share of exhaust its wastegate passes.

    Parameters
    ----------
    compressor_power : float
        Taken up by the compressor, [W]
    exhaust_flow : float
        Air and fuel together, [kg/s]
    gas_temperature : float
        Before the turbine, [K]
    outlet_pressure : float
        Behind the turbine, absolute, [Pa]
    swallowing_capacity : float
        Corrected flow of the choked turbine, at 288.15 K and 100 kPa, [kg/s]
    turbine_efficiency : float, optional
        Isentropic and mechanical together, [-]

    Returns
    -------
    TurbineMatch
        expansion_ratio [-]; inlet_pressure, absolute [Pa]; wastegate_share [-]: below zero the
        exhaust is too little to reach this compressor power.

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or even an expansion ratio of 6 is too little.

    Notes
    -----
    A turbine passes the flow of a nozzle whose choked flow is its swallowing capacity. A small
    turbine needs much pressure but little flow; a large one the reverse.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> match = turbine_match(22.8e3, 0.27, 1173.15, 110e3, 0.18)
    >>> round(match.inlet_pressure / 1e3), round(match.wastegate_share, 2)
    (203, 0.33)
    """
    _check(
        compressor_power=compressor_power,
        exhaust_flow=exhaust_flow,
        gas_temperature=gas_temperature,
        outlet_pressure=outlet_pressure,
        swallowing_capacity=swallowing_capacity,
        turbine_efficiency=turbine_efficiency,
    )
    to_true = math.sqrt(288.15 / gas_temperature) / 100e3
    specific = _GAS_HEAT_CAPACITY * gas_temperature * turbine_efficiency

    def flow(ratio: float) -> float:
        return swallowing_capacity * _nozzle(ratio) * ratio * outlet_pressure * to_true

    def power(ratio: float) -> float:
        return flow(ratio) * specific * (1 - math.pow(ratio, -_EXPONENT))

    def surplus(ratio: float) -> float:
        return power(ratio) - compressor_power

    most = surplus(_HIGHEST_EXPANSION)
    if most < 0.0:
        raise OutOfRange(
            f"compressor_power of {compressor_power / 1e3:.1f} kW is more than this turbine gives at an "
            f"expansion ratio of {_HIGHEST_EXPANSION:g}: {power(_HIGHEST_EXPANSION) / 1e3:.1f} kW"
        )
    ratio = bracketed_root(surplus, 1.0, _HIGHEST_EXPANSION, surplus(1.0), most, 1e-14)
    return TurbineMatch(ratio, ratio * outlet_pressure, 1 - flow(ratio) / exhaust_flow)


@formula(
    takes={"spring_pressure": "kPa", "boost_multiple": "number"},
    gives={"least_boost": "kPa", "most_boost": "kPa"},
    source="common practice: a control valve holds about twice the spring",
    scatter={"most_boost": 0.10},
    scatter_source="common practice",
    rises_with={
        "least_boost": ("spring_pressure", "boost_multiple"),
        "most_boost": ("spring_pressure", "boost_multiple"),
    },
)
def wastegate_range(spring_pressure: float, boost_multiple: float = 2.0) -> BoostRange:
    """Boost that a wastegate spring can be set to.

    Parameters
    ----------
    spring_pressure : float
        Gauge pressure at which the actuator opens, [Pa]
    boost_multiple : float, optional
        Most boost over spring pressure with a control valve; 1 without one, [-]

    Returns
    -------
    BoostRange
        least_boost and most_boost, gauge, [Pa]

    Raises
    ------
    OutOfRange
        When the pressure is not above zero or the multiple lies outside 1 to 4.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> wastegate_range(60e3).most_boost
    120000.0
    """
    positive(spring_pressure=spring_pressure)
    within("boost_multiple", boost_multiple, 1.0, 4.0)
    return BoostRange(spring_pressure, spring_pressure * boost_multiple)


@formula(
    takes={
        "rated_loss": "kPa",
        "rated_flow": "kg/s",
        "exhaust_flow": "kg/s",
        "ambient_pressure": "kPa",
        "rated_temperature": "degC",
        "gas_temperature": "degC",
    },
    gives="kPa",
    source="compressible pipe flow: difference of squared pressures grows with flow squared and temperature",
    scatter=0.10,
    scatter_source="common practice: catalysts follow a power nearer 1.8",
    rises_with=("rated_loss", "exhaust_flow", "gas_temperature"),
    falls_with=("rated_flow", "ambient_pressure", "rated_temperature"),
)
def exhaust_back_pressure(
    rated_loss: float,
    rated_flow: float,
    exhaust_flow: float,
    ambient_pressure: float,
    rated_temperature: float,
    gas_temperature: float,
) -> float:
    """Back pressure of an exhaust system at another flow and temperature than it is stated for.

    Parameters
    ----------
    rated_loss : float
        Gauge pressure at the head of the system, stated at 101.325 kPa ambient, [Pa]
    rated_flow, exhaust_flow : float
        Flow at which it is stated, and flow asked for, [kg/s]
    ambient_pressure : float
        Of the surroundings, [Pa]
    rated_temperature, gas_temperature : float
        Of the gas when stated, and now, [K]

    Returns
    -------
    float
        Gauge pressure at the head of the system, [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero (the loss may be zero).

    References
    ----------
    .. [1] Any text on compressible flow: isothermal flow in a pipe.

    Examples
    --------
    >>> round(exhaust_back_pressure(15e3, 0.20, 0.25, 101.325e3, 973.15, 1023.15) / 1e3, 1)
    23.7
    """
    positive(
        rated_flow=rated_flow,
        exhaust_flow=exhaust_flow,
        ambient_pressure=ambient_pressure,
        rated_temperature=rated_temperature,
        gas_temperature=gas_temperature,
    )
    not_negative(rated_loss=rated_loss)
    squares = (101.325e3 + rated_loss) ** 2 - 101.325e3**2
    squares *= (exhaust_flow / rated_flow) ** 2 * gas_temperature / rated_temperature
    return math.sqrt(ambient_pressure**2 + squares) - ambient_pressure
