"""Valve springs: rate, coil bind, surge, and the push of the gas behind a shut valve."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "coil_bind_margin",
    "coil_spring_rate",
    "pressure_on_valve",
    "spring_force",
    "spring_rate",
    "spring_surge_frequency",
]


@formula(
    takes={"seat_load": "N", "nose_load": "N", "max_lift": "mm"},
    gives="N/mm",
    source="definition of spring rate",
)
def spring_rate(seat_load: float, nose_load: float, max_lift: float) -> float:
    """Rate of a valve spring from its loads with the valve shut and fully open.

    Parameters
    ----------
    seat_load, nose_load : float
        At the installed length, and at that length less the lift, [N]
    max_lift : float
        At the valve, [m]

    Returns
    -------
    float
        Rate, [N/m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the load does not grow with lift.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 10.

    Examples
    --------
    >>> round(spring_rate(210, 480, 8.6e-3) / 1e3, 1)
    31.4
    """
    positive(seat_load=seat_load, nose_load=nose_load, max_lift=max_lift)
    if nose_load <= seat_load:
        raise OutOfRange(f"nose_load must be above seat_load ({seat_load:g} N), got {nose_load:g} N")
    return (nose_load - seat_load) / max_lift


@formula(
    takes={"seat_load": "N", "nose_load": "N", "max_lift": "mm", "lift": "mm"},
    gives="N",
    source="straight spring line between the two stated loads",
    rises_with=("nose_load", "lift"),
    falls_with=("max_lift",),
)
def spring_force(seat_load: float, nose_load: float, max_lift: float, lift: float) -> float:
    """Force of a valve spring at a lift.

    Parameters
    ----------
    seat_load, nose_load : float
        At the installed length, and at that length less `max_lift`, [N]
    max_lift : float
        Lift for which the nose load is stated, [m]
    lift : float
        Lift asked for, up to 1.5 times `max_lift`, [m]

    Returns
    -------
    float
        Force, [N]

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 10.

    Examples
    --------
    >>> round(spring_force(210, 480, 8.6e-3, 9.6e-3))
    511
    """
    within("lift", lift, 0.0, 1.5 * max_lift, "mm", 1e-3)
    return seat_load + spring_rate(seat_load, nose_load, max_lift) * lift


@formula(
    takes={
        "wire_diameter": "mm",
        "mean_diameter": "mm",
        "active_coils": "number",
        "shear_modulus": "GPa",
    },
    gives="N/mm",
    source="Shigley, Mechanical Engineering Design, ch. 10",
)
def coil_spring_rate(
    wire_diameter: float, mean_diameter: float, active_coils: float, shear_modulus: float = 79.3e9
) -> float:
    """Rate of a helical spring of round wire.

    Parameters
    ----------
    wire_diameter, mean_diameter : float
        Of the wire, and of the coil to the middle of the wire, [m]
    active_coils : float
        Coils that move, closed ends left out, [-]
    shear_modulus : float, optional
        Of the wire; 79.3 GPa for spring steel, [Pa]

    Returns
    -------
    float
        Rate, [N/m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the coil is not at least three wires across.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 10.

    Examples
    --------
    >>> round(coil_spring_rate(3.8e-3, 23e-3, 5.5) / 1e3, 1)
    30.9
    """
    positive(
        wire_diameter=wire_diameter,
        mean_diameter=mean_diameter,
        active_coils=active_coils,
        shear_modulus=shear_modulus,
    )
    within("mean_diameter over wire_diameter", mean_diameter / wire_diameter, 3.0, 20.0)
    return shear_modulus * wire_diameter**4 / (8 * mean_diameter**3 * active_coils)


@formula(
    takes={"installed_length": "mm", "solid_length": "mm", "max_lift": "mm"},
    gives="mm",
    source="plain geometry of the spring",
)
def coil_bind_margin(installed_length: float, solid_length: float, max_lift: float) -> float:
    """Travel left before the coils touch, at full lift.

    Parameters
    ----------
    installed_length, solid_length : float
        With the valve shut, and with the coils closed, [m]
    max_lift : float
        At the valve, [m]

    Returns
    -------
    float
        Travel left; 1.0 to 1.5 mm is usual, below zero the train breaks, or the spring cannot even be
        fitted where it is solid at its installed length, [m]

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(coil_bind_margin(35.0e-3, 23.5e-3, 8.6e-3) * 1e3, 2)
    2.9
    """
    positive(installed_length=installed_length, solid_length=solid_length, max_lift=max_lift)
    return installed_length - solid_length - max_lift


@formula(
    takes={"rate": "N/mm", "active_mass": "g"},
    gives="Hz",
    source="Shigley, Mechanical Engineering Design, ch. 10: spring between two flat plates",
)
def spring_surge_frequency(rate: float, active_mass: float) -> float:
    """Lowest natural frequency of a helical spring held at both ends.

    Parameters
    ----------
    rate : float
        Of the spring, [N/m]
    active_mass : float
        Of its moving coils, [kg]

    Returns
    -------
    float
        Frequency; 13 times the cam's turns each second or more keeps surge small (common practice), [Hz]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 10.

    Examples
    --------
    >>> round(spring_surge_frequency(31.4e3, 0.040))
    443
    """
    positive(rate=rate, active_mass=active_mass)
    return 0.5 * math.sqrt(rate / active_mass)


@formula(
    takes={"pressure": "kPa", "head_diameter": "mm"},
    gives="N",
    source="pressure times area of the valve head",
)
def pressure_on_valve(pressure: float, head_diameter: float) -> float:
    """Force with which gas behind a shut valve pushes it off its seat.

    Parameters
    ----------
    pressure : float
        Gauge, in the port: boost at the inlet, turbine pressure at the exhaust, [Pa]
    head_diameter : float
        Of the valve, [m]

    Returns
    -------
    float
        Force, [N]; added to the seat load that the cam asks without boost

    Raises
    ------
    OutOfRange
        When the pressure is negative or the diameter not above zero.

    Notes
    -----
    The cylinder is taken at ambient pressure, as it is late in the exhaust stroke.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(pressure_on_valve(100e3, 33e-3))
    86
    """
    not_negative(pressure=pressure)
    positive(head_diameter=head_diameter)
    return pressure * math.pi / 4 * head_diameter**2
