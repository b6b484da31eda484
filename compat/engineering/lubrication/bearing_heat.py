"""Heat balance of a pressure-fed plain bearing: the film's own temperature sets its viscosity."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity, oil_density
from compat.engineering.lubrication.plain_bearing import BearingFilm, bearing_film, pressure_fed_leakage
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["GROOVES", "FedBearing", "bearing_oil_flow", "pressure_fed_bearing"]

GROOVES = {"full": 1.0, "upper": 0.5, "hole": 0.2}
"""Share of the circumference at feed pressure: groove all round, in the upper shell, or a hole "
"in the journal."""

OIL_HEAT_CAPACITY = 2100.0
"""Mean of engine oils near 100 degC, [J/(kg*K)]."""

HOTTEST = 473.15

SQUEEZED_SHARE = 0.5
"""Each land beside a groove loses oil at its outer edge and gives as much back to the groove."""


class FedBearing(NamedTuple):
    """Steady state of a pressure-fed bearing."""

    film_temperature: float
    viscosity: float
    eccentricity: float
    least_film: float
    sommerfeld_number: float
    flow: float
    power_loss: float


def bearing_oil_flow(
    diameter: float,
    width: float,
    groove_width: float,
    clearance: float,
    feed_pressure: float,
    viscosity: float,
    eccentricity: float,
    speed: float,
    groove: str,
    squeezed_share: float = SQUEEZED_SHARE,
) -> float:
    """Oil that a bearing takes: what pressure drives out and a share of what the turning film squeezes out.

    Parameters
    ----------
    diameter, width, groove_width, clearance : float
        Journal, length along it, groove or hole, and clearance on diameter, [m]
    feed_pressure : float
        Gauge, [Pa]
    viscosity : float
        Dynamic, of the film, [Pa*s]
    eccentricity : float
        Eccentricity ratio, [-]
    speed : float
        Of the journal, [rad/s]
    groove : str
        ``full``, ``upper`` or ``hole``.
    squeezed_share : float, optional
        Share of the squeezed-out oil that is lost and made good by the feed, [-]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Notes
    -----
    The rest of the squeezed-out oil returns to groove and widening film.

    Examples
    --------
    >>> flow = bearing_oil_flow(0.058, 0.018, 0.003, 0.044e-3, 400e3, 0.006, 0.7, 680.0, "upper")
    >>> round(flow * 60e3, 3)
    0.286
    """
    if groove not in GROOVES:
        raise OutOfRange(f"groove must be full, upper or hole, got {groove}")
    not_negative(groove_width=groove_width)
    within("groove_width", groove_width, 0.0, 0.6 * width, "mm", 1e-3)
    land = (width - groove_width) / 2
    driven = pressure_fed_leakage(
        diameter, clearance, land, feed_pressure, viscosity, eccentricity, GROOVES[groove]
    )
    squeezed = speed * diameter / 2 * clearance / 2 * 2 * land * eccentricity
    return driven + squeezed_share * squeezed


@formula(
    takes={
        "load": "kN",
        "speed": "rpm",
        "diameter": "mm",
        "width": "mm",
        "clearance": "mm",
        "feed_pressure": "kPa",
        "feed_temperature": "degC",
        "viscosity_40": "mm^2/s",
        "viscosity_100": "mm^2/s",
        "groove": tuple(GROOVES),
        "groove_width": "mm",
        "density_15": "kg/m^3",
        "shear_loss": "%",
        "squeezed_share": "number",
    },
    gives={
        "film_temperature": "degC",
        "viscosity": "mPa*s",
        "eccentricity": "number",
        "least_film": "um",
        "sommerfeld_number": "number",
        "flow": "L/min",
        "power_loss": "W",
    },
    source="Shigley, Mechanical Engineering Design, ch. 12: pressure-fed bearing, film at the mean temperature",
    scatter={
        "film_temperature": 0.02,
        "viscosity": 0.15,
        "eccentricity": 0.05,
        "least_film": 0.20,
        "sommerfeld_number": 0.15,
        "flow": 0.30,
        "power_loss": 0.20,
    },
    scatter_source="estimate: oil flow of engine bearings by steady theory, and viscosity at "
    "the film's temperature",
    heavy=True,
    sensitive_to=(),
    rises_with={
        "least_film": (
            "speed",
            "diameter",
            "width",
            "feed_pressure",
            "viscosity_100",
            "density_15",
            "squeezed_share",
        ),
        "film_temperature": ("speed", "diameter", "feed_temperature", "viscosity_100"),
        "eccentricity": ("load", "clearance", "feed_temperature", "shear_loss"),
    },
    falls_with={
        "least_film": ("load", "feed_temperature", "shear_loss"),
        "film_temperature": ("clearance", "feed_pressure", "shear_loss", "squeezed_share"),
        "eccentricity": (
            "speed",
            "diameter",
            "width",
            "feed_pressure",
            "viscosity_100",
            "density_15",
            "squeezed_share",
        ),
    },
)
def pressure_fed_bearing(
    load: float,
    speed: float,
    diameter: float,
    width: float,
    clearance: float,
    feed_pressure: float,
    feed_temperature: float,
    viscosity_40: float,
    viscosity_100: float,
    groove: str = "upper",
    groove_width: float = 0.003,
    density_15: float = 870.0,
    shear_loss: float = 0.2,
    squeezed_share: float = SQUEEZED_SHARE,
) -> FedBearing:
    """Film, flow and loss of a pressure-fed bearing at the temperature that it heats itself to.

    Parameters
    ----------
    load : float
        Radial, steady; the cycle mean of an engine bearing, whose least film is that of
        `engine_bearing_film`, [N]
    speed : float
        Of the journal, [rad/s]
    diameter, width, clearance : float
        Journal, length along it, and clearance on diameter, [m]
    feed_pressure : float
        Gauge, [Pa]
    feed_temperature : float
        Of the oil in the gallery, [K]
    viscosity_40, viscosity_100 : float
        Kinematic viscosity of the oil at 40 and 100 degC, [m^2/s]
    groove : str, optional
        ``full`` groove round both shells, groove in the ``upper`` shell only, or fed from a ``hole`` in
        the journal as a big end is.
    groove_width : float, optional
        Of the groove, or diameter of the hole, [m]
    density_15 : float, optional
        Of the oil at 15 degC, [kg/m^3]
    shear_loss : float, optional
        Share of viscosity lost at the shear rates of a bearing, [-]
    squeezed_share : float, optional
        Share of the oil squeezed out by the turning film that is lost and made good by the feed; 0 counts
        what pressure drives out and no more (Shigley), [-]

    Returns
    -------
    FedBearing
        Film temperature [K], its viscosity [Pa*s], eccentricity ratio [-], least film [m], Sommerfeld number
        [-], oil flow [m^3/s], friction power [W]

    Raises
    ------
    OutOfRange
        As for `bearing_film` and `oil_viscosity`, or when the film would pass 200 degC.

    Notes
    -----
    All friction heat leaves with the oil and the film stands half way up the rise (Shigley). A groove through
    the loaded shell halves the bearing into two narrow ones.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> state = pressure_fed_bearing(
    ...     8e3, 6500 * math.pi / 30, 0.058, 0.018, 0.044e-3, 400e3, 383.15, 75e-6, 11.5e-6)
    >>> round(state.film_temperature - 273.15), round(state.least_film * 1e6, 1)
    (130, 3.3)
    """
    positive(load=load, speed=speed, diameter=diameter, width=width, clearance=clearance)
    not_negative(feed_pressure=feed_pressure)
    within("squeezed_share", squeezed_share, 0.0, 1.0)
    within("feed_temperature", feed_temperature, 263.15, HOTTEST - 5, "K")

    def state(temperature: float) -> tuple[float, BearingFilm, float, float]:
        viscosity = dynamic_viscosity(temperature, viscosity_40, viscosity_100, density_15, shear_loss)
        if groove == "full":
            half = bearing_film(viscosity, speed, load / 2, diameter, (width - groove_width) / 2, clearance)
            film, loss = half, 2 * half.power_loss
        else:
            film = bearing_film(viscosity, speed, load, diameter, width, clearance)
            loss = film.power_loss
        size = (diameter, width, groove_width, clearance)
        flow = bearing_oil_flow(
            *size, feed_pressure, viscosity, film.eccentricity, speed, groove, squeezed_share
        )
        return viscosity, film, flow, loss

    def surplus(temperature: float) -> float:
        _, _, flow, loss = state(temperature)
        rise = loss / (oil_density(temperature, density_15) * OIL_HEAT_CAPACITY * flow)
        return feed_temperature + rise / 2 - temperature

    at_hottest = surplus(HOTTEST)
    if at_hottest > 0:
        raise OutOfRange(
            f"the film would pass {HOTTEST - 273.15:.0f} degC at {speed * 30 / math.pi:.0f} rpm "
            f"with a clearance of {clearance * 1e3:.3f} mm and a feed pressure of {feed_pressure / 1e3:.0f} kPa"
        )
    # the film is never colder than its feed, so that end of the bracket is above zero
    at_feed = surplus(feed_temperature)
    temperature = bracketed_root(surplus, feed_temperature, HOTTEST, at_feed, at_hottest, 1e-6)
    viscosity, film, flow, loss = state(temperature)
    return FedBearing(
        film_temperature=temperature,
        viscosity=viscosity,
        eccentricity=film.eccentricity,
        least_film=film.least_film,
        sommerfeld_number=film.sommerfeld_number,
        flow=flow,
        power_loss=loss,
    )
