"""Trigger wheels, knock frequency, and what the alternator must feed."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "alternator_current",
    "current_budget",
    "knock_frequency",
    "reluctor_tooth_width",
    "trigger_frequency",
    "vr_signal",
]

# first zeros of the slope of the Bessel functions J1, J2, J0, J3
_MODES = {"first": 1.841184, "second": 3.054237, "first_radial": 3.831706, "third": 4.201189}


@formula(
    takes={"tooth_positions": "number", "speed": "rpm"},
    gives="kHz",
    source="teeth times turns each second",
    rises_with=("tooth_positions", "speed"),
)
def trigger_frequency(tooth_positions: float, speed: float) -> float:
    """Frequency of the crank signal.

    Parameters
    ----------
    tooth_positions : float
        Teeth of the wheel, missing ones counted, [-]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Frequency, [Hz]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Plain arithmetic.

    Examples
    --------
    >>> round(trigger_frequency(60, 7000 * math.pi / 30))
    7000
    """
    positive(tooth_positions=tooth_positions, speed=speed)
    return tooth_positions * speed / (2 * math.pi)


@formula(
    takes={"wheel_radius": "mm", "tooth_positions": "number", "tooth_share": "number"},
    gives="mm",
    source="plain geometry",
    rises_with=("wheel_radius", "tooth_share"),
    falls_with=("tooth_positions",),
)
def reluctor_tooth_width(wheel_radius: float, tooth_positions: float, tooth_share: float = 0.5) -> float:
    """Width of a trigger tooth at its tip; the slot's with a share of 1 less that.

    Parameters
    ----------
    wheel_radius : float
        To the tip of the teeth, [m]
    tooth_positions : float
        Teeth, missing ones counted, [-]
    tooth_share : float, optional
        Tooth over pitch, [-]

    Returns
    -------
    float
        Width along the arc; a variable-reluctance sensor asks 2.5 mm of tooth and slot (common practice), [m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the share lies outside 0.05 to 0.95.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> round(reluctor_tooth_width(0.075, 60) * 1e3, 2)
    3.93
    """
    positive(wheel_radius=wheel_radius, tooth_positions=tooth_positions)
    within("tooth_share", tooth_share, 0.05, 0.95)
    return 2 * math.pi * wheel_radius / tooth_positions * tooth_share


@formula(
    takes={"rated_voltage": "V", "rated_speed": "rpm", "speed": "rpm"},
    gives="V",
    source="induced voltage grows with the rate of change of flux",
    scatter=0.20,
    scatter_source="common practice: air gap within its own tolerance",
    rises_with=("rated_voltage", "speed"),
    falls_with=("rated_speed",),
)
def vr_signal(rated_voltage: float, rated_speed: float, speed: float) -> float:
    """Signal of a variable-reluctance sensor at another speed, such as cranking.

    Parameters
    ----------
    rated_voltage : float
        Peak voltage stated or measured at this air gap, [V]
    rated_speed, speed : float
        Wheel speeds, stated and asked for, [rad/s]

    Returns
    -------
    float
        Peak voltage; 0.5 V at cranking is the usual least (common practice), [V]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Law of induction.

    Examples
    --------
    >>> round(vr_signal(4.0, 1000, 200), 2)
    0.8
    """
    positive(rated_voltage=rated_voltage, rated_speed=rated_speed, speed=speed)
    return rated_voltage * speed / rated_speed


@formula(
    takes={"bore": "mm", "mode": tuple(_MODES), "sound_speed": "m/s"},
    gives="kHz",
    source="Draper, NACA Report 493 (1934), from memory",
    scatter=0.05,
    scatter_source="common practice: speed of sound of the burning charge, 930 to 1030 m/s",
    rises_with=("sound_speed",),
    falls_with=("bore",),
)
def knock_frequency(bore: float, mode: str = "first", sound_speed: float = 977.5) -> float:
    """Frequency at which the gas in a cylinder rings when the charge knocks.

    Parameters
    ----------
    bore : float
        Cylinder diameter, [m]
    mode : str, optional
        first, second or third (nodal diameters), or first_radial.
    sound_speed : float, optional
        In the burned charge; the usual figure gives 1800/(pi bore in mm) kHz for the first mode, [m/s]

    Returns
    -------
    float
        Frequency, [Hz]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the mode is another word.

    Notes
    -----
    A flat disc of gas at top dead centre; the tone falls as the piston goes down.

    References
    ----------
    .. [1] C. S. Draper, The physical effects of detonation in a closed cylindrical chamber, NACA Report
       493, 1934.

    Examples
    --------
    >>> round(knock_frequency(0.0855) / 1e3, 2)
    6.7
    """
    positive(bore=bore, sound_speed=sound_speed)
    if mode not in _MODES:
        raise OutOfRange(f"mode must be one of {', '.join(_MODES)}, got {mode}")
    return _MODES[mode] * sound_speed / (math.pi * bore)


@formula(
    takes={"rated_current": "A", "engine_speed": "rpm", "pulley_ratio": "number"},
    gives="A",
    source="common practice: shape of a claw-pole alternator's output curve",
    scatter=0.15,
    scatter_source="common practice",
)
def alternator_current(rated_current: float, engine_speed: float, pulley_ratio: float) -> float:
    """Current that a hot alternator gives at an engine speed, when its card states only the rating.

    Parameters
    ----------
    rated_current : float
        At 6000 rpm of the alternator, [A]
    engine_speed : float
        Crank speed, [rad/s]
    pulley_ratio : float
        Alternator speed over crank speed, [-]

    Returns
    -------
    float
        Current, 0 below about 1000 rpm of the alternator, [A]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Output starts near 1000 rpm and closes in on its rating exponentially. A stated curve or idle
    current is better.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(alternator_current(120, 850 * math.pi / 30, 2.4))
    62
    """
    positive(rated_current=rated_current, engine_speed=engine_speed, pulley_ratio=pulley_ratio)
    rpm = engine_speed * pulley_ratio * 30 / math.pi
    rise = -math.expm1(-max(0.0, rpm - 1000) / 1500)
    return rated_current * rise / -math.expm1(-5000 / 1500)


@formula(
    takes={
        "pump_current": "A",
        "fan_current": "A",
        "coil_current": "A",
        "injector_current": "A",
        "management_current": "A",
        "lamp_current": "A",
        "other_current": "A",
    },
    gives="A",
    source="sum of the consumers; usual sizes common practice",
    rises_with=(
        "pump_current",
        "fan_current",
        "coil_current",
        "injector_current",
        "management_current",
        "lamp_current",
        "other_current",
    ),
)
def current_budget(
    pump_current: float,
    fan_current: float,
    coil_current: float,
    injector_current: float,
    management_current: float = 5.0,
    lamp_current: float = 15.0,
    other_current: float = 0.0,
) -> float:
    """Current that the alternator must give, hot at idle with all consumers on.

    Parameters
    ----------
    pump_current : float
        Fuel pumps, 8 to 18 A, [A]
    fan_current : float
        Radiator fans, 20 to 40 A, [A]
    coil_current : float
        Ignition, mean, 4 to 8 A, [A]
    injector_current : float
        Mean, 2 to 5 A, [A]
    management_current : float, optional
        ECU, sensor heaters, [A]
    lamp_current : float, optional
        [A]
    other_current : float, optional
        Electric water pump, heaters and the like, [A]

    Returns
    -------
    float
        Current, [A]

    Raises
    ------
    OutOfRange
        When a current is negative.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> current_budget(12, 25, 5, 3)
    65.0
    """
    currents = {
        "pump_current": pump_current,
        "fan_current": fan_current,
        "coil_current": coil_current,
        "injector_current": injector_current,
        "management_current": management_current,
        "lamp_current": lamp_current,
        "other_current": other_current,
    }
    not_negative(**currents)
    return math.fsum(currents.values())
