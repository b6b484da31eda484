"""Oil film of a plain journal bearing: load capacity, least film, loss and leakage."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "FARTHEST",
    "BearingFilm",
    "bearing_film",
    "film_eccentricity",
    "least_film_wanted",
    "long_bearing_number",
    "pressure_fed_leakage",
    "short_bearing_number",
    "sommerfeld_number",
]

FARTHEST = 0.9999
"""Eccentricity beyond which no film is computed."""


def short_bearing_number(eccentricity: float) -> float:
    """Sommerfeld number times (width/diameter)^2 of a very narrow bearing (Ocvirk).

    >>> round(short_bearing_number(0.6), 4)
    0.0625
    """
    square = eccentricity**2
    root = math.sqrt(math.pi**2 * (1 - square) + 16 * square)
    return (1 - square) ** 2 / (math.pi * eccentricity * root)


def long_bearing_number(eccentricity: float) -> float:
    """Sommerfeld number of a very wide bearing whose widening half carries nothing (Gumbel).

    >>> round(long_bearing_number(0.6), 4)
    0.048
    """
    square = eccentricity**2
    capacity = eccentricity * math.sqrt(math.pi**2 - square * (math.pi**2 - 4))
    return (2 + square) * (1 - square) / (6 * math.pi * capacity)


def _number_at(eccentricity: float, slenderness: float) -> float:
    """Sommerfeld number at an eccentricity: short and long bearing in series."""
    return short_bearing_number(eccentricity) / slenderness**2 + long_bearing_number(eccentricity)


def film_eccentricity(number: float, slenderness: float) -> float:
    """Eccentricity ratio at a Sommerfeld number.

    Parameters
    ----------
    number : float
        Sommerfeld number, [-]
    slenderness : float
        Width over diameter, [-]

    Returns
    -------
    float
        Eccentricity over radial clearance, [-]

    Raises
    ------
    OutOfRange
        When the load is so heavy that the film is thinner than a ten-thousandth of the clearance.

    Examples
    --------
    >>> round(film_eccentricity(0.319, 0.5), 2)
    0.59
    """
    positive(sommerfeld_number=number)
    within("width over diameter", slenderness, 0.1, 2.0)

    def surplus(eccentricity: float) -> float:
        # by the logarithm, which is nearly straight but at the ends
        return math.log(_number_at(eccentricity, slenderness) / number)

    low, high = 1e-9, FARTHEST
    at_low, at_high = surplus(low), surplus(high)
    if at_high > 0.0:
        raise OutOfRange(
            f"the bearing carries no film: Sommerfeld number {number:.2g} at width over diameter "
            f"{slenderness:.2g}; load too heavy, oil too thin or speed too low"
        )
    return low if at_low <= 0.0 else bracketed_root(surplus, low, high, at_low, at_high, 1e-15)


class BearingFilm(NamedTuple):
    """Steady film of a plain bearing."""

    eccentricity: float
    least_film: float
    sommerfeld_number: float
    attitude_angle: float
    side_flow: float
    power_loss: float


@formula(
    takes={
        "viscosity": "mPa*s",
        "speed": "rpm",
        "load": "kN",
        "diameter": "mm",
        "width": "mm",
        "clearance": "mm",
    },
    gives="number",
    source="Shigley, Mechanical Engineering Design, ch. 12: bearing characteristic number",
)
def sommerfeld_number(
    viscosity: float, speed: float, load: float, diameter: float, width: float, clearance: float
) -> float:
    """Sommerfeld number (r/c)^2 viscosity N / P of a journal bearing; N in turns each second.

    Parameters
    ----------
    viscosity : float
        Dynamic, at the temperature of the film, [Pa*s]
    speed : float
        Of the journal against the shell, [rad/s]
    load : float
        Radial, [N]
    diameter, width : float
        Of the journal, and the bearing's length along it, [m]
    clearance : float
        On diameter, as measured, [m]

    Returns
    -------
    float
        Sommerfeld number, [-]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the clearance exceeds a fiftieth of the diameter.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> round(sommerfeld_number(0.006, 6500 * math.pi / 30, 20e3, 0.048, 0.018, 0.045e-3), 4)
    0.0319
    """
    positive(viscosity=viscosity, speed=speed, load=load, diameter=diameter, width=width, clearance=clearance)
    if clearance > diameter / 50:
        raise OutOfRange(
            f"clearance must be no more than a fiftieth of the diameter, got {clearance * 1e3:g} mm "
            f"on {diameter * 1e3:g} mm"
        )
    turns = speed / (2 * math.pi)
    return (diameter / clearance) ** 2 * viscosity * turns * diameter * width / load


@formula(
    takes={
        "viscosity": "mPa*s",
        "speed": "rpm",
        "load": "kN",
        "diameter": "mm",
        "width": "mm",
        "clearance": "mm",
    },
    gives={
        "eccentricity": "number",
        "least_film": "um",
        "sommerfeld_number": "number",
        "attitude_angle": "deg",
        "side_flow": "L/min",
        "power_loss": "W",
    },
    source="Ocvirk, NACA TN 2808 (short bearing) in series with the long bearing of Gumbel's condition",
    scatter={
        "eccentricity": 0.04,
        "least_film": 0.11,
        "attitude_angle": 0.22,
        "side_flow": 0.25,
        "power_loss": 0.10,
    },
    scatter_source="largest departure from the charts of Raimondi and Boyd for width over "
    "diameter 1/4 to 1 and "
    "eccentricity 0.1 to 0.97",
)
def bearing_film(
    viscosity: float, speed: float, load: float, diameter: float, width: float, clearance: float
) -> BearingFilm:
    """Steady oil film of a plain bearing: how far off centre the journal runs and what that costs.

    Parameters
    ----------
    viscosity : float
        Dynamic, at the temperature of the film, [Pa*s]
    speed : float
        Of the journal against the shell, [rad/s]
    load : float
        Radial, steady, [N]
    diameter, width : float
        Of the journal, and the bearing's length along it, [m]
    clearance : float
        On diameter, as measured, [m]

    Returns
    -------
    BearingFilm
        Eccentricity ratio [-], least film [m], Sommerfeld number [-], angle between load and the least film
        [rad], oil squeezed out at the sides [m^3/s], friction power [W]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, width over diameter lies outside 0.1 to 2, or no film is left.

    Notes
    -----
    The short bearing (flow sideways only) and the long one (flow round only) each overrate the load carried;
    their Sommerfeld numbers added lie 0 to 13 per cent below the charts of Raimondi and Boyd for widths of a
    quarter to one diameter, and the least film 0 to 10 per cent above. Smooth, round, rigid and aligned; for
    a load that turns and pulses see `engine_bearing_film`, which may be thicker or thinner than either the
    peak or the mean load gives. Sides squeeze out up to a quarter less where the width equals the diameter.

    References
    ----------
    .. [1] Ocvirk, Short-Bearing Approximation for Full Journal Bearings, NACA TN 2808, 1952.
    .. [2] Raimondi and Boyd, A Solution for the Finite Journal Bearing, ASLE Trans. 1, 1958.

    Examples
    --------
    >>> film = bearing_film(0.006, 6500 * math.pi / 30, 10e3, 0.048, 0.018, 0.045e-3)
    >>> round(film.eccentricity, 3), round(film.least_film * 1e6, 1)
    (0.862, 3.1)
    """
    number = sommerfeld_number(viscosity, speed, load, diameter, width, clearance)
    e = film_eccentricity(number, width / diameter)
    radial, surface = clearance / 2, speed * diameter / 2
    attitude = math.atan2(math.pi * math.sqrt(1 - e**2), 4 * e)
    drag = 2 * math.pi * viscosity * surface * (diameter / 2) * width / (radial * math.sqrt(1 - e**2))
    # the load, off centre by the eccentricity, turns the journal too
    drag += load * radial * e * math.sin(attitude) / diameter
    return BearingFilm(
        eccentricity=e,
        least_film=radial * (1 - e),
        sommerfeld_number=number,
        attitude_angle=attitude,
        side_flow=surface * radial * width * e,
        power_loss=drag * surface,
    )


@formula(
    takes={
        "diameter": "mm",
        "clearance": "mm",
        "land_width": "mm",
        "feed_pressure": "kPa",
        "viscosity": "mPa*s",
        "eccentricity": "number",
        "groove_share": "number",
    },
    gives="L/min",
    source="Shigley, Mechanical Engineering Design, ch. 12: pressure-fed bearing with circumferential groove",
    scatter=0.20,
    scatter_source="estimate: goes with the cube of the clearance; round, aligned bearing with "
    "full groove pressure",
)
def pressure_fed_leakage(
    diameter: float,
    clearance: float,
    land_width: float,
    feed_pressure: float,
    viscosity: float,
    eccentricity: float,
    groove_share: float = 1.0,
) -> float:
    """Oil that feed pressure drives out of both sides of a bearing with a groove round its middle.

    Parameters
    ----------
    diameter, clearance : float
        Of the journal, and clearance on diameter, [m]
    land_width : float
        From the groove to the edge, each side, [m]
    feed_pressure : float
        In the groove, gauge, [Pa]
    viscosity : float
        Dynamic, at the temperature of the film, [Pa*s]
    eccentricity : float
        Eccentricity ratio of the journal, [-]
    groove_share : float, optional
        Share of the circumference that is grooved: 1 all round, 0.5 upper shell only, [-]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When a size is not above zero, the pressure is below zero, eccentricity or share lie outside 0 to 1.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> round(pressure_fed_leakage(0.058, 0.044e-3, 0.0075, 400e3, 0.006, 0.7) * 60e3, 3)
    0.299
    """
    positive(diameter=diameter, clearance=clearance, land_width=land_width, viscosity=viscosity)
    not_negative(feed_pressure=feed_pressure)
    within("eccentricity", eccentricity, 0.0, 1.0)
    within("groove_share", groove_share, 0.0, 1.0)
    radial = clearance / 2
    full = math.pi * feed_pressure * diameter / 2 * radial**3 / (3 * viscosity * land_width)
    return groove_share * full * (1 + 1.5 * eccentricity**2)


@formula(
    takes={"diameter": "mm"},
    gives="um",
    source="Trumpler, Design of Film Bearings: least film of ground journals, as in Shigley ch. "
    "12 (from memory)",
)
def least_film_wanted(diameter: float) -> float:
    """Least film that lets common grit pass a ground journal: 0.0002 in + 0.00004 of the diameter.

    Parameters
    ----------
    diameter : float
        Of the journal, [m]

    Returns
    -------
    float
        Film thickness, [m]

    Raises
    ------
    OutOfRange
        When the diameter is not above zero.

    Notes
    -----
    For steady loads in industry. The pulsing load of an engine takes its bearings to 1 or 2 um for an instant
    each cycle; only finely finished journals and filtered oil live with that.

    References
    ----------
    .. [1] Trumpler, Design of Film Bearings, Macmillan, 1966.

    Examples
    --------
    >>> round(least_film_wanted(0.048) * 1e6, 1)
    7.0
    """
    positive(diameter=diameter)
    return 0.0002 * 0.0254 + 0.00004 * diameter
