"""What the exhaust system behind the collector or turbine holds back."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.ranges import not_negative

__all__ = ["exhaust_back_pressure"]


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
