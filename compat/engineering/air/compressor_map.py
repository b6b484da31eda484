"""A compressor map as points, and the operating point read from it.

Rows are (shaft speed, corrected flow, pressure ratio, efficiency); rows of one speed form a
speed line, whose first point is its surge edge and whose last its choke edge. Between lines
the flow coefficient (flow over speed) and head coefficient (isentropic head over speed
squared) are interpolated, because similarity keeps them nearly constant; below the lowest
and above the highest line they are held. So a small step of flow or pressure never makes the
reading jump.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import NamedTuple

from compat.engineering.air.compressor_lines import STATIONS, Line, Rows, head_of, lines_of, ratio_of
from compat.engineering.formula import GoalOutOfReach, formula, positive, table
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import within

__all__ = [
    "CompressorPoint",
    "Rows",
    "beside_edges",
    "check_map",
    "check_point",
    "compressor_beyond_map",
    "compressor_point",
    "read_point",
]

_OVERSPEED = 1.15  # how far above the top speed line the map is continued by similarity
_NEAR = 0.01  # so far around a speed that is near the one that runs is looked for first
_LEAST_EFFICIENCY = 0.06  # whatever is asked; nothing is lost by it, such air is far beyond what burns
_FAR_OVERSPEED = 50.0  # as far as heat and power of a compressor asked for far too much are reckoned


class CompressorPoint(NamedTuple):
    """What the map says at one corrected flow and pressure ratio."""

    efficiency: float
    corrected_speed: float
    surge_flow: float
    choke_flow: float
    surge_margin: float
    choke_margin: float


class _Speed(NamedTuple):
    """A place in the map at one speed: the lines below and above it, and the share of the step between."""

    lower: Line
    upper: Line
    share: float

    def flow(self, i: int) -> float:
        return self.lower.flow[i] + self.share * (self.upper.flow[i] - self.lower.flow[i])

    def head(self, i: int) -> float:
        return self.lower.head[i] + self.share * (self.upper.head[i] - self.lower.head[i])

    def efficiency(self, i: int) -> float:
        return self.lower.efficiency[i] + self.share * (self.upper.efficiency[i] - self.lower.efficiency[i])


def _at(lines: tuple[Line, ...], speed: float) -> _Speed:
    if speed <= lines[0].speed:
        return _Speed(lines[0], lines[0], 0.0)
    for lower, upper in itertools.pairwise(lines):
        if speed <= upper.speed:
            return _Speed(lower, upper, (speed - lower.speed) / (upper.speed - lower.speed))
    return _Speed(lines[-1], lines[-1], 0.0)


def _station_of_flow(place: _Speed, wanted: float) -> tuple[int, float]:
    """Segment and share of it where the flow coefficient is met, between the ends of the line."""
    lower, upper, share = place
    below, above = lower.flow, upper.flow
    low, high = 0, STATIONS - 1
    while high - low > 1:
        middle = (low + high) // 2
        if below[middle] + share * (above[middle] - below[middle]) < wanted:
            low = middle
        else:
            high = middle
    start, end = place.flow(low), place.flow(high)
    return low, min(1.0, max(0.0, (wanted - start) / (end - start)))


def _between(values: Callable[[int], float], station: tuple[int, float]) -> float:
    i, t = station
    return values(i) + t * (values(i + 1) - values(i))


def _root(function: Callable[[float], float], high: float, at_high: float, near: float | None) -> float:
    """Where a function that rises with speed changes sign, between almost nothing and `high`."""
    if near is not None:
        start, end = (1.0 - _NEAR) * near, min((1.0 + _NEAR) * near, high)
        at_start, at_end = function(start), function(end)
        if at_start < 0.0 <= at_end:
            return bracketed_root(function, start, end, at_start, at_end, 1e-12 * high)
    low = 1e-6 * high
    at_low = function(low)
    return low if at_low >= 0 else bracketed_root(function, low, high, at_low, at_high, 1e-12 * high)


def _edge_speed(lines: tuple[Line, ...], end: int, head: float) -> float:
    """Speed at which an end of the speed lines has this head, up to twice the top line."""
    first, last = lines[0], lines[-1]
    if head <= first.head[end] * first.speed**2:  # beyond the lines head goes as the square of speed
        return math.sqrt(head / first.head[end])
    for lower, upper in itertools.pairwise(lines):
        at_upper = upper.head[end] * upper.speed**2 - head
        if at_upper >= 0:
            at_lower = lower.head[end] * lower.speed**2 - head
            tolerance = 1e-12 * last.speed
            return bracketed_root(
                lambda n: _at(lines, n).head(end) * n**2 - head,
                lower.speed,
                upper.speed,
                at_lower,
                at_upper,
                tolerance,
            )
    return min(math.sqrt(head / last.head[end]), 2 * last.speed)


def _rpm(speed: float) -> str:
    return f"{speed * 30 / math.pi:.0f} rpm"


def _running_speed(
    lines: tuple[Line, ...], flow: float, head: float, overspeed: float, near: float | None
) -> float:
    """Speed at which the compressor gives this flow and head, edges continued outward."""

    def surplus(speed: float) -> float:
        place = _at(lines, speed)
        wanted = flow / speed
        if wanted > place.flow(STATIONS - 1):
            return -1.0  # the line ends short of this flow, whatever the head
        if wanted <= place.flow(0):
            return place.head(0) * speed**2 - head
        return _between(place.head, _station_of_flow(place, wanted)) * speed**2 - head

    top = overspeed * lines[-1].speed
    at_top = surplus(top)
    if at_top < 0:
        raise GoalOutOfReach(
            f"corrected_flow of {flow:.3f} kg/s at pressure_ratio "
            f"{ratio_of(head):.2f} would ask more than {_rpm(top)}, "
            f"{overspeed:g} times the top speed line of compressor_map"
        )
    return _root(surplus, top, at_top, near)


def _choke_flow(lines: tuple[Line, ...], head: float) -> float:
    """Most flow at this head: the choke edge, then the top speed line, then its peak."""
    last = lines[-1]
    if head <= last.head[-1] * last.speed**2:
        end = STATIONS - 1
        speed = _edge_speed(lines, end, head)
        return _at(lines, speed).flow(end) * speed
    wanted = head / last.speed**2
    peak = last.head.index(max(last.head))
    for i in range(STATIONS - 2, peak - 1, -1):
        if wanted <= last.head[i]:
            t = (wanted - last.head[i + 1]) / (last.head[i] - last.head[i + 1])
            return last.speed * (last.flow[i + 1] + t * (last.flow[i] - last.flow[i + 1]))
    return last.speed * last.flow[peak]


def check_map(compressor_map: Rows) -> None:
    """Refuse rows that are no compressor map."""
    lines_of(compressor_map)


def read_point(
    compressor_map: Rows,
    corrected_flow: float,
    pressure_ratio: float,
    overspeed: float = _OVERSPEED,
    near: float | None = None,
) -> tuple[float, float, float]:
    """Shaft speed, efficiency and work over inlet enthalpy at one point of the map; quicker from a speed near.

    Left of the surge edge the edge's own efficiency at that pressure is held. Right of the choke
    edge the work stays that of the edge, so efficiency falls with the pressure that is left.
    """
    lines = lines_of(compressor_map)
    head = head_of(pressure_ratio)
    speed = _running_speed(lines, corrected_flow, head, overspeed, near)
    place = _at(lines, speed)
    if corrected_flow <= place.flow(0) * speed:
        efficiency = place.efficiency(0)
    else:
        station = _station_of_flow(place, corrected_flow / speed)
        efficiency = _between(place.efficiency, station)
        own_head = _between(place.head, station) * speed**2
        if head < own_head * (1 - 1e-9):
            return speed, efficiency * head / own_head, own_head / efficiency
    return speed, efficiency, head / efficiency


def check_point(corrected_flow: float, pressure_ratio: float) -> None:
    """Refuse a point that no compressor runs at."""
    positive(corrected_flow=corrected_flow, pressure_ratio=pressure_ratio)
    within("pressure_ratio", pressure_ratio, 1.0 + 1e-6, 8.0)


def beside_edges(
    compressor_map: Rows, corrected_flow: float, pressure_ratio: float, speed: float, efficiency: float
) -> CompressorPoint:
    """A point of the map, read at a speed with an efficiency, with the edges either side of it."""
    lines = lines_of(compressor_map)
    head = head_of(pressure_ratio)
    edge_speed = _edge_speed(lines, 0, head)
    surge_flow = _at(lines, edge_speed).flow(0) * edge_speed
    choke_flow = _choke_flow(lines, head)
    return CompressorPoint(
        efficiency,
        speed,
        surge_flow,
        choke_flow,
        corrected_flow / surge_flow - 1,
        choke_flow / corrected_flow - 1,
    )


@formula(
    takes={
        "compressor_map": table("rpm", "kg/s", "number", "number"),
        "corrected_flow": "kg/s",
        "pressure_ratio": "number",
    },
    gives={
        "efficiency": "number",
        "corrected_speed": "rpm",
        "surge_flow": "kg/s",
        "choke_flow": "kg/s",
        "surge_margin": "number",
        "choke_margin": "number",
    },
    source="similarity of turbomachines (flow and head coefficients); the map is its maker's",
    scatter={"efficiency": 0.03, "corrected_speed": 0.03, "surge_flow": 0.05, "choke_flow": 0.05},
    scatter_source="common practice: digitised maps, and gas stand against the pulses of an engine",
    heavy=True,
    sensitive_to=("corrected_flow", "pressure_ratio"),
    rises_with={
        "corrected_speed": ("corrected_flow", "pressure_ratio"),
        "surge_flow": ("corrected_flow", "pressure_ratio"),
        "choke_flow": ("corrected_flow",),
        "surge_margin": ("corrected_flow",),
    },
    falls_with={"surge_margin": ("pressure_ratio",), "choke_margin": ("corrected_flow",)},
    lies={"efficiency": (0.0, 1.0)},
)
def compressor_point(compressor_map: Rows, corrected_flow: float, pressure_ratio: float) -> CompressorPoint:
    """Read a compressor map at one corrected flow and pressure ratio.

    Parameters
    ----------
    compressor_map : tuple of rows
        Shaft speed [rad/s], corrected flow [kg/s], pressure ratio [-], efficiency [-]; at least two
        speed lines of three points, each from its surge edge to its choke edge.
    corrected_flow : float
        Flow at the map's reference state, [kg/s]
    pressure_ratio : float
        Outlet over inlet pressure, above 1, [-]

    Returns
    -------
    CompressorPoint
        efficiency [-]; corrected_speed [rad/s]; surge_flow and choke_flow at the same pressure
        ratio [kg/s]; surge_margin = flow/surge_flow - 1 and choke_margin = choke_flow/flow - 1 [-],
        negative outside the map.

    Raises
    ------
    GoalOutOfReach
        When the point asks more than 1.15 times the map's top speed.
    OutOfRange
        When the map is not one.

    Notes
    -----
    Outside the edges the reading is continued so that a shortfall has a size: left of surge with
    the edge's efficiency, right of choke with the edge's work, above the top line by similarity.

    References
    ----------
    .. [1] Korpela, Principles of Turbomachinery, Wiley: similarity and performance maps.

    Examples
    --------
    >>> krpm = 1000 * math.pi / 30
    >>> rows = (
    ...     (80 * krpm, 0.04, 1.40, 0.66), (80 * krpm, 0.08, 1.35, 0.74), (80 * krpm, 0.12, 1.18, 0.62),
    ...     (120 * krpm, 0.08, 2.05, 0.67), (120 * krpm, 0.14, 1.95, 0.76), (120 * krpm, 0.19, 1.55, 0.62),
    ...     (150 * krpm, 0.13, 2.90, 0.66), (150 * krpm, 0.19, 2.75, 0.74), (150 * krpm, 0.24, 2.10, 0.61))
    >>> point = compressor_point(rows, 0.15, 2.1)
    >>> round(point.efficiency, 3), round(point.corrected_speed / krpm, 1)
    (0.755, 126.8)
    >>> round(point.surge_margin, 2), round(point.choke_margin, 2)
    (0.8, 0.6)
    """
    check_point(corrected_flow, pressure_ratio)
    speed, efficiency, _ = read_point(compressor_map, corrected_flow, pressure_ratio)
    return beside_edges(compressor_map, corrected_flow, pressure_ratio, speed, efficiency)


@formula(
    takes={
        "compressor_map": table("rpm", "kg/s", "number", "number"),
        "corrected_flow": "kg/s",
        "pressure_ratio": "number",
    },
    gives="number",
    source="similarity of turbomachines up to 1.15 times the map's top speed; beyond it an own choice",
    scatter=0.15,
    scatter_source="own judgement: no map reaches there",
    heavy=True,
)
def compressor_beyond_map(compressor_map: Rows, corrected_flow: float, pressure_ratio: float) -> float:
    """Efficiency with which a compressor heats the air where it is asked for more than its map holds.

    Parameters
    ----------
    compressor_map : tuple of rows
        As `compressor_point` takes it.
    corrected_flow : float
        Flow at the map's reference state, [kg/s]
    pressure_ratio : float
        Outlet over inlet pressure, above 1, [-]

    Returns
    -------
    float
        Efficiency [-], that of `compressor_point` up to 1.15 times the map's top speed.

    Raises
    ------
    GoalOutOfReach
        When even fifty times the top speed does not give it.
    OutOfRange
        When the map is not one.

    Notes
    -----
    A compressor asked for more than it gives must not look like a cold one, and the heat of the charge must not
    jump where its map ends. The reading is continued by similarity, and the efficiency falls with the square of
    the speed beyond 1.15 times the top line: an own choice, as the wheel's tips turn faster than sound.

    References
    ----------
    .. [1] Korpela, Principles of Turbomachinery, Wiley: similarity and performance maps.

    Examples
    --------
    >>> krpm = 1000 * math.pi / 30
    >>> rows = (
    ...     (80 * krpm, 0.04, 1.40, 0.66), (80 * krpm, 0.08, 1.35, 0.74), (80 * krpm, 0.12, 1.18, 0.62),
    ...     (120 * krpm, 0.08, 2.05, 0.67), (120 * krpm, 0.14, 1.95, 0.76), (120 * krpm, 0.19, 1.55, 0.62))
    >>> [round(compressor_beyond_map(rows, 0.18, ratio), 3) for ratio in (1.8, 2.4, 3.6)]
    [0.709, 0.709, 0.488]
    """
    check_point(corrected_flow, pressure_ratio)
    speed, efficiency, _ = read_point(compressor_map, corrected_flow, pressure_ratio, _FAR_OVERSPEED)
    top = _OVERSPEED * lines_of(compressor_map)[-1].speed
    return max(efficiency * min(1.0, top / speed) ** 2, _LEAST_EFFICIENCY)
