"""How far a charge is from knock, in degrees of phasing, and what moves that."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.cycle_passes import ClosedPeriod
from compat.engineering.cycle.knock import PRESSURE_EXPONENT, knock_excess, octane_slope
from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["KnockPhase", "cost_curve", "knock_margin", "knock_phase"]

_LATER = math.radians(3.0)
_WARMER = 5.0
_LEAST_SLOPE = 0.5
"""By how much the log of the integral falls with phasing at the least [1/rad]; engines lie near 3 to 5."""
_SMALL_RETARD = math.radians(0.2)


class KnockPhase(NamedTuple):
    """Where a charge just does not knock, and how that moves; SI units."""

    phase: float
    per_log: float
    per_ratio: float
    per_kelvin: float
    per_octane: float
    cost_curve: float


def cost_curve(boost_cost: float, retard: float) -> float:
    """What the square of the retard costs in manifold pressure [Pa], nothing where there is none.

    >>> round(cost_curve(2e3, 0.1), -3)
    200000.0
    """
    # what the search leaves over is not blown up where the retard goes to nothing
    return boost_cost * retard**2 / (retard**4 + _SMALL_RETARD**4)


def knock_phase(
    given: CycleInput, period: ClosedPeriod, excess: float, best: float, boost_cost: float
) -> KnockPhase:
    """Phasing at which a charge just does not knock, after the best, and its slopes.

    Parameters
    ----------
    given : CycleInput
        The cycle at hand, without knock.
    period : ClosedPeriod
        Its closed period.
    excess : float
        Logarithm of its knock integral over the limit [-].
    best : float
        Phasing at which torque is best [rad].
    boost_cost : float
        Manifold pressure that running later than that costs [Pa].

    Returns
    -------
    KnockPhase
        The phasing after the best [rad], below zero where the charge would bear more; by how much it moves for
        one unit in the logarithm of the knock integral [rad], of compression ratio [rad], of charge temperature
        [rad/K] and of octane number [rad], the charge's mass held; and what the square of the retard costs in
        manifold pressure [Pa].

    Notes
    -----
    The log of the integral is taken as straight in phasing, which holds over the few degrees that doubt and
    tolerances make. Burning later wants more charge for the same work, and that charge knocks sooner.
    """

    import numpy as np

    lost = np.zeros_like(period.pressure)

    def excess_of(**changes: float) -> float:
        other = replace(given, **changes)
        return knock_excess(integrate(other, checked=True, near=period), other, lost)

    retard = given.ca50 - best
    falls = (excess - excess_of(ca50=given.ca50 + _LATER)) / _LATER
    curve = cost_curve(boost_cost, retard)
    falls -= PRESSURE_EXPONENT * 2.0 * curve * retard / given.manifold_pressure
    per_log = 1.0 / max(falls, _LEAST_SLOPE)
    higher, warmer = 1.02 * given.compression_ratio, given.charge_temperature + _WARMER
    by_ratio = excess_of(compression_ratio=higher) - excess
    same_charge = given.manifold_pressure * warmer / given.charge_temperature
    by_heat = excess_of(charge_temperature=warmer, manifold_pressure=same_charge) - excess
    return KnockPhase(
        phase=retard + per_log * excess,
        per_log=per_log,
        per_ratio=per_log * by_ratio / (higher - given.compression_ratio),
        per_kelvin=per_log * by_heat / _WARMER,
        per_octane=per_log * octane_slope(given.octane_in_engine),
        cost_curve=curve,
    )


@formula(
    takes={"knock_phase": "deg", "phase_per_log": "deg"},
    gives="%",
    source="Livengood & Wu 1955: knock where the integral of dt over the delay reaches one",
)
def knock_margin(knock_phase: float, phase_per_log: float) -> float:
    """Share of the knock integral that is left to its limit, from the room in phasing.

    Parameters
    ----------
    knock_phase : float
        Phasing after the best at which the charge just does not knock [rad]; below zero there is room.
    phase_per_log : float
        By how much that moves where the knock integral is e times as high [rad].

    Returns
    -------
    float
        Margin [-], 0 where knock already holds the ignition back.

    Raises
    ------
    OutOfRange
        When `phase_per_log` is not above zero, or the phasing lies beyond a turn.

    References
    ----------
    1. J. C. Livengood, P. C. Wu, 5th Symposium (International) on Combustion (1955) 347.

    Examples
    --------
    >>> round(knock_margin(math.radians(-5.0), math.radians(14.0)), 3)
    0.3
    >>> knock_margin(math.radians(4.0), math.radians(14.0))
    0.0
    """
    positive(phase_per_log=phase_per_log)
    within("knock_phase", knock_phase, -1e3, 2.0 * math.pi, "deg", math.pi / 180.0)
    return 1.0 - math.exp(min(knock_phase, 0.0) / phase_per_log)
