"""Loads of the main bearings: which rods stand beside each of them, and how their forces add up.

The crank is taken as cut at every main bearing, so that each throw is a beam on two supports and hands half
of its load to either. In line or in a V, a bay between two mains holds one rod or more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.formula import OutOfRange
from compat.engineering.numerics.ranges import within
from compat.engineering.running_gear.cycle_forces import CycleForces, circle

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

__all__ = ["FIRING", "NUMBERING", "Throw", "main_bearing_forces", "throws_along_crank", "throws_beside_mains"]

NUMBERING = ("in_line", "by_bank", "across")
"""Cylinders numbered down the one row; down one bank, then the other; or from bank to bank along the crank."""

FIRING = ("even", "uneven")


class Throw(NamedTuple):
    """A rod on the crank: how many degrees after the first cylinder it fires, and how its bank leans [rad]."""

    fires: int
    lean: float


def throws_along_crank(
    cylinders: int,
    firing_order: str,
    numbering: str = "in_line",
    bank_angle: float = 0.0,
    firing: str = "even",
) -> list[Throw]:
    """Rods of an engine in their order along the crank.

    Parameters
    ----------
    cylinders : int
        Of the engine.
    firing_order : str
        Numbers of the cylinders as they fire, with hyphens; empty counts as the order of their numbers.
    numbering : str, optional
        One of `NUMBERING`.
    bank_angle : float, optional
        Between the banks of a V, [rad]
    firing : str, optional
        ``even``, or ``uneven`` where the two rods of a bay share one crankpin whatever the bank angle.

    Returns
    -------
    list of Throw
        When each fires, and how it leans.

    Raises
    ------
    OutOfRange
        When the order does not name each cylinder once, a word is not known, or an engine in line fires
        unevenly: the angles of its throws are then not known.

    Notes
    -----
    Which way the first bank leans is not stated by a firing order. A crank splits its pins as little as it
    can, so the way is taken that leaves the smaller split.

    Examples
    --------
    >>> six = throws_along_crank(6, "1-4-2-5-3-6", "by_bank", math.radians(60))
    >>> [(throw.fires, round(math.degrees(throw.lean))) for throw in six]
    [(0, -30), (120, 30), (240, -30), (360, 30), (480, -30), (600, 30)]
    """
    within("bank_angle", bank_angle, 0.0, math.pi, "deg", math.pi / 180)
    if numbering not in NUMBERING:
        raise OutOfRange(f"numbering must be one of {', '.join(NUMBERING)}, got {numbering}")
    if firing not in FIRING:
        raise OutOfRange(f"firing must be even or uneven, got {firing}")
    fires = _even(cylinders, firing_order)
    if numbering != "in_line":
        return _vee(cylinders, fires, numbering, bank_angle, firing)
    if bank_angle:
        raise OutOfRange("numbering of a V must be by_bank or across, got in_line")
    if firing == "uneven":
        raise OutOfRange("the throws of an engine in line that fires unevenly are not known")
    return [Throw(fired, 0.0) for fired in fires]


@cache
def throws_beside_mains(
    cylinders: int,
    main_bearings: int,
    firing_order: str,
    numbering: str = "in_line",
    bank_angle: float = 0.0,
    firing: str = "even",
) -> tuple[tuple[Throw, ...], ...]:
    """Rods in the bays on both sides of each main bearing.

    Parameters
    ----------
    cylinders, firing_order, numbering, bank_angle, firing
        As for `throws_along_crank`.
    main_bearings : int
        Of the engine; the bays between them hold equal numbers of rods.

    Returns
    -------
    tuple
        For each main bearing the throws beside it; bearings that are loaded alike stand once.

    Raises
    ------
    OutOfRange
        As for `throws_along_crank`, or when the rods do not fill the bays evenly.

    Examples
    --------
    >>> [[throw.fires for throw in throws] for throws in throws_beside_mains(4, 5, "1-3-4-2")]
    [[0], [0, 540], [540, 180]]
    """
    bays = main_bearings - 1
    if bays < 1 or cylinders % bays:
        raise OutOfRange(f"{cylinders} rods do not fill the bays between {main_bearings} main bearings evenly")
    row = throws_along_crank(cylinders, firing_order, numbering, bank_angle, firing)
    each = cylinders // bays
    stood: dict[frozenset[tuple[int, float]], tuple[Throw, ...]] = {}
    for main in range(main_bearings):
        beside = tuple(row[max(main - 1, 0) * each : (main + 1) * each])
        # the same rods after another pause load a bearing alike
        alike = {frozenset(((t.fires - o.fires) % 720, t.lean) for t in beside) for o in beside}
        if not alike & stood.keys():
            stood[next(iter(alike))] = beside
    return tuple(stood.values())


def _even(cylinders: int, firing_order: str) -> list[int]:
    """Degrees after the first at which each cylinder fires, by its number less one."""
    if not firing_order:
        order = list(range(1, cylinders + 1))
    else:
        try:
            order = [int(number) for number in firing_order.split("-")]
        except ValueError:
            order = []
    if sorted(order) != list(range(1, cylinders + 1)):
        raise OutOfRange(f"firing_order must name each of {cylinders} cylinders once, got {firing_order}")
    fires = [0] * cylinders
    for place, number in enumerate(order):
        fires[number - 1] = place * 720 // cylinders
    return fires


def _vee(cylinders: int, fires: list[int], numbering: str, bank_angle: float, firing: str) -> list[Throw]:
    """Rods of a V in their order along the crank."""
    if cylinders % 2:
        raise OutOfRange(f"a V has as many cylinders in one bank as in the other, got {cylinders}")
    half = cylinders // 2
    pairs = [(i, i + half) if numbering == "by_bank" else (2 * i, 2 * i + 1) for i in range(half)]
    degrees = round(math.degrees(bank_angle))

    def split(sign: int) -> int:
        apart = [(fires[second] - fires[first] - sign * degrees) % 360 for first, second in pairs]
        return sum(min(angle, 360 - angle) for angle in apart)

    sign = min((1, -1), key=split)
    row = []
    for first, second in pairs:
        later = fires[second]
        if firing == "uneven":
            # one pin for both: the second fires where its bank meets it, in the turn nearest to its place
            later = min(
                ((fires[first] + sign * degrees + turn) % 720 for turn in (0, 360)),
                key=lambda at: abs((at - fires[second] + 360) % 720 - 360),
            )
        row += [Throw(fires[first], -sign * bank_angle / 2), Throw(later, sign * bank_angle / 2)]
    return row


def _later(values: NDArray[float64], degrees: int) -> NDArray[float64]:
    """The same of a cylinder that fires so much later; a third of what it costs to roll."""
    import numpy as np

    if not degrees % 720:
        return values
    cut = -degrees % 720
    return np.concatenate((values[..., cut:], values[..., :cut]), axis=-1)


def main_bearing_forces(
    forces: CycleForces, centrifugal: NDArray[float64] | float, throws: Sequence[Throw]
) -> tuple[NDArray[float64], NDArray[float64]]:
    """Half of the load of each throw beside a main bearing, along and across the plane between the banks.

    Parameters
    ----------
    forces : CycleForces
        Of one cylinder.
    centrifugal : float or array
        Pull of what a throw's counterweights leave over, at each speed, [N]
    throws : sequence of Throw
        Beside the bearing, as of `throws_beside_mains`.

    Returns
    -------
    tuple of two arrays
        Load at each crank degree, away from the heads and sideways, [N]
    """
    import numpy as np

    cosine, sine = circle()
    half = np.asarray(centrifugal, dtype=float)[..., None] / 2
    along = forces.pin_axial / 2 - half * cosine
    across = forces.pin_lateral / 2 + half * sine
    down, sideways = np.zeros_like(along), np.zeros_like(along)
    for throw in throws:
        axial, lateral = _later(along, throw.fires), _later(across, throw.fires)
        upright, leaning = math.cos(throw.lean), math.sin(throw.lean)
        down += axial * upright + lateral * leaning
        sideways += lateral * upright - axial * leaning
    return down, sideways
