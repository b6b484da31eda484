"""Mean effective pressures lost to friction and to pumping."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["friction_mean_effective_pressure", "pumping_mean_effective_pressure", "valve_loss"]

# Lost in inlet and exhaust valves together at standard density, by piston speed squared [Pa/(m/s)^2].
# An estimate: 17 kPa at 17 m/s, which is usual for four valves at full load.
VALVE_LOSS = 60.0
_STANDARD_DENSITY_RATIO = 101325.0 / 293.15
_RPM = math.pi / 30.0


@formula(
    takes={
        "peak_pressure": "bar",
        "stroke": "mm",
        "speed": "rpm",
        "base": "bar",
        "per_peak_pressure": "number",
        "per_piston_speed": "bar*s/m",
        "per_piston_speed_squared": "bar*s^2/m^2",
    },
    gives="kPa",
    source="Chen & Flynn, SAE 650733 (form); constants usual for petrol engines, from memory",
    scatter=0.20,
    scatter_source="own judgement: oil, ring pack and accessories of one class differ by a fifth",
)
def friction_mean_effective_pressure(
    peak_pressure: float,
    stroke: float,
    speed: float,
    base: float = 0.4e5,
    per_peak_pressure: float = 0.005,
    per_piston_speed: float = 0.09e5,
    per_piston_speed_squared: float = 0.0009e5,
) -> float:
    """Friction mean effective pressure, accessories included, by peak pressure and mean piston speed.

    Parameters
    ----------
    peak_pressure : float
        Highest cylinder pressure [Pa].
    stroke : float
        Piston travel [m].
    speed : float
        Engine speed [rad/s].
    base, per_peak_pressure, per_piston_speed, per_piston_speed_squared : float
        Constants A [Pa], B [-], C [Pa s/m], D [Pa s^2/m^2].

    Returns
    -------
    float
        A + B pmax + C Sp + D Sp^2 [Pa].

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the mean piston speed is above 40 m/s.

    Notes
    -----
    The constants hold for a warm engine. The published form is the one of Chen and Flynn; they measured one
    compression-ignition engine, and these constants are those in general use for petrol engines.

    References
    ----------
    1. S. K. Chen, P. F. Flynn, Development of a single cylinder compression ignition research engine,
       SAE 650733.

    Examples
    --------
    >>> round(friction_mean_effective_pressure(60e5, 0.087, 5800 * math.pi / 30) / 1e3)
    247
    """
    positive(peak_pressure=peak_pressure, stroke=stroke, speed=speed)
    not_negative(
        base=base,
        per_peak_pressure=per_peak_pressure,
        per_piston_speed=per_piston_speed,
        per_piston_speed_squared=per_piston_speed_squared,
    )
    piston_speed = stroke * speed / math.pi
    within("mean piston speed", piston_speed, 0.0, 40.0, "m/s")
    return (
        base
        + per_peak_pressure * peak_pressure
        + per_piston_speed * piston_speed
        + per_piston_speed_squared * piston_speed**2
    )


def valve_loss(manifold_pressure: float, charge_temperature: float, piston_speed: float) -> float:
    """Pressure lost in inlet and exhaust valves together [Pa]: as density and piston speed squared.

    >>> round(valve_loss(101325.0, 293.15, 10.0))
    6000
    """
    return VALVE_LOSS * piston_speed**2 * manifold_pressure / charge_temperature / _STANDARD_DENSITY_RATIO


@formula(
    takes={
        "manifold_pressure": "kPa",
        "exhaust_pressure": "kPa",
        "stroke": "mm",
        "speed": "rpm",
        "charge_temperature": "degC",
    },
    gives="kPa",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 13 (form); valve loss estimated",
    scatter=0.30,
    scatter_source="own judgement: valve sizes and manifold tuning are not modelled",
)
def pumping_mean_effective_pressure(
    manifold_pressure: float,
    exhaust_pressure: float,
    stroke: float,
    speed: float,
    charge_temperature: float = 293.15,
) -> float:
    """Pumping mean effective pressure; negative where boost pushes the piston down.

    Parameters
    ----------
    manifold_pressure, exhaust_pressure : float
        Inlet manifold and exhaust port, absolute [Pa].
    stroke : float
        Piston travel [m].
    speed : float
        Engine speed [rad/s].
    charge_temperature : float
        Temperature of the air in the manifold [K].

    Returns
    -------
    float
        Exhaust less manifold pressure, and what the valves lose [Pa].

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    The valves lose 17 kPa together at 17 m/s mean piston speed with air at 101 kPa and 20 degC, an estimate
    for four valves.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, section 13.4.

    Examples
    --------
    >>> round(pumping_mean_effective_pressure(50e3, 105e3, 0.086, 2000 * math.pi / 30) / 1e3, 1)
    56.0
    """
    positive(
        manifold_pressure=manifold_pressure,
        exhaust_pressure=exhaust_pressure,
        stroke=stroke,
        speed=speed,
        charge_temperature=charge_temperature,
    )
    loss = valve_loss(manifold_pressure, charge_temperature, stroke * speed / math.pi)
    return exhaust_pressure - manifold_pressure + loss
