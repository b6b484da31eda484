"""Stages and order in which the fasteners of a joint are tightened."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import partial

from compat.engineering.formula import OutOfRange, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "angle_passes",
    "circle_order",
    "circle_places",
    "grid_places",
    "outward_order",
    "rail_places",
    "tightening_order",
    "torque_stages",
]

Place = tuple[float, float]
"""Along the engine from the front, and across it from the left."""

_SAME = 1e-6


def torque_stages(final_torque: float, stages: int = 3) -> tuple[float, ...]:
    """Torques of even stages up to the final one.

    Parameters
    ----------
    final_torque : float
        Stated for the fastener, [N*m]
    stages : int, optional
        How many passes over the pattern, [-]

    Returns
    -------
    tuple of float
        Torque of each pass, [N*m]

    Raises
    ------
    OutOfRange
        When the torque is not above zero or there are fewer than one or more than six stages.

    Notes
    -----
    Common practice where the maker states none: even steps, so that the gasket is pressed evenly.

    Examples
    --------
    >>> torque_stages(90.0)
    (30.0, 60.0, 90.0)
    """
    positive(final_torque=final_torque)
    within("stages", stages, 1, 6)
    return tuple(final_torque * step / stages for step in range(1, stages + 1))


def angle_passes(angle: float, most: float = math.pi / 2) -> tuple[float, ...]:
    """Even passes that together turn fasteners by an angle, none of them by more than can be turned evenly.

    Parameters
    ----------
    angle : float
        Stated for the fastener, after its snug torque, [rad]
    most : float, optional
        Most that one pass turns, [rad]

    Returns
    -------
    tuple of float
        Angle of each pass, [rad]

    Raises
    ------
    OutOfRange
        When an angle is not above zero.

    Notes
    -----
    Common practice, no source: a quarter turn a pass, over the whole pattern each time.

    Examples
    --------
    >>> import math
    >>> [round(math.degrees(each)) for each in angle_passes(math.radians(180))]
    [90, 90]
    """
    positive(angle=angle, most=most)
    passes = math.ceil(angle / most - _SAME)
    return (angle / passes,) * passes


def grid_places(count: int, rows: int = 2) -> tuple[Place, ...]:
    """Places of fasteners in rows along the engine.

    Parameters
    ----------
    count, rows : int
        Fasteners, and rows of them across the engine, [-]

    Returns
    -------
    tuple
        Places, counted from 1 at the front left. A row with one fastener fewer stands half a step back.

    Raises
    ------
    OutOfRange
        When there are fewer fasteners than rows, more than 60, or other than one or two rows.

    Examples
    --------
    >>> grid_places(5)
    ((1, 1), (2, 1), (3, 1), (1.5, 2), (2.5, 2))
    """
    within("rows", rows, 1, 2)
    within("count", count, rows, 60)
    longer = -(-count // rows)
    first: list[Place] = [(column, 1) for column in range(1, longer + 1)]
    shift = 0.0 if count == longer * rows else 0.5
    second: list[Place] = [
        (column + shift, 2) if shift else (column, 2) for column in range(1, count - longer + 1)
    ]
    return (*first, *second)


def rail_places(count: int) -> tuple[Place, ...]:
    """Places of fasteners round an edge: two long sides, and both ends.

    Parameters
    ----------
    count : int
        Fasteners, [-]

    Returns
    -------
    tuple
        Places; sides are across at 1 and 2, ends between them in front of the first and behind the last.

    Raises
    ------
    OutOfRange
        When there are fewer than four fasteners or more than 60.

    Notes
    -----
    Where nothing else is stated: an end holds one fastener, two from fourteen up; an odd one is at the rear.

    Examples
    --------
    >>> rail_places(8)
    ((1, 1), (2, 1), (3, 1), (1, 2), (2, 2), (3, 2), (0.0, 1.5), (4.0, 1.5))
    """
    within("count", count, 4, 60)
    front = rear = 2 if count >= 14 else 1
    if count % 2:
        rear += 1
    side = (count - front - rear) // 2
    sides: list[Place] = [(column, row) for row in (1, 2) for column in range(1, side + 1)]
    ends = [
        (float(along), 1 + (number + 1) / (many + 1))
        for along, many in ((0, front), (side + 1, rear))
        for number in range(many)
    ]
    return (*sides, *ends)


def outward_order(places: Iterable[Place]) -> tuple[Place, ...]:
    """Order of tightening fasteners from the middle of the engine's length outward.

    Parameters
    ----------
    places : iterable of (float, float)
        Along the engine, and across it.

    Returns
    -------
    tuple
        The places in the order of tightening: never one nearer to the middle than the one before, and of those
        that are as near the other side of the engine first, then the other end; else the front.

    Raises
    ------
    OutOfRange
        When there is none.

    Notes
    -----
    Common practice where the maker states no pattern: from the middle outward, crosswise, so that the clamp
    grows evenly and what is clamped can spread to both ends. Loosen in the reverse order.

    Examples
    --------
    >>> outward_order(grid_places(6))
    ((2, 1), (2, 2), (1, 1), (3, 2), (3, 1), (1, 2))
    """
    left = sorted(places)
    if not left:
        raise OutOfRange("places must hold at least one fastener")
    middle = (left[0][0] + max(along for along, _ in left)) / 2
    order: list[Place] = []
    while left:
        nearest = min(abs(along - middle) for along, _ in left)
        near = [place for place in left if abs(place[0] - middle) <= nearest + _SAME]
        chosen = min(
            near, key=partial(_crosswise, last=order[-1] if order else None, middle=middle, away=nearest)
        )
        left.remove(chosen)
        order.append(chosen)
    return tuple(order)


def _crosswise(place: Place, last: Place | None, middle: float, away: float) -> tuple[bool, bool, float, float]:
    """How well a place follows the last one, the least first: other side, other end, then the front."""
    if last is None:
        return False, False, place[1], place[0]
    as_far = abs(last[0] - middle) > away - _SAME
    same_end = as_far and (place[0] - middle) * (last[0] - middle) > _SAME
    return abs(place[1] - last[1]) < _SAME, same_end, place[0], place[1]


def tightening_order(columns: int, rows: int = 2) -> tuple[tuple[int, int], ...]:
    """Order of tightening a full grid of fasteners from the middle outward.

    Parameters
    ----------
    columns, rows : int
        Fasteners along and across the engine, [-]

    Returns
    -------
    tuple
        Places (column, row) counted from 1 at the front left, in the order of tightening.

    Raises
    ------
    OutOfRange
        When there is no fastener or more than 60.

    Notes
    -----
    As `outward_order` of `grid_places`.

    Examples
    --------
    >>> tightening_order(5)[:4]
    ((3, 1), (3, 2), (2, 1), (4, 2))
    """
    within("columns", columns, 1, 30)
    within("rows", rows, 1, 2)
    return tuple((int(column), int(row)) for column, row in outward_order(grid_places(columns * rows, rows)))


def circle_places(count: int) -> tuple[Place, ...]:
    """Places of fasteners on a circle of radius 1, the first at the top, on clockwise.

    Examples
    --------
    >>> [(round(x, 2) + 0.0, round(y, 2) + 0.0) for x, y in circle_places(4)]
    [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
    """
    within("count", count, 1, 60)
    turns = [2 * math.pi * number / count for number in range(count)]
    return tuple((math.sin(turn), -math.cos(turn)) for turn in turns)


def circle_order(count: int) -> tuple[int, ...]:
    """Order of tightening fasteners on a circle, each as far as can be from the one before.

    Parameters
    ----------
    count : int
        Fasteners, [-]

    Returns
    -------
    tuple of int
        Numbers of the places, 1 the first, on clockwise.

    Raises
    ------
    OutOfRange
        When there is none or more than 60.

    Notes
    -----
    Common practice, no source: crosswise. An even number goes by opposite pairs, an odd one as a star.

    Examples
    --------
    >>> circle_order(6), circle_order(5)
    ((1, 4, 2, 5, 3, 6), (1, 3, 5, 2, 4))
    """
    within("count", count, 1, 60)
    half, odd = divmod(count, 2)
    if odd:
        return _far_apart(count)
    return tuple(place for pair in _far_apart(half) for place in (pair, pair + half)) if half > 1 else (1, 2)


def _far_apart(count: int) -> tuple[int, ...]:
    """Numbers on a ring, each as far as can be from the one before; of two as far the lower."""
    left, order = list(range(2, count + 1)), [1]
    while left:
        last = order[-1]
        order.append(max(left, key=lambda each: (min((each - last) % count, (last - each) % count), -each)))
        left.remove(order[-1])
    return tuple(order)
