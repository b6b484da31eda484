"""The speed lines of a compressor map: the maker's points, checked, and joined by smooth curves.

Rows are (shaft speed, corrected flow, pressure ratio, efficiency); rows of one speed form a speed line, whose
first point is its surge edge and whose last its choke edge.
"""

from __future__ import annotations

import itertools
import math
from functools import lru_cache
from typing import NamedTuple

from compat.engineering.air.charge_heat import AIR_EXPONENT
from compat.engineering.formula import OutOfRange, positive
from compat.engineering.numerics.interpolation import monotone_curve
from compat.engineering.numerics.ranges import within

__all__ = ["STATIONS", "Line", "Rows", "SpeedLine", "head_of", "lines_of", "ratio_of", "speed_lines"]

Rows = tuple[tuple[float, ...], ...]

STATIONS = 17
"""Points to which every speed line is resampled, surge edge to choke edge."""


class Line(NamedTuple):
    """One speed line, surge edge to choke edge: flow over speed, head over speed squared, efficiency."""

    speed: float
    flow: tuple[float, ...]
    head: tuple[float, ...]
    efficiency: tuple[float, ...]


def head_of(ratio: float) -> float:
    """Isentropic head over inlet enthalpy [-], of a pressure ratio [-] above zero; air as a perfect gas.

    >>> round(head_of(2.0), 4)  # 2^(2/7) - 1
    0.219
    """
    return math.expm1(AIR_EXPONENT * math.log(ratio))


def ratio_of(head: float) -> float:
    """Pressure ratio [-] that gives a head over inlet enthalpy [-] above -1: `head_of` the other way round.

    >>> round(ratio_of(head_of(2.4)), 9)
    2.4
    """
    return math.exp(math.log1p(head) / AIR_EXPONENT)


def _group(rows: Rows) -> list[tuple[float, list[tuple[float, ...]]]]:
    if any(len(row) != 4 for row in rows):
        raise OutOfRange("compressor_map needs four columns: speed, flow, pressure ratio, efficiency")
    for speed, flow, ratio, efficiency in rows:
        positive(compressor_map_speed=speed, compressor_map_flow=flow)
        within("compressor_map pressure ratio", ratio, 1.0, 8.0)
        within("compressor_map efficiency", efficiency, 0.05, 0.95)
    by_speed: dict[float, list[tuple[float, ...]]] = {}
    for row in rows:
        by_speed.setdefault(row[0], []).append(row)
    lines = [(speed, sorted(by_speed[speed], key=lambda r: r[1])) for speed in sorted(by_speed)]
    if len(lines) < 2 or any(len(points) < 3 for _, points in lines):
        raise OutOfRange("compressor_map needs at least two speed lines of at least three points each")
    for speed, points in lines:
        rpm = speed * 30 / math.pi
        if any(b[1] <= a[1] for a, b in itertools.pairwise(points)):
            raise OutOfRange(f"compressor_map has two points of the same flow on its line of {rpm:.0f} rpm")
        ratios = [p[2] for p in points]
        after_peak = ratios[ratios.index(max(ratios)) :]
        if any(b > a for a, b in itertools.pairwise(after_peak)):
            raise OutOfRange(f"compressor_map rises again after its peak on the line of {rpm:.0f} rpm")
    for (_, lower), (speed, upper) in itertools.pairwise(lines):
        for end, edge in ((0, "surge"), (-1, "choke")):
            if upper[end][1] <= lower[end][1] or upper[end][2] <= lower[end][2]:
                raise OutOfRange(
                    f"compressor_map: the {edge} end of the line of {speed * 30 / math.pi:.0f} rpm must lie "
                    "at more flow and pressure than that of the line below"
                )
    return lines


@lru_cache(maxsize=32)
def lines_of(rows: Rows) -> tuple[Line, ...]:
    """Speed lines resampled to the same stations, evenly along their length."""
    groups = _group(rows)
    flow_range = max(row[1] for row in rows)
    ratio_range = max(row[2] for row in rows) - 1
    lines = []
    for speed, points in groups:
        along = [0.0]
        for a, b in itertools.pairwise(points):
            along.append(along[-1] + math.hypot((b[1] - a[1]) / flow_range, (b[2] - a[2]) / ratio_range))
        curves = [monotone_curve(along, [p[column] for p in points]) for column in (1, 2, 3)]
        stations = [along[-1] * i / (STATIONS - 1) for i in range(STATIONS)]
        flow, ratio, efficiency = ([curve(s) for s in stations] for curve in curves)
        lines.append(
            Line(
                speed,
                tuple(w / speed for w in flow),
                tuple(head_of(r) / speed**2 for r in ratio),
                tuple(efficiency),
            )
        )
    return tuple(lines)


class SpeedLine(NamedTuple):
    """A speed line as the map is read, surge edge to choke edge."""

    speed: float
    """[rad/s]"""
    flow: tuple[float, ...]
    """Corrected, [kg/s]"""
    ratio: tuple[float, ...]
    efficiency: tuple[float, ...]


def speed_lines(compressor_map: Rows) -> tuple[SpeedLine, ...]:
    """The speed lines of a map as `compressor_point` reads them, slowest first.

    Parameters
    ----------
    compressor_map : tuple of rows
        Shaft speed [rad/s], corrected flow [kg/s], pressure ratio [-], efficiency [-]

    Returns
    -------
    tuple of SpeedLine
        With the maker's points joined by a monotone curve and read at even steps of it.

    Raises
    ------
    OutOfRange
        When the map is not one.

    Examples
    --------
    >>> rows = ((8e3, 0.04, 1.4, 0.66), (8e3, 0.08, 1.35, 0.74), (8e3, 0.12, 1.2, 0.62),
    ...         (12e3, 0.08, 2.05, 0.67), (12e3, 0.14, 1.95, 0.76), (12e3, 0.19, 1.55, 0.62))
    >>> line = speed_lines(rows)[0]
    >>> [round(line.flow[end], 6) for end in (0, -1)], [round(line.ratio[end], 6) for end in (0, -1)]
    ([0.04, 0.12], [1.4, 1.2])
    """
    return tuple(
        SpeedLine(
            line.speed,
            tuple(w * line.speed for w in line.flow),
            tuple(ratio_of(h * line.speed**2) for h in line.head),
            line.efficiency,
        )
        for line in lines_of(compressor_map)
    )
