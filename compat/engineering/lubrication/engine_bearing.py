"""Least oil film of an engine's bearings over the cycle and over the speed range."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.lubrication.bearing_heat import GROOVES
from compat.engineering.lubrication.bearing_orbit import journal_orbit
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity
from compat.engineering.numerics.ranges import within
from compat.engineering.running_gear.gas_trace import throw_geometry
from compat.engineering.running_gear.main_loads import main_bearing_forces
from compat.engineering.running_gear.ways_of_running import PULL_AWAY, CrankTrain, case_forces

if TYPE_CHECKING:
    from numpy import complex128, float64
    from numpy.typing import NDArray

__all__ = ["EngineBearingFilm", "engine_bearing_film"]

STEP = 4
"""Crank angle between two steps of the journal, [deg]."""

GROOVE_WIDTH = 0.003


class EngineBearingFilm(NamedTuple):
    """Least film of a bearing, and where in the speed range and the cycle it comes about."""

    least_film: float
    eccentricity: float
    speed: float
    crank_angle: float
    load: float
    viscosity: float


@formula(
    takes={
        "bearing": ("big_end", "main"),
        "train": CrankTrain,
        "diameter": "mm",
        "width": "mm",
        "clearance": "mm",
        "feed_temperature": "degC",
        "film_temperature": "degC",
        "viscosity_40": "mm^2/s",
        "viscosity_100": "mm^2/s",
        "groove": tuple(GROOVES),
        "pull_away_speed": "rpm",
    },
    gives={
        "least_film": "um",
        "eccentricity": "number",
        "speed": "rpm",
        "crank_angle": "deg",
        "load": "kN",
        "viscosity": "mPa*s",
    },
    source="Booker, Dynamically Loaded Journal Bearings: Mobility Method of Solution, Trans. ASME D 87 (1965)",
    scatter={"least_film": 0.25, "eccentricity": 0.03, "load": 0.05},
    scatter_source="estimate: rigid, round, aligned bearing always full of oil; short-bearing mobility made "
    "softer to the finite width by the steady film",
    heavy=True,
    # across its tolerance the clearance moves the film by about a tenth, half of what the model is off
    sensitive_to=(),
)
def engine_bearing_film(
    bearing: str,
    train: CrankTrain,
    diameter: float,
    width: float,
    clearance: float,
    feed_temperature: float,
    film_temperature: float,
    viscosity_40: float,
    viscosity_100: float,
    groove: str = "hole",
    pull_away_speed: float = PULL_AWAY,
) -> EngineBearingFilm:
    """Least oil film of big end or main bearings over cycle and speed range, by the path of the journal.

    Parameters
    ----------
    bearing : str
        ``big_end``, or ``main`` for the one among the mains whose film is least.
    train : CrankTrain
        Cylinder, rod, crank, pressures and speeds, SI units.
    diameter, width, clearance : float
        Journal, length along it, and clearance on diameter, warm, [m]
    feed_temperature : float
        Of the oil in the gallery, [K]
    film_temperature : float
        Of the film at the rev limit, see `pressure_fed_bearing`, [K]
    viscosity_40, viscosity_100 : float
        Kinematic viscosity of the oil at 40 and 100 degC, [m^2/s]
    groove : str, optional
        As for `pressure_fed_bearing`: a groove ``full`` round halves the shells into two narrow lands, one in
        the ``upper`` shell does so where the load points there.
    pull_away_speed : float, optional
        Lowest speed at which the throttle is opened wide, [rad/s]

    Returns
    -------
    EngineBearingFilm
        Least film [m]; the eccentricity ratio [-], the speed [rad/s], the crank angle from firing top dead
        centre of the cylinder, for mains of the first in order [rad], the load at that moment [N] and the
        viscosity in the film there [Pa*s]

    Raises
    ------
    OutOfRange
        When an argument makes no sense, the word is unknown, or the film collapses.

    Notes
    -----
    Full load pulling away, at peak torque, peak power, the rev limit and half way between, and the overrun. The
    film's heat over the gallery grows straight with speed, within 2 K of `pressure_fed_bearing` at each. Films
    of half a micrometre and less touch: roughness, bending and misalignment are left out. A hole in the loaded
    shell costs film that this does not count; the rise of viscosity with pressure, left out too, gives some
    back. With the clearance the film falls, by less than half as much; at the rev limit it hardly moves.

    References
    ----------
    .. [1] Booker, Trans. ASME D 87 (1965) 537.

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> train = CrankTrain(
    ...     bore=0.0855, stroke=0.087, centre_length=0.148, compression_ratio=10.0, reciprocating_mass=0.605,
    ...     rod_rotating_mass=0.36, peak_pressure=63e5, manifold_pressure=98e3, torque_speed=4200 * rpm,
    ...     rev_limit=6500 * rpm, power_speed=5800 * rpm, power_peak_pressure=57e5)
    >>> film = engine_bearing_film(
    ...     "big_end", train, 0.048, 0.018, 0.044e-3, 393.15, 413.15, 75e-6, 11.5e-6)
    >>> round(film.least_film * 1e6, 1), round(film.speed / rpm), round(math.degrees(film.crank_angle))
    (0.8, 1500, 44)
    """
    import numpy as np

    positive(diameter=diameter, width=width, clearance=clearance, pull_away_speed=pull_away_speed)
    within("width over diameter", width / diameter, 0.1, 2.0)
    within("clearance", clearance, 0.0, diameter / 50, "mm", 1e-3)
    if bearing not in ("big_end", "main"):
        raise OutOfRange(f"bearing must be big_end or main, got {bearing}")
    if groove not in GROOVES:
        raise OutOfRange(f"groove must be full, upper or hole, got {groove}")
    if groove != "hole":
        within("width", width, 2 * GROOVE_WIDTH, 1.0, "mm", 1e-3)
    cases, _ = case_forces(train, pull_away_speed)
    speeds = np.array([case.speed for case in cases])
    rise = film_temperature - feed_temperature
    viscosity = np.array(
        [
            dynamic_viscosity(
                feed_temperature + rise * case.speed / train.rev_limit, viscosity_40, viscosity_100
            )
            for case in cases
        ]
    )
    if bearing == "big_end":
        load, turning = _crankpin(train, pull_away_speed)
    else:
        load, turning = _mains(train, pull_away_speed)
    alike = len(load) // len(cases)
    speeds, viscosity = np.tile(speeds, alike), np.tile(viscosity, alike)
    # a load towards the heads presses on the grooved shell
    split = load.real > 0 if groove == "upper" else np.full(load.shape, groove == "full")
    each = np.where(split, (width - GROOVE_WIDTH) / 2, width)
    orbit = journal_orbit(
        load, turning, speeds, viscosity, diameter, each, clearance, np.where(split, 2.0, 1.0)
    )
    case, step = np.unravel_index(int(orbit.film.argmin()), orbit.film.shape)
    film = float(orbit.film[case, step])
    return EngineBearingFilm(
        least_film=clearance / 2 * film,
        eccentricity=1 - film,
        speed=float(speeds[case]),
        crank_angle=math.radians(STEP * int(step) - 360),
        load=float(abs(load[case, step])),
        viscosity=float(viscosity[case]),
    )


@lru_cache(maxsize=8)
def _swing(stroke: float, centre_length: float) -> NDArray[float64]:
    """Angular speed of the rod over that of the crank at each step."""
    import numpy as np

    angles = np.arange(0, 720, STEP)
    lean = np.array([row[3] for row in throw_geometry(stroke, centre_length)])[angles % 360]
    swing: NDArray[float64] = stroke / 2 / centre_length * np.cos(np.radians(angles)) / np.sqrt(1 - lean**2)
    return swing


def _crankpin(train: CrankTrain, pull_away_speed: float) -> tuple[NDArray[complex128], NDArray[float64]]:
    """Load on the crankpin in each case, and mean turning speed of pin and rod."""
    import numpy as np

    cases, forces = case_forces(train, pull_away_speed)
    turning = (
        np.array([case.speed for case in cases])[:, None] * (1 - _swing(train.stroke, train.centre_length)) / 2
    )
    return (-forces.pin_axial + 1j * forces.pin_lateral)[:, ::STEP], turning


def _mains(train: CrankTrain, pull_away_speed: float) -> tuple[NDArray[complex128], NDArray[float64]]:
    """Load on the journal in each case of each main bearing, and half the crank's speed."""
    import numpy as np

    cases, forces = case_forces(train, pull_away_speed)
    speeds = np.array([case.speed for case in cases])
    centrifugal = train.net_throw_mass * train.stroke / 2 * speeds**2
    beside = [main_bearing_forces(forces, centrifugal, throws) for throws in train.mains]
    load = np.concatenate([(-down + 1j * side)[:, ::STEP] for down, side in beside])
    return load, np.tile(speeds / 2, len(beside))[:, None] * np.ones(load.shape[1])
