"""Gravity return of oil: what a drain passes, and how wide it must be."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import within

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
    if reynolds < 1:
        return 64 / reynolds
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
        When the fall is not above zero or exceeds the length, the bore lies outside 1 to 150 mm, or another
        argument makes no sense for oil in a drain.

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
    positive(fall=fall)
    within("bore", bore, 1e-3, 0.15, "mm", 1e-3)
    within("length", length, 1e-3, 5.0, "mm", 1e-3)
    within("viscosity", viscosity, 1e-4, 20.0, "mPa*s", 1e-3)
    within("density", density, 600.0, 1200.0, "kg/m^3")
    within("filled", filled, 0.1, 1.0)
    if fall > length * (1 + 1e-9):
        raise OutOfRange(
            f"fall ({fall * 1e3:g} mm) must not exceed the length of the drain ({length * 1e3:g} mm)"
        )
    area = math.pi / 4 * bore**2

    def height_over(velocity: float) -> float:
        if velocity == 0:
            return fall
        reynolds = density * velocity * bore / viscosity
        loss = friction_factor(reynolds) * length / bore + ENTRY_AND_EXIT
        return fall - loss * velocity**2 / (2 * GRAVITY)

    free = math.sqrt(2 * GRAVITY * fall)
    velocity = bracketed_root(height_over, 0.0, free, fall, height_over(free), 1e-12 * free)
    return filled * area * velocity


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
    heavy=True,
    sensitive_to=("flow",),
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
        As for `drain_flow`, or when the bore would lie outside 1 to 100 mm.

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
    widest = 0.1

    def surplus(size: float) -> float:
        passed = drain_flow(math.exp(size), fall, length, viscosity, density, filled)
        return math.log(passed / flow)

    low, high = math.log(1e-3), math.log(widest)
    at_low, at_high = surplus(low), surplus(high)
    if at_high < 0:
        raise OutOfRange(
            f"a drain of {widest * 1e3:g} mm does not pass flow = {flow * 60e3:g} L/min at this fall"
        )
    if at_low > 0:
        raise OutOfRange(f"flow must be more than a drain of 1 mm passes, got {flow * 60e3:g} L/min")
    return math.exp(bracketed_root(surplus, low, high, at_low, at_high, 1e-10))
