"""How much of a bolt's yield is used up, as it is tightened and in service."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.bolts.joint_load import working_bolt_load
from compat.engineering.bolts.threads import stress_area
from compat.engineering.bolts.tightening import yield_share_at_preload
from compat.engineering.formula import formula
from compat.engineering.numerics.ranges import within

__all__ = ["BoltUse", "bolt_utilisation"]


class BoltUse(NamedTuple):
    """Shares of yield strength used up in tightening and in service."""

    tightening: float
    service: float


@formula(
    takes={
        "preload": "kN",
        "load": "kN",
        "load_share": "number",
        "diameter": "mm",
        "pitch": "mm",
        "yield_strength": "MPa",
        "thread_friction": "number",
    },
    gives={"tightening": "%", "service": "%"},
    source="VDI 2230, part 1: equivalent stress while tightening and in service",
)
def bolt_utilisation(
    preload: float,
    load: float,
    load_share: float,
    diameter: float,
    pitch: float,
    yield_strength: float,
    thread_friction: float = 0.12,
) -> BoltUse:
    """Share of a bolt's yield strength used up while tightening and under its working load.

    Parameters
    ----------
    preload : float
        Greatest that tightening leaves, [N]
    load : float
        Pull on the bolt in service, [N]
    load_share : float
        Share of the load that the bolt feels, [-]
    diameter, pitch : float
        Of the thread, [m]
    yield_strength : float
        Of the bolt, [Pa]
    thread_friction : float, optional
        While tightening, [-]

    Returns
    -------
    BoltUse
        Equivalent stress over yield strength, both cases, [-]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the load is below zero, or share or friction out of range.

    Notes
    -----
    In service half of the tightening twist is taken to remain. A bolt tightened by angle is meant to reach
    yield while tightening; it must not in service.

    References
    ----------
    .. [1] VDI 2230, part 1.

    Examples
    --------
    >>> use = bolt_utilisation(44e3, 15e3, 0.2, 0.010, 0.0015, 940e6)
    >>> round(use.tightening, 2), round(use.service, 2)
    (0.91, 0.89)
    """
    within("thread_friction", thread_friction, 0.0, 0.5)
    tightening = yield_share_at_preload(preload, diameter, pitch, yield_strength, thread_friction)
    area = stress_area(diameter, pitch)
    tension = working_bolt_load(preload, load, load_share) / area / yield_strength
    twist_squared = tightening**2 - (preload / area / yield_strength) ** 2
    return BoltUse(tightening, math.sqrt(tension**2 + twist_squared / 4))
