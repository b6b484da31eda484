"""Search for the charge and the phasing that a brake output asks for."""

from __future__ import annotations

import math
from collections.abc import Sequence

from compat.engineering.cycle.cycle_integration import ClosedPeriod, integrate
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.engine_output import (
    LOWEST_MANIFOLD_PRESSURE,
    Balance,
    balance_at,
    rise_with_charge,
)
from compat.engineering.cycle.knock import PRESSURE_EXPONENT, knock_excess
from compat.engineering.cycle.knock_limit import least_retard
from compat.engineering.formula import GoalOutOfReach, OutOfRange
from compat.engineering.numerics.bracketing import bracketed_root

__all__ = ["meet_goal", "phase_at", "without_knock"]

_SEARCH_LIMIT = 5e6  # Pa
_HARD_KNOCK = 1.0  # so far above the limit at the best phasing, retard is seldom enough
_CLOSE = 1e-7  # of manifold pressure: so near the charge is found
_CLOSE_ANGLE = 1e-6  # rad: so near the phasing is found
_USUAL_FALL = 4.0  # of the log of the knock integral with phasing, 1/rad, where the search for it starts
_STRIDES = math.radians(0.5), math.radians(8.0)


def _charge_for(
    engine: Engine, bmep: float, ca50: float, limit: float, guess: float, near: ClosedPeriod | None = None
) -> Balance:
    """Cycle in which the engine gives a brake mean effective pressure, at a held phasing.

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to the limit does it, or even the least one gives more.
    """
    low, high = LOWEST_MANIFOLD_PRESSURE, limit
    # bmep is very nearly straight in manifold pressure, so the secant is there in three or four cycles
    here = min(max(guess, low), high)
    balance = balance_at(engine, here, ca50, near)
    slope = rise_with_charge(engine, balance)
    for _ in range(12):
        if slope <= 0.0:
            break
        step = (bmep - balance.bmep) / slope
        if abs(step) < _CLOSE * here:
            return balance
        following = min(max(here + step, low), high)
        if following == here:
            break
        after = balance_at(engine, following, ca50, balance.period)
        slope = (after.bmep - balance.bmep) / (following - here)
        here, balance = following, after

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
    return cycles[bracketed_root(short, low, high, at_low, at_high, 1e-8 * low)]


def without_knock(engine: Engine, bmep: float, limit: float) -> Balance:
    """Cycle for a brake mean effective pressure at the best phasing, knock or not.

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to the limit does it.
    """
    return _charge_for(engine, bmep, engine.ca50_best, limit, min(bmep / 10.0, limit))


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


def _through(points: Sequence[tuple[float, float]], at: float) -> float:
    """Value at a place of the polynomial through points of different places (Lagrange).

    >>> _through([(0.0, 1.0), (1.0, 2.0), (2.0, 5.0)], 3.0)
    10.0
    """
    value = 0.0
    for x, y in points:
        for other, _ in points:
            if other != x:
                y *= (at - other) / (x - other)
        value += y
    return value


def _retarded(engine: Engine, bmep: float, free: Balance, at_best: float) -> Balance | None:
    """Cycle of the earliest phasing without knock that gives a bmep; None when it knocks up to the latest.

    Charge and phasing are found together: what each cycle lacks in bmep says which charge would do at its
    phasing, and how far that knocks; the curves through the last of these say where to look next.

    Parameters
    ----------
    engine : Engine
        Engine, speed and surroundings.
    bmep : float
        What it must give [Pa].
    free : Balance
        Cycle that gives it at the best phasing, and knocks.
    at_best : float
        Logarithm of its knock integral over the limit [-].

    Raises
    ------
    OutOfRange
        When the search leaves the model, or does not settle.
    """
    best, latest = engine.ca50_best, engine.ca50_latest
    charges = [(best, free.given.manifold_pressure)]
    excesses = [(at_best, best)]
    early, late = best, math.inf  # knocks, does not
    falls = _USUAL_FALL
    ca50, pressure, near = best, charges[0][1], free.period
    following = best + min(max(at_best / _USUAL_FALL, _STRIDES[0]), _STRIDES[1])
    for _ in range(24):
        moved, ca50 = following != ca50, min(following, latest)
        if moved:
            pressure = _through(charges[-3:], ca50)
        balance = balance_at(engine, min(max(pressure, LOWEST_MANIFOLD_PRESSURE), _SEARCH_LIMIT), ca50, near)
        near, pressure = balance.period, balance.given.manifold_pressure
        wanted = pressure + (bmep - balance.bmep) / rise_with_charge(engine, balance)
        if not LOWEST_MANIFOLD_PRESSURE < wanted < _SEARCH_LIMIT:
            break
        off = math.log(wanted / pressure)
        excess = knock_excess(balance.period, balance.given) + PRESSURE_EXPONENT * off
        if moved:
            falls = (excesses[-1][0] - excess) / (ca50 - excesses[-1][1])
        if falls <= 0.0:
            break
        if abs(off) < _CLOSE and abs(excess) < _CLOSE_ANGLE * falls:
            return balance
        if moved:
            charges.append((ca50, wanted))
            excesses.append((excess, ca50))
        else:
            charges[-1], excesses[-1] = (ca50, wanted), (excess, ca50)
        if excess > 0.0:
            early = ca50
            if ca50 == latest:
                if excess > abs(off):
                    return None
                pressure = wanted  # in doubt: the charge there is to be known better
                continue
        else:
            late = ca50
        following = _through(excesses[-3:], 0.0)
        most = min(late, ca50 + _STRIDES[1])
        if not early < following <= most:
            following = most if late == math.inf else 0.5 * (early + late)
    raise OutOfRange("the search for charge and phasing does not settle")


def _retarded_by_steps(engine: Engine, bmep: float, free: Balance, at_best: float) -> Balance | None:
    """The same, phasing by phasing, each with its own search for the charge; slower, and hard to upset."""
    found: list[tuple[float, Balance]] = [(engine.ca50_best, free)]

    def excess(ca50: float) -> float:
        (last, charge), (before, other) = found[-1], found[-min(2, len(found))]
        guess = charge.given.manifold_pressure
        if last != before:
            guess += (ca50 - last) * (guess - other.given.manifold_pressure) / (last - before)
        # The search may look beyond the limit on its way; only where it ends must lie below.
        balance = _charge_for(engine, bmep, ca50, _SEARCH_LIMIT, guess, charge.period)
        found.append((ca50, balance))
        return knock_excess(balance.period, balance.given)

    angle = least_retard(excess, engine.ca50_best, engine.ca50_latest, at_best)
    return None if angle is None else next(balance for at, balance in reversed(found) if at == angle)


def meet_goal(engine: Engine, bmep: float, limit: float) -> tuple[Balance, float]:
    """Cycle that gives a brake mean effective pressure without knock.

    Returns
    -------
    tuple
        The cycle, and the manifold pressure that would do without knock [Pa].

    Raises
    ------
    GoalOutOfReach
        Saying what stands in the way.
    """
    best = engine.ca50_best
    free = _charge_for(engine, bmep, best, limit, min(max(bmep / 10.0, 30e3), limit))
    pressure = free.given.manifold_pressure
    at_best = knock_excess(free.period, free.given)
    if at_best <= 0.0:
        return free, pressure
    held = None
    if at_best <= _HARD_KNOCK or not _knocks_to_the_end(engine, pressure):
        try:
            held = _retarded(engine, bmep, free, at_best)
        except OutOfRange:
            held = _retarded_by_steps(engine, bmep, free, at_best)
    if held is None:
        raise _knock_in_the_way(engine, f"at {engine.power_of(bmep) / 1e3:.0f} kW")
    if held.given.manifold_pressure > limit:
        raise GoalOutOfReach(
            f"knock stands in the way: octane {engine.octane:g} at compression ratio "
            f"{engine.compression_ratio:.1f} asks for half the charge burned at "
            f"{math.degrees(held.given.ca50):.1f} deg after top dead centre, and then for "
            f"{held.given.manifold_pressure / 1e3:.0f} kPa of manifold pressure where "
            f"{limit / 1e3:.0f} kPa is the highest allowed"
        )
    return held, pressure
