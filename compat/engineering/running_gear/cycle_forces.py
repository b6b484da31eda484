"""Forces of one cylinder on rod, wall, crankpin and main bearing through a whole cycle."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.running_gear.gas_trace import throw_geometry

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

__all__ = ["CycleForces", "cycle_forces", "main_bearing_forces"]

CRANKCASE_PRESSURE = 101325.0


class CycleForces(NamedTuple):
    """Forces at each crank degree of a cycle, from firing top dead centre less 360."""

    rod: tuple[float, ...]
    """Force along the rod, positive in compression, [N]"""
    side: tuple[float, ...]
    """Piston on cylinder wall, positive towards the side the rod leans from, [N]"""
    torque: tuple[float, ...]
    """Of one cylinder on the crank, [N*m]"""
    pin_axial: tuple[float, ...]
    """Rod on crankpin along the cylinder axis, away from the head positive, [N]"""
    pin_lateral: tuple[float, ...]
    """Rod on crankpin across the cylinder axis, [N]"""


class _Throw(NamedTuple):
    """The slider-crank at each crank degree of a cycle: what is lengths by crank throw, and sines."""

    slope: NDArray[float64]
    curvature: NDArray[float64]
    lean: NDArray[float64]
    """Sine of the rod's lean."""
    upright: NDArray[float64]
    """Its cosine."""
    cosine: NDArray[float64]
    sine: NDArray[float64]


@lru_cache(maxsize=16)
def _throw(stroke: float, centre_length: float) -> _Throw:
    import numpy as np

    rows = [
        (slope, curvature, lean, math.sqrt(1 - lean**2))
        for _, slope, curvature, lean in throw_geometry(stroke, centre_length)
    ]
    slope, curvature, lean, upright = np.array(rows * 2).T.copy()
    return _Throw(slope, curvature, lean, upright, *_turn())


@lru_cache(maxsize=1)
def _turn() -> tuple[NDArray[float64], NDArray[float64]]:
    """Cosine and sine of each crank degree of a cycle."""
    import numpy as np

    angles = [math.radians(degree) for degree in range(720)]
    return np.array([*map(math.cos, angles)]), np.array([*map(math.sin, angles)])


def cycle_forces(
    trace: tuple[float, ...],
    bore: float,
    stroke: float,
    centre_length: float,
    reciprocating_mass: float,
    rod_rotating_mass: float,
    speed: float,
) -> CycleForces:
    """Forces of one cylinder at one speed over the cycle of the given gas trace.

    Parameters
    ----------
    trace : tuple of float
        Absolute cylinder pressure at each crank degree, firing top dead centre in the middle, [Pa]
    bore, stroke, centre_length : float
        Cylinder and rod, [m]
    reciprocating_mass, rod_rotating_mass : float
        Two-mass rod: all that moves with the piston, and the rest that turns with the crankpin, [kg]
    speed : float
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
    >>> forces = cycle_forces(overrun, 0.0855, 0.087, 0.148, 0.605, 0.36, 6500 * math.pi / 30)
    >>> round(forces.rod[0])
    -15777
    """
    import numpy as np

    area = math.pi / 4 * bore**2
    square = speed**2
    throw = _throw(stroke, centre_length)
    centrifugal = rod_rotating_mass * stroke / 2 * square
    along = (np.array(trace) - CRANKCASE_PRESSURE) * area - reciprocating_mass * square * throw.curvature
    across = along * throw.lean / throw.upright
    # the rotating mass pulls outwards along the throw, which stands at the crank angle
    axial, lateral = along - centrifugal * throw.cosine, across + centrifugal * throw.sine
    forces = (along / throw.upright, across, along * throw.slope, axial, lateral)
    return CycleForces(*(tuple(force.tolist()) for force in forces))


def main_bearing_forces(
    forces: CycleForces, centrifugal: float, offset: int
) -> tuple[list[float], list[float]]:
    """Half of each neighbouring throw's load on a main bearing, along and across the cylinder axis.

    Parameters
    ----------
    forces : CycleForces
        Of one cylinder.
    centrifugal : float
        Pull of what a throw's counterweights leave over, [N]
    offset : int
        Crank degrees between the firings of the two cylinders.

    Returns
    -------
    tuple of two lists
        Load at each crank degree, away from the head and sideways, [N]
    """
    import numpy as np

    half = centrifugal / 2
    cosine, sine = _turn()
    axial = np.array(forces.pin_axial) / 2 - half * cosine
    lateral = np.array(forces.pin_lateral) / 2 + half * sine
    # each throw's own share, then the neighbour's, which fires `offset` later
    return (axial + np.roll(axial, -offset)).tolist(), (lateral + np.roll(lateral, -offset)).tolist()
