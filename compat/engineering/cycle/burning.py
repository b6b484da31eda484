"""How a charge burns over crank angle: Wiebe's function."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["COMBUSTION_EFFICIENCY", "burn_angles", "share_of_burn", "wiebe"]

COMBUSTION_EFFICIENCY = 0.98
"""Share of the heat of combustion set free in the cylinder; the rest leaves unburned from crevices
(Heywood, section 3.5: 0.95 to 0.98 lean of stoichiometric)."""

WIEBE_EFFICIENCY = math.log(1000.0)  # a: 99.9 % burned at the end
WIEBE_FORM = 2.0  # m


def share_of_burn(burned: float) -> float:
    """Where in the burn a burned fraction is reached, from its start at 0 to its end at 1.

    >>> round(share_of_burn(0.999), 9)
    1.0
    """
    return float((-math.log(1.0 - burned) / WIEBE_EFFICIENCY) ** (1.0 / (WIEBE_FORM + 1.0)))


_AT_10, _AT_50, _AT_90 = (share_of_burn(x) for x in (0.1, 0.5, 0.9))


def burn_angles(ca50: float, ten_to_ninety: float) -> tuple[float, float]:
    """Start and whole length of a Wiebe burn with the given middle and duration [rad].

    >>> start, length = burn_angles(0.15, 0.45)
    >>> round(start + length * share_of_burn(0.5), 12)
    0.15
    """
    length = ten_to_ninety / (_AT_90 - _AT_10)
    return ca50 - _AT_50 * length, length


def wiebe(angle: Floats, start: float, length: float) -> Floats:
    """Burned fraction by crank angle, 1 - exp(-a ((angle - start)/length)^(m+1)), running on past the end.

    Angle, start and length in one unit of angle; nothing is burned before the start.

    >>> import numpy
    >>> wiebe(numpy.array([-10.0, 50.0]), 0.0, 50.0).round(4).tolist()  # at its end, 1 - exp(-a)
    [0.0, 0.999]
    """
    import numpy as np

    share = np.maximum((angle - start) / length, 0.0)
    burned: Floats = -np.expm1(-WIEBE_EFFICIENCY * share ** (WIEBE_FORM + 1.0))
    return burned
