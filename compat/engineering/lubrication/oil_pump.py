"""Oil pump and the simple consumers: what is delivered, what jets and restrictors take."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["RATING_PRESSURE", "orifice_flow", "pump_delivery", "relief_spill", "valved_flow"]

RATING_PRESSURE = 300e3
"""Gauge pressure at which jets, turbochargers and phasers state their flow, [Pa]."""

RELIEF_RISE = 60e3
"""Rise of pressure over the setting at which the relief valve spills `RELIEF_FLOW`, [Pa]."""

RELIEF_FLOW = 60 / 60e3
"""[m^3/s]"""

JET_RISE = 50e3
"""Rise of pressure in which a jet's valve opens fully, [Pa]."""


@formula(
    takes={
        "displacement": "cm^3/rev",
        "speed": "rpm",
        "pressure": "kPa",
        "viscosity": "mPa*s",
        "drive_ratio": "number",
        "filling": "%",
        "slip": "number",
    },
    gives="L/min",
    source="Wilson, Positive-Displacement Pumps and Fluid Motors: slip of a displacement pump (from memory)",
    scatter=0.10,
    scatter_source="estimate: slip of a worn or coarse pump is several times that of a tight one",
)
def pump_delivery(
    displacement: float,
    speed: float,
    pressure: float,
    viscosity: float,
    drive_ratio: float = 1.0,
    filling: float = 0.95,
    slip: float = 6e-7,
) -> float:
    """Oil that a gear or rotor pump delivers against a pressure, its relief valve shut.

    Parameters
    ----------
    displacement : float
        For each turn of the pump, [m^3/rad]
    speed : float
        Crank speed, [rad/s]
    pressure : float
        At its outlet, gauge, [Pa]
    viscosity : float
        Dynamic, of the oil in the sump, [Pa*s]
    drive_ratio : float, optional
        Pump turns for each crank turn, [-]
    filling : float, optional
        Share of the displacement that fills; air in the oil and cavitation lower it, [-]
    slip : float, optional
        Wilson's slip coefficient of the gaps, [-]

    Returns
    -------
    float
        Volume flow, [m^3/s]; zero where slip takes all.

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the pressure is below zero, or filling lies outside 0.1 to 1.

    Notes
    -----
    Slip grows with pressure over viscosity and not with speed: hot oil at idle is where a pump fails.

    References
    ----------
    .. [1] Wilson, Positive-Displacement Pumps and Fluid Motors, Pitman, 1950 (from memory).

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> round(pump_delivery(10.5e-6 / (2 * math.pi), 800 * rpm, 100e3, 0.007) * 60e3, 2)
    7.12
    """
    positive(displacement=displacement, speed=speed, viscosity=viscosity, drive_ratio=drive_ratio)
    not_negative(pressure=pressure, slip=slip)
    within("filling", filling, 0.1, 1.0)
    return max(displacement * (filling * speed * drive_ratio - slip * pressure / viscosity), 0.0)


def relief_spill(pressure: float, relief_pressure: float) -> float:
    """Oil that the relief valve lets back, rising straight with the pressure above its setting.

    Parameters
    ----------
    pressure, relief_pressure : float
        At the pump's outlet, and the valve's setting, gauge, [Pa]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Notes
    -----
    A spring valve needs some rise to open: 60 kPa for 60 L/min (common practice).

    Examples
    --------
    >>> round(relief_spill(480e3, 450e3) * 60e3, 6), relief_spill(300e3, 450e3)
    (30.0, 0.0)
    """
    return max(pressure - relief_pressure, 0.0) / RELIEF_RISE * RELIEF_FLOW


@formula(
    takes={
        "bore": "mm",
        "pressure": "kPa",
        "density": "kg/m^3",
        "discharge_coefficient": "number",
    },
    gives="L/min",
    source="sharp orifice, any fluid mechanics text",
    scatter=0.15,
    scatter_source="estimate: discharge coefficient 0.6 to 0.8 by edge and length; thick oil lowers it",
)
def orifice_flow(
    bore: float, pressure: float, density: float = 830.0, discharge_coefficient: float = 0.65
) -> float:
    """Oil through a restrictor.

    Parameters
    ----------
    bore : float
        Of the restrictor, [m]
    pressure : float
        Across it, [Pa]
    density : float, optional
        Of the oil, [kg/m^3]
    discharge_coefficient : float, optional
        Of the edge, [-]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When a size or the density is not above zero, the pressure is below zero, or the coefficient lies
        outside 0.3 to 1.

    References
    ----------
    .. [1] Any fluid mechanics text: Q = Cd A sqrt(2 dp / rho).

    Examples
    --------
    >>> round(orifice_flow(0.002, 300e3) * 60e3, 2)
    3.29
    """
    positive(bore=bore, density=density)
    not_negative(pressure=pressure)
    within("discharge_coefficient", discharge_coefficient, 0.3, 1.0)
    return discharge_coefficient * math.pi / 4 * bore**2 * math.sqrt(2 * pressure / density)


def valved_flow(rated_flow: float, pressure: float, opening_pressure: float = 0.0) -> float:
    """Flow of a consumer rated at 300 kPa, shut below its opening pressure.

    Parameters
    ----------
    rated_flow : float
        At 300 kPa gauge, [m^3/s]
    pressure, opening_pressure : float
        Gauge, [Pa]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Notes
    -----
    By the root of pressure once open; a valve opens over a rise of 50 kPa, so that nothing jumps.

    Examples
    --------
    >>> valved_flow(2.0, 300e3, 150e3), valved_flow(2.0, 120e3, 150e3)
    (2.0, 0.0)
    """
    if pressure <= 0:
        return 0.0
    opened = 1.0 if opening_pressure <= 0 else min(max((pressure - opening_pressure) / JET_RISE, 0.0), 1.0)
    return rated_flow * opened * math.sqrt(pressure / RATING_PRESSURE)
