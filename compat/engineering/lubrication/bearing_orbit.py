"""Path of a journal in its bearing over the cycle, under a load that turns and pulses.

The mobility method: the film lets the journal move along the load as fast as it can be squeezed out, while
the turning surfaces carry it round. A peak that lasts a few degrees has no time to press the film as thin
as a steady load would.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from compat.engineering.formula import OutOfRange
from compat.engineering.lubrication.plain_bearing import FARTHEST

if TYPE_CHECKING:
    from numpy import complex128, float64
    from numpy.typing import ArrayLike, NDArray

    Number = TypeVar("Number", float64, complex128)

__all__ = ["Orbit", "journal_orbit"]

SEGMENTS = 18
"""Parts of the cycle that are followed side by side, each from where its forerunner ended the round before."""

ROUNDS = 8 * SEGMENTS
SETTLED = 0.003
"""Step from one part of the cycle to the next at which the path counts as closed, of the film there [-]."""


class Orbit(NamedTuple):
    """Closed path of a journal at each step of the cycle; cases down, steps across."""

    place: NDArray[complex128]
    """Eccentricity ratio along the first axis, and along the second as imaginary part [-]"""
    film: NDArray[float64]
    """Least film over half the clearance [-]"""


def _softness(round_: NDArray[float64], sixth: NDArray[float64]) -> NDArray[float64]:
    """How much faster a bearing of finite width gives way than the short one, as under a steady load.

    `long_bearing_number` over `short_bearing_number` at the square `round_` of the eccentricity, times the
    square of width over diameter, of which `sixth` is a sixth part, on top of one.
    """
    import numpy as np

    one, two, pi, over, under = _numbers()
    root = round_ * over
    root += pi
    root /= pi - round_ * under
    np.sqrt(root, out=root)
    root *= sixth
    root *= round_ + two
    root /= one - round_
    root += one
    return root


@cache
def _numbers() -> list[NDArray[float64]]:
    """1, 2 and pi^2, and by how much 16 lies over and 4 under it; numpy takes them so in half the time."""
    import numpy as np

    pi = math.pi**2
    return [np.array(number) for number in (1.0, 2.0, pi, 16 - pi, pi - 4)]


def journal_orbit(
    load: ArrayLike,
    turning: ArrayLike,
    speed: ArrayLike,
    viscosity: ArrayLike,
    diameter: float,
    width: ArrayLike,
    clearance: float,
    lands: ArrayLike = 1.0,
) -> Orbit:
    """Closed path of the journal's centre under a load that repeats.

    Parameters
    ----------
    load : array of complex
        On the journal at equal steps over the cycle, its parts on two fixed axes, the second a quarter turn on
        the way of turning; a row for each case, as many steps as `SEGMENTS` divide, [N]
    turning : array of float
        Mean of the angular speeds of journal and shell at each step, [rad/s]
    speed, viscosity : array of float
        Time in which the steps are gone through, as the crank's speed over two turns [rad/s]; dynamic viscosity
        [Pa*s], of each case
    diameter, clearance : float
        Of the journal, and on diameter, [m]
    width : array of float
        Of the bearing along the journal, or of each land beside a groove, at each step or one for all, [m]
    lands : array of float, optional
        How many of them share the load: one, or two beside a groove, [-]

    Returns
    -------
    Orbit
        Place of the journal and film at each step.

    Raises
    ------
    OutOfRange
        When the path does not close within eight cycles.

    Notes
    -----
    Each step turns the journal with its surfaces, then lets the load of that step squeeze it, which the short
    bearing does in closed form: along the load the room to the shell, to the power of -3/2, grows straight with
    time, and the distance across shrinks by the power 4/pi of that room. The softness of a finite width is held
    over a step. Steps of 4 deg keep the least film within 3 % of the limit of fine ones.

    References
    ----------
    .. [1] Booker, Dynamically Loaded Journal Bearings: Mobility Method of Solution, Trans. ASME D 87 (1965)
       537; short-bearing mobility in closed form, from memory.

    Examples
    --------
    >>> import numpy as np
    >>> steady = journal_orbit(np.full((1, 180), 4e3), np.full((1, 180), 200.0), [400.0], [0.006],
    ...                        0.058, 0.018, 0.044e-3)
    >>> round(float(abs(steady.place[0, 0])), 2)
    0.8
    """
    import numpy as np

    force = np.atleast_2d(np.asarray(load, dtype=complex))
    cases, steps = force.shape
    each = steps // SEGMENTS
    time = (4 * math.pi / steps / np.asarray(speed, dtype=float))[:, None]
    wide = np.asarray(width, dtype=float)
    square = (wide / diameter) ** 2
    size = np.abs(force)
    direction = np.where(size > 0, force, 1.0) / np.where(size > 0, size, 1.0)
    squeeze = (clearance / diameter) ** 2 / (wide * diameter * np.asarray(viscosity, dtype=float)[:, None])
    pressed = 1.5 * squeeze * size / np.asarray(lands, dtype=float) / (math.pi * square) * time
    turned = np.asarray(turning, dtype=float) * time
    carried = np.exp(0.5j * (turned + np.roll(turned, 1, axis=1)))
    # the journal is followed on axes that go with the load, so each step also turns from one load to the next
    along_load: NDArray[complex128] = np.conj(direction) * np.roll(direction, 1, axis=1) * carried

    def abreast(values: NDArray[Number]) -> NDArray[Number]:
        whole = np.broadcast_to(values, (cases, steps)).reshape(cases, SEGMENTS, each)
        return np.ascontiguousarray(whole.transpose(2, 0, 1).reshape(each, cases * SEGMENTS))

    def again(values: NDArray[Number]) -> NDArray[Number]:
        return values.reshape(each, cases, SEGMENTS).transpose(1, 2, 0).reshape(cases, steps)

    turn, pressed, sixth = abreast(along_load), abreast(pressed), abreast(square / 6)
    come, gone = np.empty_like(turn), np.empty_like(turn)
    place = np.full(cases * SEGMENTS, 0.8 + 0.0j)
    forerunner = np.roll(np.arange(cases * SEGMENTS).reshape(cases, SEGMENTS), 1, axis=1).reshape(-1)
    one, *_ = _numbers()
    farthest, closing, crossing = map(np.array, (FARTHEST**2, -2 / 3, -8 / 3 / math.pi))
    steps_of = list(zip(turn, pressed, sixth, come, gone, strict=True))
    for _ in range(ROUNDS):
        start = place
        for turned_by, pressed_by, softer, before, after in steps_of:
            np.multiply(place, turned_by, out=before)
            along, across = before.real, before.imag
            room = one - along
            away = along * along
            away += across * across
            log = _softness(np.minimum(away, farthest, out=away), softer)
            log *= pressed_by
            log *= room
            log *= np.sqrt(room)
            np.log1p(log, out=log)
            room *= np.exp(log * closing)
            np.subtract(one, room, out=after.real)
            log *= crossing
            np.multiply(across, np.exp(log, out=log), out=after.imag)
            place = after
        place = place.take(forerunner)
        if (np.abs(place - start) < SETTLED * (1 - np.abs(place))).all():
            break
    else:
        raise OutOfRange(
            "the journal finds no closed path within eight cycles: the film collapses under this load"
        )
    # between turning and squeezing the journal stands half way
    film = 1 - (np.abs(come) + np.abs(gone)) / 2
    middle: NDArray[complex128] = again((come + gone) / 2) * direction
    return Orbit(middle, again(film))
