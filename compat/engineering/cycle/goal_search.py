"""Search for the charge and the phasing that a brake output asks for."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.engine_output import LOWEST_MANIFOLD_PRESSURE, Balance, balance_at
from compat.engineering.cycle.knock import PRESSURE_EXPONENT, knock_excess
from compat.engineering.cycle.knock_limit import least_retard
from compat.engineering.formula import GoalOutOfReach, OutOfRange
from compat.engineering.numerics.bracketing import bracketed_root

__all__ = ["meet_goal", "phase_at", "pressure_without_knock"]

_SEARCH_LIMIT = 5e6  # Pa
_HARD_KNOCK = 1.0  # so far above the limit at the best phasing, retard is seldom enough
_USUAL_SLOPE = 11.0  # of bmep over manifold pressure, where the search starts


class _Charge(NamedTuple):
    """A charge that gives what is asked: manifold pressure [Pa], the cycle beside it, d bmep/d pressure."""

    pressure: float
    balance: Balance
    slope: float


def _charge_for(
    engine: Engine, bmep: float, ca50: float, limit: float, guess: float, slope: float = _USUAL_SLOPE
) -> _Charge:
    """Manifold pressure at which the engine gives a brake mean effective pressure, at a held phasing.

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to the limit does it, or even the least one gives more.
    """
    low, high = LOWEST_MANIFOLD_PRESSURE, limit
    # bmep is very nearly straight in manifold pressure, so the secant is there in two or three cycles. Once
    # its step is below a millionth, taking it leaves an error far smaller still.
    here = min(max(guess, low), high)
    balance = balance_at(engine, here, ca50)
    for _ in range(12):
        step = (bmep - balance.bmep) / slope
        if abs(step) < 1e-6 * here and here + step <= limit:
            return _Charge(here + step, balance, slope)
        following = min(max(here + step, low), high)
        if following == here:
            break
        after = balance_at(engine, following, ca50)
        slope = (after.bmep - balance.bmep) / (following - here)
        here, balance = following, after
        if slope <= 0.0:
            break

    cycles: dict[float, Balance] = {}

    def short(pressure: float) -> float:
        cycles[pressure] = balance_at(engine, pressure, ca50)
        return cycles[pressure].bmep - bmep

    at_low, at_high = short(low), short(high)
    if at_high < 0.0:
        raise GoalOutOfReach(
            f"manifold pressure stands in the way: at the highest allowed, {high / 1e3:.0f} kPa absolute, "
            f"the engine gives {max(engine.power_of(bmep + at_high), 0.0) / 1e3:.0f} kW of the "
            f"{engine.power_of(bmep) / 1e3:.0f} kW asked for"
        )
    if at_low > 0.0:
        raise GoalOutOfReach(
            f"{engine.power_of(bmep) / 1e3:.2f} kW is less than the engine gives at {low / 1e3:.0f} kPa "
            f"manifold pressure ({engine.power_of(bmep + at_low) / 1e3:.2f} kW)"
        )
    root = bracketed_root(short, low, high, at_low, at_high, 1e-8 * low)
    return _Charge(root, cycles[root], _USUAL_SLOPE)


def pressure_without_knock(engine: Engine, bmep: float, limit: float) -> float:
    """Manifold pressure for a brake mean effective pressure at the best phasing, knock or not [Pa].

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to the limit does it.
    """
    return _charge_for(engine, bmep, engine.ca50_best, limit, min(bmep / 10.0, limit)).pressure


def phase_at(engine: Engine, manifold_pressure: float) -> float:
    """Earliest phasing without knock at a manifold pressure [rad].

    Raises
    ------
    GoalOutOfReach
        When it knocks up to the latest phasing.
    """

    def excess(ca50: float) -> float:
        given = engine.at(manifold_pressure, ca50)
        return knock_excess(integrate(given, checked=True), given)

    angle = least_retard(excess, engine.ca50_best, engine.ca50_latest)
    if angle is None:
        raise _knock_in_the_way(engine, f"at {manifold_pressure / 1e3:.0f} kPa manifold pressure")
    return angle


def _knocks_to_the_end(engine: Engine, pressure: float) -> bool:
    """Whether the latest phasing knocks with the charge that the best would do with.

    Then every phasing does at the same output: burning later asks for more charge, and of one charge the latest
    burn knocks least. Most goals that knock forbids are known by this one cycle.
    """
    latest = engine.at(pressure, engine.ca50_latest)
    try:
        return knock_excess(integrate(latest, checked=True), latest) > 0.0
    except OutOfRange:
        return False


def _knock_in_the_way(engine: Engine, where: str) -> GoalOutOfReach:
    return GoalOutOfReach(
        f"knock stands in the way: octane {engine.octane:g} at compression ratio "
        f"{engine.compression_ratio:.1f} knocks {where} even with half the charge burned as late as "
        f"{math.degrees(engine.ca50_latest):g} deg after top dead centre"
    )


def meet_goal(engine: Engine, bmep: float, limit: float) -> tuple[float, float, float]:
    """Manifold pressure and phasing for a brake mean effective pressure, without knock.

    Returns
    -------
    tuple of float
        Manifold pressure [Pa], phasing [rad], and the manifold pressure that would do without knock [Pa].

    Raises
    ------
    GoalOutOfReach
        Saying what stands in the way.
    """
    best = engine.ca50_best
    free = _charge_for(engine, bmep, best, limit, min(max(bmep / 10.0, 30e3), limit))
    found: list[tuple[float, _Charge]] = [(best, free)]

    def charge_at(ca50: float) -> _Charge:
        (last, charge), (before, other) = found[-1], found[-min(2, len(found))]
        guess = charge.pressure
        if last != before:
            guess += (ca50 - last) * (charge.pressure - other.pressure) / (last - before)
        # The search may look beyond the limit on its way; only where it ends must lie below.
        return _charge_for(engine, bmep, ca50, _SEARCH_LIMIT, guess, charge.slope)

    def excess(ca50: float) -> float:
        charge = free if ca50 == best else charge_at(ca50)
        if ca50 != best:
            found.append((ca50, charge))
        given = charge.balance.given
        # The cycle at hand lies within a millionth of the charge; the delay goes with pressure to the 1.7.
        near = knock_excess(charge.balance.period, given)
        return near + PRESSURE_EXPONENT * math.log(charge.pressure / given.manifold_pressure)

    at_best = excess(best)
    hopeless = at_best > _HARD_KNOCK and _knocks_to_the_end(engine, free.pressure)
    angle = None if hopeless else least_retard(excess, best, engine.ca50_latest, at_best)
    if angle is None:
        raise _knock_in_the_way(engine, f"at {engine.power_of(bmep) / 1e3:.0f} kW")
    held = next(charge for at, charge in reversed(found) if at == angle)
    if held.pressure > limit:
        raise GoalOutOfReach(
            f"knock stands in the way: octane {engine.octane:g} at compression ratio "
            f"{engine.compression_ratio:.1f} asks for half the charge burned at "
            f"{math.degrees(angle):.1f} deg after top dead centre, and then for "
            f"{held.pressure / 1e3:.0f} kPa of manifold pressure where "
            f"{limit / 1e3:.0f} kPa is the highest allowed"
        )
    return held.pressure, angle, free.pressure
