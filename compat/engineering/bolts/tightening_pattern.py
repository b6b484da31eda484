"""Stages and order in which the fasteners of a joint are tightened."""

from __future__ import annotations

from compat.engineering.formula import positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "tightening_order",
    "torque_stages",
]


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


def tightening_order(columns: int, rows: int = 2) -> tuple[tuple[int, int], ...]:
    """Order of tightening a grid of fasteners from the middle outward.

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
    Common practice where the maker states no pattern: nearest to the middle first, each followed by the one
    across the middle from it, so that the clamp grows evenly on both sides. Loosen in the reverse order.

    Examples
    --------
    >>> tightening_order(5)[:4]
    ((3, 1), (3, 2), (2, 1), (4, 2))
    """
    within("columns", columns, 1, 30)
    within("rows", rows, 1, 2)
    left = [(column, row) for column in range(1, columns + 1) for row in range(1, rows + 1)]
    middle = (columns + 1) / 2
    left.sort(key=lambda place: (abs(place[0] - middle), place[1], place[0]))
    order: list[tuple[int, int]] = []
    while left:
        first = left.pop(0)
        order.append(first)
        opposite = (columns + 1 - first[0], rows + 1 - first[1])
        if opposite in left:
            left.remove(opposite)
            order.append(opposite)
    return tuple(order)
