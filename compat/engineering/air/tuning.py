"""Speeds to which the pipes of an engine are tuned."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["tuned_exhaust_speed", "tuned_inlet_speed"]

_RESONANCE = 2.1
"""Natural frequency of runner and cylinder over turns a second where the torque is highest; Engelman."""

_EXHAUST_SOUND = 520.0
"""Speed of a wave in the primaries [m/s]; gas that has cooled to about 400 degC, common practice."""


@formula(
    takes={
        "length": "mm",
        "area": "mm^2",
        "cylinder": "cm^3",
        "compression_ratio": "number",
        "temperature": "degC",
    },
    gives="rpm",
    source="Engelman, Design of a Tuned Intake Manifold, ASME 73-WA/DGP-2 (from memory)",
    scatter=0.1,
    scatter_source="common practice: plenum, bends and port shape move the peak by a tenth",
)
def tuned_inlet_speed(
    length: float, area: float, cylinder: float, compression_ratio: float, temperature: float = 298.15
) -> float:
    """Engine speed to which an inlet runner is tuned: where column and cylinder swing in time with the stroke.

    Parameters
    ----------
    length : float
        Runner and port together, plenum to valve, [m]
    area : float
        Mean section of runner and port, [m^2]
    cylinder : float
        Swept volume of one cylinder, [m^3]
    compression_ratio : float
        [-]
    temperature : float, optional
        Of the air in the runner, [K]

    Returns
    -------
    float
        Crank speed, [rad/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the ratio lies outside 1.1 to 40.

    Notes
    -----
    A Helmholtz resonator: the runner is the neck, half the swept volume with the clearance the vessel. Torque
    is highest where its frequency is 2.1 times the turns of the crank a second.

    References
    ----------
    .. [1] Engelman, Design of a Tuned Intake Manifold, ASME 73-WA/DGP-2.
    .. [2] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, section 6.3.

    Examples
    --------
    >>> round(tuned_inlet_speed(0.43, 820e-6, 499.5e-6, 10.0) * 30 / math.pi)
    3934
    """
    positive(length=length, area=area, cylinder=cylinder, temperature=temperature)
    within("compression_ratio", compression_ratio, 1.1, 40.0, "to 1")
    vessel = cylinder * (compression_ratio + 1.0) / (2.0 * (compression_ratio - 1.0))
    sound = math.sqrt(1.4 * 287.05 * temperature)
    return sound * math.sqrt(area / (length * vessel)) / _RESONANCE


@formula(
    takes={"primary_length": "mm", "exhaust_opens": "deg"},
    gives="rpm",
    source="common practice: the wave of exhaust opening comes back in the overlap",
    scatter=0.15,
    scatter_source="common practice: the gas temperature along the primaries is not known",
)
def tuned_exhaust_speed(primary_length: float, exhaust_opens: float) -> float:
    """Engine speed at which the wave of exhaust opening comes back from the collector in the overlap.

    Parameters
    ----------
    primary_length : float
        Of the separate primaries, flange to collector, [m]
    exhaust_opens : float
        Exhaust opening before bottom dead centre, [rad]

    Returns
    -------
    float
        Crank speed, [rad/s]

    Raises
    ------
    OutOfRange
        When the length is not above zero, or the angle is not one of a camshaft.

    Notes
    -----
    The wave runs twice the primary and 80 mm of port while the crank turns half of the way from exhaust
    opening to top dead centre.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(tuned_exhaust_speed(0.76, math.radians(33)) * 30 / math.pi)
    5494
    """
    positive(primary_length=primary_length)
    within("exhaust_opens", exhaust_opens, -math.pi / 4, math.radians(110), "deg", math.pi / 180)
    return (math.pi + exhaust_opens) / 2.0 * _EXHAUST_SOUND / (2.0 * (primary_length + 0.08))
