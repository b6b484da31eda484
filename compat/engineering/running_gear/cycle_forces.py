"""Forces of one cylinder on rod, wall, crankpin and main bearing through a whole cycle."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.running_gear.gas_trace import throw_geometry

__all__ = ["CycleForces", "cycle_forces", "main_bearing_forces"]

CRANKCASE_PRESSURE = 101325.0

_COSINE = tuple(math.cos(math.radians(index)) for index in range(720))
_SINE = tuple(math.sin(math.radians(index)) for index in range(720))


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
    area = math.pi / 4 * bore**2
    square = speed**2
    rows = throw_geometry(stroke, centre_length)
    centrifugal = rod_rotating_mass * stroke / 2 * square
    rod, side, torque, axial, lateral = [], [], [], [], []
    for index, pressure in enumerate(trace):
        _, slope, curvature, lean = rows[index % 360]
        along = (pressure - CRANKCASE_PRESSURE) * area - reciprocating_mass * square * curvature
        upright = math.sqrt(1 - lean**2)
        across = along * lean / upright
        rod.append(along / upright)
        side.append(across)
        torque.append(along * slope)
        # the rotating mass pulls outwards along the throw, which stands at the crank angle
        axial.append(along - centrifugal * _COSINE[index])
        lateral.append(across + centrifugal * _SINE[index])
    return CycleForces(tuple(rod), tuple(side), tuple(torque), tuple(axial), tuple(lateral))


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
    start = offset % 720
    half = centrifugal / 2
    # each throw's own share, then the neighbour's, which fires `offset` later
    axial = [along / 2 - half * pull for along, pull in zip(forces.pin_axial, _COSINE, strict=True)]
    lateral = [across / 2 + half * push for across, push in zip(forces.pin_lateral, _SINE, strict=True)]
    return (
        [here + there for here, there in zip(axial, axial[start:] + axial[:start], strict=True)],
        [here + there for here, there in zip(lateral, lateral[start:] + lateral[:start], strict=True)],
    )
