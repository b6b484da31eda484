"""Forces of one cylinder on rod, wall and crankpin through a whole cycle, at one speed or at many together."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.running_gear.gas_trace import throw_geometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy import float64
    from numpy.typing import ArrayLike, NDArray

__all__ = ["CycleForces", "circle", "cycle_forces"]

CRANKCASE_PRESSURE = 101325.0


@cache
def circle() -> tuple[NDArray[float64], NDArray[float64]]:
    """Cosine and sine of each of the 720 crank degrees of a cycle.

    >>> cosine, sine = circle()
    >>> round(float(cosine[420]), 3), round(float(sine[90]), 3)
    (0.5, 1.0)
    """
    import numpy as np

    angles = np.radians(np.arange(720.0))
    return np.cos(angles), np.sin(angles)


class CycleForces(NamedTuple):
    """Forces at each crank degree of a cycle, from firing top dead centre less 360; one row for each speed."""

    rod: NDArray[float64]
    """Force along the rod, positive in compression, [N]"""
    side: NDArray[float64]
    """Piston on cylinder wall, positive towards the side the rod leans from, [N]"""
    torque: NDArray[float64]
    """Of one cylinder on the crank, [N*m]"""
    pin_axial: NDArray[float64]
    """Rod on crankpin along the cylinder axis, away from the head positive, [N]"""
    pin_lateral: NDArray[float64]
    """Rod on crankpin across the cylinder axis, the way the crank turns at top dead centre, [N]"""


def cycle_forces(
    trace: ArrayLike,
    bore: float,
    stroke: float,
    centre_length: float,
    reciprocating_mass: float,
    rod_rotating_mass: float,
    speed: float | Sequence[float],
) -> CycleForces:
    """Forces of one cylinder over the cycle of the given gas trace.

    Parameters
    ----------
    trace : array of float
        Absolute cylinder pressure at each crank degree, firing top dead centre in the middle; a row for each
        speed where there are several, [Pa]
    bore, stroke, centre_length : float
        Cylinder and rod, [m]
    reciprocating_mass, rod_rotating_mass : float
        Two-mass rod: all that moves with the piston, and the rest that turns with the crankpin, [kg]
    speed : float or sequence of float
        Crank speed, steady, [rad/s]

    Returns
    -------
    CycleForces
        Forces at each degree, [N, N*m]

    Notes
    -----
    Steady speed; friction of rings and bearings left out. The pressure below the piston is atmospheric.

    Examples
    --------
    >>> from compat.engineering.running_gear.gas_trace import motored_trace
    >>> overrun = motored_trace(0.087, 0.148, 10.0, 30e3)
    >>> forces = cycle_forces(overrun, 0.0855, 0.087, 0.148, 0.605, 0.36, 6500 * 3.141592653589793 / 30)
    >>> round(float(forces.rod[0]))
    -15777
    """
    import numpy as np

    pressure, rate = np.asarray(trace, dtype=float), np.asarray(speed, dtype=float)
    square = (rate**2)[..., None]
    slope, curvature, lean, upright = _motion(stroke, centre_length)
    along = (pressure - CRANKCASE_PRESSURE) * (np.pi / 4 * bore**2) - reciprocating_mass * square * curvature
    across = along * (lean / upright)
    # the rotating mass pulls outwards along the throw, which stands at the crank angle
    centrifugal = rod_rotating_mass * stroke / 2 * square
    cosine, sine = circle()
    return CycleForces(
        along / upright, across, along * slope, along - centrifugal * cosine, across + centrifugal * sine
    )


def _motion(stroke: float, centre_length: float) -> tuple[NDArray[float64], ...]:
    """Derivatives of piston travel, first and second, sine and cosine of the rod's lean, by crank degree."""
    import numpy as np

    rows = np.tile(np.array(throw_geometry(stroke, centre_length)).T, 2)
    return rows[1], rows[2], rows[3], np.sqrt(1 - rows[3] ** 2)
