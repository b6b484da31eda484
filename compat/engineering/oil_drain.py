"""Gravity return of oil: what a drain passes, and how wide it must be."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.ranges import within

__all__ = ["drain_bore", "drain_flow", "friction_factor"]

GRAVITY = 9.80665
ENTRY_AND_EXIT = 1.5


def friction_factor(reynolds: float) -> float:
    """Darcy friction factor of a smooth pipe, laminar to turbulent without a jump.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the diameter, [-]

    Returns
    -------
    float
        Darcy friction factor, [-]

    References
    ----------
    .. [1] Churchill, Friction-factor equation spans all fluid-flow regimes, Chem. Eng. 84 (1977).

    Examples
    --------
    >>> round(friction_factor(640.0), 4)
    0.1
    """
    positive(reynolds=reynolds)
    turbulent = (2.457 * math.log((reynolds / 7) ** 0.9)) ** 16 if reynolds > 7 else 0.0
    rough = (37530 / reynolds) ** 16
    return float(8 * ((8 / reynolds) ** 12 + (turbulent + rough) ** -1.5) ** (1 / 12))


@formula(
    takes={
        "bore": "mm",
        "fall": "mm",
        "length": "mm",
        "viscosity": "mPa*s",
        "density": "kg/m^3",
        "filled": "%",
    },
    gives="L/min",
    source="Bernoulli with entry and exit loss; Churchill 1977 for the pipe's friction",
    scatter=0.25,
    scatter_source="estimate: frothy oil, bends, and gas that goes up the drain while the oil comes down",
)
def drain_flow(
    bore: float,
    fall: float,
    length: float,
    viscosity: float,
    density: float = 840.0,
    filled: float = 0.5,
) -> float:
    """Oil that a drain returns by gravity alone.

    Parameters
    ----------
    bore : float
        Least, fittings included, [m]
    fall : float
        Height between the oil at its upper end and where it leaves, above the level in the sump, [m]
    length : float
        Of the pipe or passage, [m]
    viscosity : float
        Dynamic; the coldest oil it must drain is the worst, [Pa*s]
    density : float, optional
        Of the oil, [kg/m^3]
    filled : float, optional
        Share of the section that oil takes; froth and gas need the rest, [-]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the fall exceeds the length, or the share lies outside 0.1 to 1.

    Notes
    -----
    Flow of the full pipe times the filled share. Both ends at the same pressure: blow-by in the crankcase, or
    an end below the level of the sump, stops it.

    References
    ----------
    .. [1] Churchill, Chem. Eng. 84 (1977).

    Examples
    --------
    >>> round(drain_flow(0.016, 0.25, 0.30, 0.010) * 60e3, 1)
    9.3
    """
    positive(bore=bore, fall=fall, length=length, viscosity=viscosity, density=density)
    within("filled", filled, 0.1, 1.0)
    if fall > length * (1 + 1e-9):
        raise OutOfRange(
            f"fall ({fall * 1e3:g} mm) must not exceed the length of the drain ({length * 1e3:g} mm)"
        )
    area = math.pi / 4 * bore**2
    low, high = 0.0, math.sqrt(2 * GRAVITY * fall)
    for _ in range(50):
        velocity = (low + high) / 2
        reynolds = density * velocity * bore / viscosity
        loss = (friction_factor(reynolds) * length / bore + ENTRY_AND_EXIT) * velocity**2 / (2 * GRAVITY)
        if loss < fall:
            low = velocity
        else:
            high = velocity
    return filled * area * (low + high) / 2


@formula(
    takes={
        "flow": "L/min",
        "fall": "mm",
        "length": "mm",
        "viscosity": "mPa*s",
        "density": "kg/m^3",
        "filled": "%",
    },
    gives="mm",
    source="Bernoulli with entry and exit loss; Churchill 1977 for the pipe's friction",
    scatter=0.10,
    scatter_source="estimate: as for the flow, of which it is about the 0.4th power",
)
def drain_bore(
    flow: float,
    fall: float,
    length: float,
    viscosity: float,
    density: float = 840.0,
    filled: float = 0.5,
) -> float:
    """Least bore of a gravity drain for a flow of oil.

    Parameters
    ----------
    flow : float
        To be returned, [m^3/s]
    fall, length : float
        Height available and length of the drain, [m]
    viscosity : float
        Dynamic; the coldest oil it must drain is the worst, [Pa*s]
    density : float, optional
        Of the oil, [kg/m^3]
    filled : float, optional
        Share of the section that oil takes, [-]

    Returns
    -------
    float
        Bore, [m]

    Raises
    ------
    OutOfRange
        As for `drain_flow`, or when even a bore of 100 mm is too small.

    References
    ----------
    .. [1] Churchill, Chem. Eng. 84 (1977).

    Examples
    --------
    >>> bore = drain_bore(2.5 / 60e3, 0.25, 0.30, 0.010)
    >>> round(bore * 1e3, 1)
    9.6
    """
    positive(flow=flow)
    low, high = 0.1e-3, 0.1
    if drain_flow(high, fall, length, viscosity, density, filled) < flow:
        raise OutOfRange(f"a drain of 100 mm does not pass flow = {flow * 60e3:g} L/min at this fall")
    for _ in range(40):
        middle = math.sqrt(low * high)
        if drain_flow(middle, fall, length, viscosity, density, filled) < flow:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)
