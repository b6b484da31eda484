"""Power, torque and mean effective pressure of a four-stroke."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive

__all__ = [
    "bmep",
    "bmep_from_power",
    "power_from_bmep",
    "power_from_torque",
    "specific_power",
    "torque_from_bmep",
    "torque_from_power",
]

_CYCLE = 4 * math.pi  # radians of crank in one four-stroke cycle


@formula(
    takes={"power": "kW", "speed": "rpm"},
    gives="N*m",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("power",),
    falls_with=("speed",),
)
def torque_from_power(power: float, speed: float) -> float:
    """Torque that makes a power at a speed.

    Parameters
    ----------
    power : float
        Power at the flywheel, [W]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Torque, [N*m]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(torque_from_power(power=92e3, speed=5800 * math.pi / 30), 1)
    151.5
    """
    positive(power=power, speed=speed)
    return power / speed


@formula(
    takes={"torque": "N*m", "speed": "rpm"},
    gives="kW",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
)
def power_from_torque(torque: float, speed: float) -> float:
    """Power that a torque makes at a speed.

    Parameters
    ----------
    torque : float
        Torque at the flywheel, [N*m]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Power, [W]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(power_from_torque(torque=168, speed=4200 * math.pi / 30))
    73890
    """
    positive(torque=torque, speed=speed)
    return torque * speed


@formula(
    takes={"torque": "N*m", "displacement": "cm^3"},
    gives="kPa",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, two turns a cycle",
    rises_with=("torque",),
    falls_with=("displacement",),
)
def bmep(torque: float, displacement: float) -> float:
    """Brake mean effective pressure of a four-stroke from its torque.

    Parameters
    ----------
    torque : float
        Torque at the flywheel, [N*m]
    displacement : float
        Swept volume of the whole engine, [m^3]

    Returns
    -------
    float
        Brake mean effective pressure, [Pa]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(bmep(torque=168, displacement=1998e-6) / 1e3)
    1057
    """
    positive(torque=torque, displacement=displacement)
    return _CYCLE * torque / displacement


@formula(
    takes={"power": "kW", "speed": "rpm", "displacement": "cm^3"},
    gives="kPa",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, two turns a cycle",
    rises_with=("power",),
    falls_with=("speed", "displacement"),
)
def bmep_from_power(power: float, speed: float, displacement: float) -> float:
    """Brake mean effective pressure of a four-stroke from its power at a speed.

    Parameters
    ----------
    power : float
        Power at the flywheel, [W]
    speed : float
        Crank speed, [rad/s]
    displacement : float
        Swept volume of the whole engine, [m^3]

    Returns
    -------
    float
        Brake mean effective pressure, [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(bmep_from_power(92e3, 5800 * math.pi / 30, 1998e-6) / 1e3)
    953
    """
    return bmep(torque_from_power(power, speed), displacement)


@formula(
    takes={"bmep": "kPa", "displacement": "cm^3"},
    gives="N*m",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, two turns a cycle",
)
def torque_from_bmep(bmep: float, displacement: float) -> float:
    """Torque of a four-stroke from its brake mean effective pressure.

    Parameters
    ----------
    bmep : float
        Brake mean effective pressure, [Pa]
    displacement : float
        Swept volume of the whole engine, [m^3]

    Returns
    -------
    float
        Torque, [N*m]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(torque_from_bmep(bmep=2.2e6, displacement=1998e-6))
    350
    """
    positive(bmep=bmep, displacement=displacement)
    return bmep * displacement / _CYCLE


@formula(
    takes={"bmep": "kPa", "displacement": "cm^3", "speed": "rpm"},
    gives="kW",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, two turns a cycle",
)
def power_from_bmep(bmep: float, displacement: float, speed: float) -> float:
    """Power of a four-stroke from its brake mean effective pressure and speed.

    Parameters
    ----------
    bmep : float
        Brake mean effective pressure, [Pa]
    displacement : float
        Swept volume of the whole engine, [m^3]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Power, [W]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(power_from_bmep(950e3, 1998e-6, 5800 * math.pi / 30) / 1e3, 1)
    91.7
    """
    positive(speed=speed)
    return torque_from_bmep(bmep, displacement) * speed


@formula(
    takes={"power": "kW", "displacement": "L"},
    gives="kW/L",
    source="common practice",
    rises_with=("power",),
    falls_with=("displacement",),
)
def specific_power(power: float, displacement: float) -> float:
    """Power for each litre of displacement.

    Parameters
    ----------
    power : float
        Power at the flywheel, [W]
    displacement : float
        Swept volume of the whole engine, [m^3]

    Returns
    -------
    float
        Specific power, [W/m^3]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(specific_power(power=147e3, displacement=1998e-6) / 1e6, 1)
    73.6
    """
    positive(power=power, displacement=displacement)
    return power / displacement
