"""Path of a journal in its bearing over the cycle: the least film under a load that turns and pulses.

The mobility method: the film lets the journal move along the load as fast as it can be squeezed out, while
the turning surfaces carry it round. A peak that lasts a few degrees has no time to press the film as thin
as a steady load would.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.lubrication.plain_bearing import FARTHEST, long_bearing_number, short_bearing_number
from compat.engineering.numerics.ranges import finite, within
from compat.engineering.running_gear.cycle_forces import CycleForces, cycle_forces, main_bearing_forces
from compat.engineering.running_gear.gas_trace import CA50_BEST, gas_trace, motored_trace, throw_geometry

__all__ = ["CycleFilm", "engine_bearing_film", "journal_orbit"]

CYCLES = 8
SETTLED = 2e-3
"""Change of the greatest eccentricity from cycle to cycle at which the orbit counts as closed."""


class CycleFilm(NamedTuple):
    """Least film of a bearing over the cycle."""

    least_film: float
    eccentricity: float
    crank_angle: float
    peak_load: float


def _velocity(
    up: float,
    across: float,
    load_up: float,
    load_across: float,
    squeeze: float,
    turning: float,
    square: float,
) -> tuple[float, float]:
    """Change of the eccentricity with time; `square` is (width/diameter)^2, `squeeze` load "
    "(c/r)^2/(L D mu)."""
    size = math.hypot(load_up, load_across)
    move_up, move_across = -turning * across, turning * up
    if size == 0:
        return move_up, move_across
    one, two = load_up / size, load_across / size
    along = up * one + across * two
    sideways = across * one - up * two
    eccentricity = min(math.hypot(up, across), FARTHEST)
    room = max(1 - along, 1 - FARTHEST)
    soft = 1.0
    if eccentricity > 1e-6:
        # a bearing of finite width is softer than the short one, as under a steady load
        soft += square * long_bearing_number(eccentricity) / short_bearing_number(eccentricity)
    speed = squeeze * size * soft / (math.pi * square)
    towards = speed * room**2.5
    aside = -speed * 4 / math.pi * sideways * room**1.5
    return move_up + towards * one - aside * two, move_across + towards * two + aside * one


def journal_orbit(
    load_up: Sequence[float],
    load_across: Sequence[float],
    turning: Sequence[float],
    speed: float,
    viscosity: float,
    diameter: float,
    width: float,
    clearance: float,
) -> tuple[tuple[float, float], ...]:
    """Closed path of the journal's centre under a load that repeats.

    Parameters
    ----------
    load_up, load_across : sequence of float
        Load on the journal at each crank degree, on fixed axes, [N]
    turning : sequence of float
        Mean of the angular speeds of journal and shell at each crank degree, [rad/s]
    speed : float
        Crank speed, [rad/s]
    viscosity : float
        Dynamic, [Pa*s]
    diameter, width, clearance : float
        Journal, length along it, and clearance on diameter, [m]

    Returns
    -------
    tuple
        Eccentricity ratio along both axes at each crank degree, [-]

    Raises
    ------
    OutOfRange
        When the path does not close within eight cycles.

    Examples
    --------
    >>> steady = journal_orbit([4e3] * 360, [0.0] * 360, [200.0] * 360, 400.0, 0.006, 0.058, 0.018, 0.044e-3)
    >>> round(math.hypot(*steady[0]), 2)
    0.8
    """
    square = (width / diameter) ** 2
    squeeze = (clearance / diameter) ** 2 / (width * diameter * viscosity)
    degree = math.radians(1) / speed
    count = len(load_up)
    peak = max(math.hypot(u, a) for u, a in zip(load_up, load_across, strict=True))
    # explicit steps stay stable while the film moves by a fraction of its thickness in each
    parts = max(1, math.ceil(degree * squeeze * peak * 2.5 / (math.pi * square) / 0.7))
    if parts > 60:
        raise OutOfRange("the bearing carries no film: load too heavy, oil too thin or clearance too wide")
    step = degree / parts
    up, across = 0.5, 0.0
    last = math.inf
    for _ in range(CYCLES):
        path = []
        for index in range(count):
            path.append((up, across))
            for _ in range(parts):
                pull = (load_up[index], load_across[index], squeeze, turning[index], square)
                first = _velocity(up, across, *pull)
                second = _velocity(up + step * first[0] / 2, across + step * first[1] / 2, *pull)
                up, across = up + step * second[0], across + step * second[1]
                size = math.hypot(up, across)
                if size > FARTHEST:
                    up, across = up * FARTHEST / size, across * FARTHEST / size
        farthest = max(math.hypot(u, a) for u, a in path)
        closing = math.hypot(up - path[0][0], across - path[0][1])
        if abs(farthest - last) < SETTLED * (1 - farthest) and closing < 0.01:
            return tuple(path)
        last = farthest
    raise OutOfRange("the journal finds no closed path within eight cycles: the film collapses under this load")


def _big_end(forces: CycleForces, stroke: float, centre_length: float, speed: float) -> tuple[list[float], ...]:
    """Load on the crankpin and mean turning speed of pin and rod."""
    rows = throw_geometry(stroke, centre_length)
    turning = []
    for index in range(720):
        lean = rows[index % 360][3]
        swing = stroke / 2 / centre_length * math.cos(math.radians(index)) / math.sqrt(1 - lean**2)
        turning.append(speed * (1 - swing) / 2)
    return [-force for force in forces.pin_axial], list(forces.pin_lateral), turning


@formula(
    takes={
        "bearing": ("big_end", "main"),
        "bore": "mm",
        "stroke": "mm",
        "centre_length": "mm",
        "compression_ratio": "number",
        "reciprocating_mass": "g",
        "rod_rotating_mass": "g",
        "manifold_pressure": "kPa",
        "speed": "rpm",
        "viscosity": "mPa*s",
        "diameter": "mm",
        "width": "mm",
        "clearance": "mm",
        "peak_pressure": "bar",
        "exhaust_pressure": "kPa",
        "ca50": "deg",
        "net_throw_mass": "g",
        "main_firing_offset": "deg",
    },
    gives={"least_film": "um", "eccentricity": "number", "crank_angle": "deg", "peak_load": "kN"},
    source="Booker, Dynamically Loaded Journal Bearings: Mobility Method of Solution, Trans. ASME D 87 (1965)",
    scatter={"least_film": 0.25, "eccentricity": 0.03, "peak_load": 0.05},
    scatter_source="estimate: rigid, round, aligned bearing always full of oil; short-bearing "
    "mobility made softer to "
    "the finite width by the steady film",
    heavy=True,
    sensitive_to=("clearance", "viscosity"),
)
def engine_bearing_film(
    bearing: str,
    bore: float,
    stroke: float,
    centre_length: float,
    compression_ratio: float,
    reciprocating_mass: float,
    rod_rotating_mass: float,
    manifold_pressure: float,
    speed: float,
    viscosity: float,
    diameter: float,
    width: float,
    clearance: float,
    peak_pressure: float | None = None,
    exhaust_pressure: float = 105e3,
    ca50: float = CA50_BEST,
    net_throw_mass: float = 0.0,
    main_firing_offset: float = math.radians(360),
) -> CycleFilm:
    """Least oil film of a big end or main bearing over the cycle, by the path of its journal.

    Parameters
    ----------
    bearing : str
        ``big_end``, or ``main`` between two throws.
    bore, stroke, centre_length, compression_ratio : float
        As for `crank_train_loads`, [m, -]
    reciprocating_mass, rod_rotating_mass : float
        As for `crank_train_loads`, [kg]
    manifold_pressure : float
        Absolute, [Pa]
    speed : float
        Crank speed, [rad/s]
    viscosity : float
        Dynamic, at the temperature of the film, see `pressure_fed_bearing`, [Pa*s]
    diameter, width, clearance : float
        Journal, length along it, and clearance on diameter, [m]
    peak_pressure : float, optional
        Highest cylinder pressure, absolute; left out for the overrun, without combustion, [Pa]
    exhaust_pressure, ca50 : float, optional
        As for `crank_train_loads`, [Pa, rad]
    net_throw_mass, main_firing_offset : float, optional
        As for `crank_train_loads`; main bearing only, [kg, rad]

    Returns
    -------
    CycleFilm
        Least film [m], the eccentricity ratio there [-], the crank angle from firing top dead centre
        at which it occurs [rad], and the highest load of the cycle [N]

    Raises
    ------
    OutOfRange
        When an argument makes no sense, the word is unknown, or the film collapses.

    Notes
    -----
    Films of 1 um and less touch: roughness, bending and oil grooves are left out, and 1.5 um is thin for a
    finely finished journal. Groove and hole in the loaded shell cost film that this does not count.

    References
    ----------
    .. [1] Booker, Trans. ASME D 87 (1965) 537; short-bearing mobility in closed form, from memory.

    Examples
    --------
    >>> film = engine_bearing_film(
    ...     "big_end", 0.0855, 0.087, 0.148, 10.0, 0.605, 0.36, 98e3, 4200 * math.pi / 30,
    ...     0.005, 0.048, 0.018, 0.044e-3, peak_pressure=63e5)
    >>> round(film.least_film * 1e6, 1), round(math.degrees(film.crank_angle))
    (1.3, 278)
    """
    positive(bore=bore, reciprocating_mass=reciprocating_mass, speed=speed, viscosity=viscosity)
    positive(diameter=diameter, width=width, clearance=clearance)
    finite(rod_rotating_mass=rod_rotating_mass, net_throw_mass=net_throw_mass)
    finite(main_firing_offset=main_firing_offset)
    within("width over diameter", width / diameter, 0.1, 2.0)
    within("clearance", clearance, 0.0, diameter / 50, "mm", 1e-3)
    if bearing not in ("big_end", "main"):
        raise OutOfRange(f"bearing must be big_end or main, got {bearing}")
    shape = (stroke, centre_length, compression_ratio)
    if peak_pressure is None:
        trace = motored_trace(*shape, manifold_pressure)
    else:
        trace = gas_trace(*shape, peak_pressure, manifold_pressure, exhaust_pressure, ca50)
    forces = cycle_forces(trace, bore, stroke, centre_length, reciprocating_mass, rod_rotating_mass, speed)
    if bearing == "big_end":
        up, across, turning = _big_end(forces, stroke, centre_length, speed)
    else:
        offset = round(math.degrees(main_firing_offset)) % 720
        axial, across = main_bearing_forces(forces, net_throw_mass * stroke / 2 * speed**2, offset)
        up, turning = [-force for force in axial], [speed / 2] * 720
    path = journal_orbit(up, across, turning, speed, viscosity, diameter, width, clearance)
    sizes = [math.hypot(u, a) for u, a in path]
    worst = max(range(720), key=sizes.__getitem__)
    return CycleFilm(
        least_film=clearance / 2 * (1 - sizes[worst]),
        eccentricity=sizes[worst],
        crank_angle=math.radians(worst - 360),
        peak_load=max(math.hypot(u, a) for u, a in zip(up, across, strict=True)),
    )
