"""Proof that a stated torque gives the preload assumed, and how much of the bolt's yield is used up."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.bolts.joint_load import working_bolt_load
from compat.engineering.bolts.preload import FRICTIONS, lubricant_friction
from compat.engineering.bolts.threads import stress_area
from compat.engineering.bolts.tightening import preload_from_torque, yield_share_at_preload
from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["BoltUse", "TorqueProof", "bolt_utilisation", "torque_proof"]


class TorqueProof(NamedTuple):
    """Preload that a stated torque reaches, against the one assumed."""

    preload: float
    ratio: float
    torque_needed: float


class BoltUse(NamedTuple):
    """Shares of yield strength used up in tightening and in service."""

    tightening: float
    service: float


@formula(
    takes={
        "torque": "N*m",
        "assumed_preload": "kN",
        "diameter": "mm",
        "pitch": "mm",
        "friction_diameter": "mm",
        "lubricant": tuple(FRICTIONS),
    },
    gives={"preload": "kN", "ratio": "number", "torque_needed": "N*m"},
    source="VDI 2230, part 1: torque, friction and preload",
    scatter=0.2,
    scatter_source="VDI 2230 friction class B: 0.08 to 0.16 whatever the can says",
)
def torque_proof(
    torque: float,
    assumed_preload: float,
    diameter: float,
    pitch: float,
    friction_diameter: float,
    lubricant: str,
) -> TorqueProof:
    """Preload that the stated torque gives with a lubricant, over the preload that a build assumes.

    Parameters
    ----------
    torque : float
        Stated for the fastener, [N*m]
    assumed_preload : float
        That the clamp figures rest on, [N]
    diameter, pitch : float
        Of the thread, [m]
    friction_diameter : float
        Mean diameter of the friction under head or nut, [m]
    lubricant : str
        As for `lubricant_friction`.

    Returns
    -------
    TorqueProof
        Preload reached [N], its ratio to the assumed one [-], and the torque that would reach it [N*m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the word is unknown.

    Notes
    -----
    The spread of tightening by torque comes on top, see `preload_band`. The maker's card is followed; where
    this differs by more than that spread, ask which of torque, lubricant and preload is wrong.

    References
    ----------
    .. [1] VDI 2230, part 1.

    Examples
    --------
    >>> proof = torque_proof(75.0, 44e3, 0.010, 0.0015, 0.0155, "oil")
    >>> round(proof.preload), round(proof.ratio, 2), round(proof.torque_needed)
    (38840, 0.88, 85)
    """
    positive(assumed_preload=assumed_preload)
    friction = lubricant_friction(lubricant)
    preload = preload_from_torque(torque, diameter, pitch, friction_diameter, friction, friction)
    ratio = preload / assumed_preload
    return TorqueProof(preload, ratio, torque / ratio)


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
