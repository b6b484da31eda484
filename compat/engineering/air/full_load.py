"""The full-load line of a boosted engine across its compressor map, low speed to rev limit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from compat.engineering.air.charge import (
    MAP_PRESSURE,
    MAP_TEMPERATURE,
    corrected_flow,
    flow_loss,
    pressure_ratio,
    shaft_speed,
)
from compat.engineering.air.charge_heat import AIR_GAS_CONSTANT, charge_temperature, intercooler_effectiveness
from compat.engineering.air.compressor_map import Rows, beside_edges, check_map, check_point, read_point
from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["FullLoadLine", "FullLoadPoint", "full_load_line", "full_load_point", "full_load_points"]

_TURNS = 60  # of the iteration; a usual point settles in four or five
_RISING, _STEADY = 4, 10  # points below full boost, and from there to the rev limit
_TIGHT = 1  # from full boost to the rev limit, where only the tightest is asked: it stands at one of the ends


class FullLoadPoint(NamedTuple):
    """One engine speed at full load."""

    speed: float
    mass_flow: float
    corrected_flow: float
    pressure_ratio: float
    charge_temperature: float
    efficiency: float
    shaft_speed: float
    surge_margin: float
    choke_margin: float


class FullLoadLine(NamedTuple):
    """The tightest places of the line, and its end at the rev limit."""

    surge_margin: float
    surge_speed: float
    choke_margin: float
    choke_speed: float
    shaft_speed: float
    efficiency: float
    mass_flow: float
    charge_temperature: float


def full_load_point(
    compressor_map: Rows,
    displacement: float,
    volumetric_efficiency: float,
    boost: float,
    speed: float,
    ambient_pressure: float,
    ambient_temperature: float,
    effectiveness: float,
    rated_flow: float,
    charge_loss: float,
    filter_loss: float,
    map_pressure: float = MAP_PRESSURE,
    map_temperature: float = MAP_TEMPERATURE,
) -> FullLoadPoint:
    """Air flow and compressor state at one engine speed, losses and charge heat settled together.

    Parameters
    ----------
    compressor_map : tuple of rows
        Shaft speed [rad/s], corrected flow [kg/s], pressure ratio [-], efficiency [-]
    displacement : float
        Of the engine, [m^3]
    volumetric_efficiency : float
        Against the density in the manifold, [-]
    boost : float
        Gauge, at this speed, [Pa]
    speed : float
        Crank speed, [rad/s]
    ambient_pressure, ambient_temperature : float
        [Pa] and [K]
    effectiveness, charge_loss, filter_loss : float
        Of the intercooler [-], of the pipes with it [Pa] and of the filter [Pa], all at `rated_flow`
    rated_flow : float
        [kg/s]
    map_pressure, map_temperature : float, optional
        Before the compressor, for which its map is drawn, [Pa] and [K]

    Returns
    -------
    FullLoadPoint
        In SI.

    Raises
    ------
    OutOfRange
        When the compressor cannot give this point, or the air does not settle.
    """
    manifold = ambient_pressure + boost
    swept = volumetric_efficiency * displacement * speed / (4 * math.pi)
    mass = swept * manifold / (AIR_GAS_CONSTANT * ambient_temperature)
    taken = 0.85  # share of what is off that the next step makes good
    off = 0.0
    running: float | None = None
    for turn in range(_TURNS):
        filter_now = flow_loss(filter_loss, rated_flow, mass)
        loss = flow_loss(charge_loss, rated_flow, mass)
        ratio = pressure_ratio(manifold, ambient_pressure, loss, filter_now)
        flow = corrected_flow(
            mass, ambient_pressure - filter_now, ambient_temperature, map_pressure, map_temperature
        )
        running, efficiency, work = read_point(compressor_map, flow, ratio, near=running)
        outlet = ambient_temperature * (1 + work)
        cooled = intercooler_effectiveness(effectiveness, rated_flow, mass)
        charge = charge_temperature(outlet, ambient_temperature, cooled)
        before, off = off, swept * manifold / (AIR_GAS_CONSTANT * charge) - mass
        if turn and before != off:  # secant, kept within what the plain step allows
            taken = min(1.2, max(0.4, taken * before / (before - off)))
        mass += taken * off
        if abs(off) < 1e-7 * mass:
            break
    else:
        raise OutOfRange(
            f"the air flow at {speed * 30 / math.pi:.0f} rpm does not settle: "
            "check displacement, charge_loss and compressor_map against each other"
        )
    check_point(flow, ratio)
    point = beside_edges(compressor_map, flow, ratio, running, efficiency)
    return FullLoadPoint(
        speed,
        mass,
        flow,
        ratio,
        charge,
        point.efficiency,
        shaft_speed(point.corrected_speed, ambient_temperature, map_temperature),
        point.surge_margin,
        point.choke_margin,
    )


def _lowest_surge_ratio(compressor_map: Rows) -> float:
    """Pressure ratio at the surge end of the lowest speed line."""
    check_map(compressor_map)
    lowest = min(row[0] for row in compressor_map)
    _, ratio = min((row[1], row[2]) for row in compressor_map if row[0] == lowest)
    return ratio


def full_load_points(
    compressor_map: Rows,
    displacement: float,
    volumetric_efficiency: float,
    boost: float,
    full_boost_speed: float,
    rev_limit: float,
    ambient_pressure: float,
    ambient_temperature: float,
    effectiveness: float,
    rated_flow: float,
    charge_loss: float,
    filter_loss: float,
    lowest_speed: float = 1500 * math.pi / 30,
    map_pressure: float = MAP_PRESSURE,
    map_temperature: float = MAP_TEMPERATURE,
    *,
    steady: int = _STEADY,
) -> Iterator[FullLoadPoint]:
    """The points of the full-load line, lowest speed first.

    Parameters
    ----------
    compressor_map, displacement, volumetric_efficiency, boost, full_boost_speed, rev_limit, ambient_pressure, \
    ambient_temperature, effectiveness, rated_flow, charge_loss, filter_loss, lowest_speed, map_pressure, \
    map_temperature
        As `full_load_line`.
    steady : int, optional
        Steps from full boost to the rev limit.

    Yields
    ------
    FullLoadPoint
        One by one, so that who draws the line keeps what comes before a point that the map refuses.

    Raises
    ------
    OutOfRange
        As `full_load_line`: for arguments at the first point, for the compressor at the point it cannot give.
    """
    positive(
        displacement=displacement,
        full_boost_speed=full_boost_speed,
        rev_limit=rev_limit,
        ambient_pressure=ambient_pressure,
        ambient_temperature=ambient_temperature,
        rated_flow=rated_flow,
        lowest_speed=lowest_speed,
    )
    not_negative(boost=boost, charge_loss=charge_loss, filter_loss=filter_loss)
    within("volumetric_efficiency", volumetric_efficiency, 0.4, 1.3)
    within("boost", boost, 2e3, 400e3, "kPa", 1e3)
    if not lowest_speed <= full_boost_speed < rev_limit:
        raise OutOfRange(
            f"full_boost_speed must lie between lowest_speed ({lowest_speed * 30 / math.pi:.0f} rpm) and "
            f"rev_limit ({rev_limit * 30 / math.pi:.0f} rpm), got {full_boost_speed * 30 / math.pi:.0f} rpm"
        )
    # the map's surge edge is known from its lowest speed line upwards; what lies below is similarity
    known = math.sqrt((_lowest_surge_ratio(compressor_map) - 1) * ambient_pressure / boost) * full_boost_speed
    start = min(full_boost_speed, max(lowest_speed, known))
    rising = [start + (full_boost_speed - start) * i / _RISING for i in range(_RISING)]
    held = [full_boost_speed + (rev_limit - full_boost_speed) * i / steady for i in range(steady + 1)]
    for speed in rising + held:
        yield full_load_point(
            compressor_map,
            displacement,
            volumetric_efficiency,
            boost * min(1.0, (speed / full_boost_speed) ** 2),
            speed,
            ambient_pressure,
            ambient_temperature,
            effectiveness,
            rated_flow,
            charge_loss,
            filter_loss,
            map_pressure,
            map_temperature,
        )


@formula(
    takes={
        "compressor_map": table("rpm", "kg/s", "number", "number"),
        "displacement": "cm^3",
        "volumetric_efficiency": "number",
        "boost": "kPa",
        "full_boost_speed": "rpm",
        "rev_limit": "rpm",
        "ambient_pressure": "kPa",
        "ambient_temperature": "degC",
        "effectiveness": "number",
        "rated_flow": "kg/s",
        "charge_loss": "kPa",
        "filter_loss": "kPa",
        "lowest_speed": "rpm",
        "map_pressure": "kPa",
        "map_temperature": "degC",
    },
    gives={
        "surge_margin": "number",
        "surge_speed": "rpm",
        "choke_margin": "number",
        "choke_speed": "rpm",
        "shaft_speed": "rpm",
        "efficiency": "number",
        "mass_flow": "kg/s",
        "charge_temperature": "degC",
    },
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6: engine air demand on a compressor map",
    scatter={
        "surge_margin": 0.08,
        "choke_margin": 0.08,
        "shaft_speed": 0.04,
        "efficiency": 0.04,
        "mass_flow": 0.06,
    },
    scatter_source="common practice: volumetric efficiency taken as one number over the speed range",
    heavy=True,
    sensitive_to=(),
)
def full_load_line(
    compressor_map: Rows,
    displacement: float,
    volumetric_efficiency: float,
    boost: float,
    full_boost_speed: float,
    rev_limit: float,
    ambient_pressure: float,
    ambient_temperature: float,
    effectiveness: float,
    rated_flow: float,
    charge_loss: float,
    filter_loss: float,
    lowest_speed: float = 1500 * math.pi / 30,
    map_pressure: float = MAP_PRESSURE,
    map_temperature: float = MAP_TEMPERATURE,
) -> FullLoadLine:
    """Follow full load over the compressor map and give its tightest places.

    Parameters
    ----------
    compressor_map : tuple of rows
        Shaft speed [rad/s], corrected flow [kg/s], pressure ratio [-], efficiency [-]
    displacement : float
        Of the engine, a four-stroke, [m^3]
    volumetric_efficiency : float
        Against the density in the manifold, 0.85 to 1.0 for most, [-]
    boost : float
        Gauge, held from `full_boost_speed` to the rev limit, [Pa]
    full_boost_speed, rev_limit : float
        Crank speeds, [rad/s]
    ambient_pressure, ambient_temperature : float
        Of the surroundings, [Pa] and [K]
    effectiveness : float
        Of the intercooler at `rated_flow`; 0.05 stands for none, [-]
    rated_flow : float
        Air flow at which effectiveness and losses are stated, [kg/s]
    charge_loss, filter_loss : float
        Between compressor and manifold, and before the compressor, at `rated_flow`, [Pa]
    lowest_speed : float, optional
        Where full load begins, [rad/s]
    map_pressure, map_temperature : float, optional
        State of the air before the compressor for which its map is drawn, [Pa] and [K]

    Returns
    -------
    FullLoadLine
        Least surge_margin and least choke_margin [-] with the engine speeds where they occur
        [rad/s]; highest shaft_speed, true [rad/s]; efficiency [-], mass_flow [kg/s] and
        charge_temperature [K] at the rev limit.

    Raises
    ------
    OutOfRange
        When an argument makes no sense or the map ends far short of the line.

    Notes
    -----
    Below full boost the gauge pressure is taken to grow with the square of engine speed, as it
    does while the wastegate is shut (common practice); the line is followed from where it meets the
    map's lowest speed line, below which surge does no harm. Boost that is let fall towards the rev
    limit makes the choke end easier than shown.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> rows = (
    ...     (80e3 * rpm, 0.03, 1.40, 0.66), (80e3 * rpm, 0.08, 1.35, 0.74), (80e3 * rpm, 0.12, 1.18, 0.62),
    ...     (120e3 * rpm, 0.07, 2.05, 0.67), (120e3 * rpm, 0.14, 1.95, 0.76), (120e3 * rpm, 0.19, 1.55, 0.62),
    ...     (150e3 * rpm, 0.12, 2.90, 0.66), (150e3 * rpm, 0.19, 2.75, 0.74), (150e3 * rpm, 0.26, 2.10, 0.61))
    >>> line = full_load_line(rows, 1.998e-3, 0.95, 100e3, 3200 * rpm, 6500 * rpm, 100e3, 293.15,
    ...                       0.72, 0.2, 6e3, 2e3)
    >>> round(line.surge_margin, 2), round(line.surge_speed / rpm), round(line.choke_margin, 2)
    (0.63, 2612, 0.15)
    >>> round(line.mass_flow, 3), round(line.charge_temperature - 273.15)
    (0.221, 51)
    """
    points = list(
        full_load_points(
            compressor_map,
            displacement,
            volumetric_efficiency,
            boost,
            full_boost_speed,
            rev_limit,
            ambient_pressure,
            ambient_temperature,
            effectiveness,
            rated_flow,
            charge_loss,
            filter_loss,
            lowest_speed,
            map_pressure,
            map_temperature,
            steady=_TIGHT,
        )
    )
    surge = min(points, key=lambda p: p.surge_margin)
    choke = min(points, key=lambda p: p.choke_margin)
    last = points[-1]
    return FullLoadLine(
        surge.surge_margin,
        surge.speed,
        choke.choke_margin,
        choke.speed,
        max(p.shaft_speed for p in points),
        last.efficiency,
        last.mass_flow,
        last.charge_temperature,
    )
