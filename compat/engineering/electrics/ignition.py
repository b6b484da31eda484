"""Coil charging, its duty and energy, the voltage a plug gap asks, and the plug's heat range."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "breakdown_voltage",
    "coil_charge_time",
    "coil_current",
    "coil_energy",
    "coil_mean_current",
    "dwell_duty",
    "plug_heat_steps",
]


@formula(
    takes={"supply_voltage": "V", "resistance": "ohm", "inductance": "mH", "dwell": "ms"},
    gives="A",
    source="current in a coil with resistance, any text on circuits",
)
def coil_current(supply_voltage: float, resistance: float, inductance: float, dwell: float) -> float:
    """Primary current of an ignition coil at the end of its dwell.

    Parameters
    ----------
    supply_voltage : float
        At the coil, switch drop taken off, [V]
    resistance : float
        Of the primary with its wiring, [ohm]
    inductance : float
        Of the primary, [H]
    dwell : float
        Charging time, [s]

    Returns
    -------
    float
        Current, if no limiter cuts in and the core does not saturate, [A]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Any text on electric circuits.

    Examples
    --------
    >>> round(coil_current(13.0, 0.50, 4.0e-3, 2.8e-3), 2)
    7.68
    """
    positive(supply_voltage=supply_voltage, resistance=resistance, inductance=inductance, dwell=dwell)
    return -supply_voltage / resistance * math.expm1(-dwell * resistance / inductance)


@formula(
    takes={"supply_voltage": "V", "resistance": "ohm", "inductance": "mH", "current": "A"},
    gives="ms",
    source="current in a coil with resistance, any text on circuits",
)
def coil_charge_time(supply_voltage: float, resistance: float, inductance: float, current: float) -> float:
    """Dwell that brings an ignition coil to a current.

    Parameters
    ----------
    supply_voltage : float
        At the coil, switch drop taken off, [V]
    resistance : float
        Of the primary with its wiring, [ohm]
    inductance : float
        Of the primary, [H]
    current : float
        Wanted, [A]

    Returns
    -------
    float
        Dwell, [s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the supply can never drive that current.

    References
    ----------
    .. [1] Any text on electric circuits.

    Examples
    --------
    >>> round(coil_charge_time(13.0, 0.50, 4.0e-3, 7.5) * 1e3, 2)
    2.72
    """
    positive(supply_voltage=supply_voltage, resistance=resistance, inductance=inductance, current=current)
    most = supply_voltage / resistance
    if current >= 0.99 * most:
        raise OutOfRange(
            f"current must lie below {0.99 * most:.2f} A, what {supply_voltage:g} V drives through "
            f"{resistance:g} ohm, got {current:g} A"
        )
    return -inductance / resistance * math.log1p(-current / most)


@formula(
    takes={"inductance": "mH", "current": "A"}, gives="mJ", source="energy of a coil, any text on circuits"
)
def coil_energy(inductance: float, current: float) -> float:
    """Energy stored in an ignition coil's primary.

    Parameters
    ----------
    inductance : float
        Of the primary, [H]
    current : float
        At the end of dwell, [A]

    Returns
    -------
    float
        Energy; the spark gets a half to two thirds of it (common practice), [J]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Any text on electric circuits.

    Examples
    --------
    >>> round(coil_energy(4.0e-3, 7.5) * 1e3, 1)
    112.5
    """
    positive(inductance=inductance, current=current)
    return inductance * current**2 / 2


@formula(
    takes={
        "dwell": "ms",
        "speed": "rpm",
        "ignition": ("sequential", "wasted_spark", "distributor"),
        "cylinders": "number",
    },
    gives="%",
    source="time between two sparks of one coil of a four-stroke",
    rises_with=("dwell", "speed", "cylinders"),
)
def dwell_duty(dwell: float, speed: float, ignition: str, cylinders: float) -> float:
    """Share of the time that one coil is charging.

    Parameters
    ----------
    dwell : float
        Charging time, [s]
    speed : float
        Crank speed, [rad/s]
    ignition : str
        sequential (a coil for each cylinder, fired once in two turns), wasted_spark (once each
        turn), distributor (one coil for all).
    cylinders : float
        Of the engine, [-]

    Returns
    -------
    float
        Duty; up to 0.6 to 0.7 at the rev limit (common practice), [-]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the word is another.

    References
    ----------
    .. [1] Plain arithmetic.

    Examples
    --------
    >>> round(dwell_duty(3e-3, 7000 * math.pi / 30, "wasted_spark", 4), 3)
    0.35
    """
    positive(dwell=dwell, speed=speed, cylinders=cylinders)
    sparks = {"sequential": 0.5, "wasted_spark": 1.0, "distributor": 0.5 * cylinders}
    if ignition not in sparks:
        raise OutOfRange(f"ignition must be sequential, wasted_spark or distributor, got {ignition}")
    return dwell * speed / (2 * math.pi) * sparks[ignition]


@formula(
    takes={"charge_current": "A", "dwell": "ms", "speed": "rpm", "charges_per_turn": "number"},
    gives="A",
    source="mean of a current that rises evenly from zero",
    scatter=0.10,
    scatter_source="the rise is bent by resistance",
)
def coil_mean_current(charge_current: float, dwell: float, speed: float, charges_per_turn: float) -> float:
    """Mean current that the ignition takes from the supply.

    Parameters
    ----------
    charge_current : float
        Primary current at the end of dwell, [A]
    dwell : float
        Charging time, [s]
    speed : float
        Crank speed, [rad/s]
    charges_per_turn : float
        Coil charges in one turn of the crank, all coils together: half the cylinders, with a
        coil for each or in wasted-spark pairs alike, [-]

    Returns
    -------
    float
        Current, [A]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Any text on electric circuits.

    Examples
    --------
    >>> round(coil_mean_current(7.5, 2.8e-3, 7000 * math.pi / 30, 2), 2)
    2.45
    """
    positive(charge_current=charge_current, dwell=dwell, speed=speed, charges_per_turn=charges_per_turn)
    return charge_current / 2 * dwell * charges_per_turn * speed / (2 * math.pi)


@formula(
    takes={"gap": "mm", "pressure": "bar", "temperature": "degC"},
    gives="kV",
    source="Pashley, Stone & Roberts, SAE 2000-01-0245 (from memory)",
    scatter=0.15,
    scatter_source="from memory of that paper: spread of single sparks; worn electrodes ask more",
)
def breakdown_voltage(gap: float, pressure: float, temperature: float) -> float:
    """Voltage at which a spark crosses a plug gap.

    Parameters
    ----------
    gap : float
        Between the electrodes, 0.2 to 2 mm, [m]
    pressure, temperature : float
        Of the charge at the moment of the spark, [Pa] and [K]

    Returns
    -------
    float
        Voltage, [V]

    Raises
    ------
    OutOfRange
        When the gap lies outside 0.2 to 2 mm, the pressure outside 0.5 to 60 bar or the temperature
        outside 250 to 1200 K.

    Notes
    -----
    A fit in gas density with new electrodes: V in kV = 4.3 + (136 + 324 d) p/T with d in mm, p in bar
    and T in K.

    References
    ----------
    .. [1] N. Pashley, R. Stone, G. Roberts, Ignition system measurement techniques and correlations
       for breakdown and arc voltages and currents, SAE 2000-01-0245.

    Examples
    --------
    >>> round(breakdown_voltage(0.7e-3, 20e5, 700.0) / 1e3, 1)
    14.7
    """
    within("gap", gap, 0.2e-3, 2e-3, "mm", 1e-3)
    within("pressure", pressure, 0.5e5, 60e5, "bar", 1e5)
    within("temperature", temperature, 250.0, 1200.0, "K")
    return 1e3 * (4.3 + (136 + 324 * gap * 1e3) * pressure / 1e5 / temperature)


@formula(
    takes={"power_gain": "kW", "boost": "kPa"},
    gives="number",
    source="common practice: one step for each 75 to 100 hp gained or 50 to 70 kPa of boost",
    scatter=0.17,
    scatter_source="common practice: that range",
    rises_with=("power_gain", "boost"),
)
def plug_heat_steps(power_gain: float, boost: float) -> float:
    """Heat steps by which plugs should be colder than the engine's own.

    Parameters
    ----------
    power_gain : float
        Over the factory engine, [W]
    boost : float
        Gauge, over the factory engine's, [Pa]

    Returns
    -------
    float
        Steps, the larger of what power and boost ask; to be rounded by hand, [-]

    Raises
    ------
    OutOfRange
        When an argument is negative.

    Notes
    -----
    Makers number their heat ranges in opposite directions: count steps, not numbers.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(plug_heat_steps(108e3, 100e3), 2)
    1.67
    """
    not_negative(power_gain=power_gain, boost=boost)
    return max(power_gain / (87.5 * 745.6999), boost / 60e3)
