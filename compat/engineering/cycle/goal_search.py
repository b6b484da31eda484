"""Search for the charge and the phasing that a brake output asks for."""

from __future__ import annotations

import math

from compat.engineering.cycle.closed_cycle import peak
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.cycle_passes import TOLERANCE, ClosedPeriod, Passes
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.engine_output import (
    LOWEST_MANIFOLD_PRESSURE,
    Balance,
    Shares,
    balance_at,
)
from compat.engineering.cycle.knock import knock_excess
from compat.engineering.cycle.knock_limit import least_retard
from compat.engineering.formula import GoalOutOfReach, OutOfRange
from compat.engineering.numerics.bracketing import bracketed_root

__all__ = ["meet_goal", "phase_at", "without_knock"]

_SEARCH_LIMIT = 5e6  # Pa
_HARD_KNOCK = 0.8  # so far above the limit at the best phasing, retard is seldom enough
_ROUGH = 0.02  # of pressure: no more does the last pass at a first guess move; a hundredth of it is left to go
_FINE = 1e-4  # the same of one that begins with a cycle that is near, and with about the charge
_SHARE = 0.3  # of the step that led to it: no more does the last pass of the others
_SURE = 1e-3  # of pressure: no more does the last pass move where the excess of knock is known to
_DOUBT = 0.02  # in the excess of knock that is known then
_CLOSE = 1e-9  # of manifold pressure: so near the charge is found
_NEXT = 3e-8  # of manifold pressure: so small a step leaves a settled cycle settled
_CLOSE_ANGLE = 1e-9  # rad: so near the phasing is found
_USUAL_SLOPES = -0.2, 1.6, -3.1
"""Where the search for a retarded burn starts: bmep, as a share, by phasing [1/rad]; the logarithm of the knock
integral by that of manifold pressure [-], and by phasing [1/rad]."""


class _Course:
    """A cycle on its way through a search, what it gives at each turn, and how far it had settled there."""

    def __init__(self, engine: Engine, pressure: float, ca50: float, near: ClosedPeriod | None = None) -> None:
        self.engine, self.pressure, self.ca50 = engine, pressure, ca50
        self.passes = Passes(engine, pressure, engine.exhaust_pressure(pressure), ca50, near)
        self.shares = Shares(engine)
        self.moved = math.inf

    def turn(self, pressure: float, ca50: float) -> None:
        """Go on at another manifold pressure or phasing."""
        self.pressure, self.ca50 = pressure, ca50
        self.passes.aim(pressure, self.engine.exhaust_pressure(pressure), ca50)

    def settle(self, off: float) -> None:
        """Let it settle until a pass moves pressure by no more than that, as a share."""
        self.moved = self.passes.within(off)
        self.read()

    def read(self) -> None:
        """Take what it gives as it stands."""
        passes = self.passes
        trace = passes.pressure
        self.peak, _ = peak(passes.angle, trace)
        at_closing, at_opening = passes.charge.pressure, float(trace[-1])
        self.means = self.shares.of(self.pressure, passes.work, self.peak, at_closing, at_opening)
        imep, pmep, fmep = self.means
        self.bmep = imep - pmep - fmep

    @property
    def rise(self) -> float:
        """About how much bmep rises with manifold pressure [-]."""
        return self.shares.rise(self.pressure, self.peak, self.means[0])

    def balance(self) -> Balance:
        """The cycle as it stands, refused where its gas leaves the tables."""
        self.passes.check()
        given = self.engine.at(self.pressure, self.ca50)
        return Balance(given, self.passes.period(), self.peak, *self.means)


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
    # bmep is very nearly straight in manifold pressure, so the secant is there in three or four steps; on the
    # way a cycle need settle no further than to a small share of the step that led to it
    here = min(max(guess, low), high)
    course = _Course(engine, here, ca50, near)
    course.settle(_ROUGH if near is None else _FINE)
    slope = course.rise
    for _ in range(12):
        if slope <= 0.0:
            break
        step = (bmep - course.bmep) / slope
        size = abs(step) / here
        settled = course.moved < TOLERANCE
        if settled and size < _CLOSE:
            return course.balance()
        following = min(max(here + step, low), high)
        if following == here and size >= _CLOSE:
            break
        before, unsettled = course.bmep, course.moved
        course.turn(following, ca50)
        if settled and size < _NEXT:
            course.read()
        else:
            course.settle(max(_SHARE * size, TOLERANCE))
        if size > unsettled:  # else what the cycle before had not settled drowns it
            slope = (course.bmep - before) / (following - here)
        here = following

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


def without_knock(engine: Engine, bmep: float, limit: float, near: Balance | None = None) -> Balance:
    """Cycle for a brake mean effective pressure at the best phasing, knock or not.

    Parameters
    ----------
    engine : Engine
        Engine, speed and surroundings.
    bmep : float
        Brake mean effective pressure [Pa].
    limit : float
        Highest manifold pressure, absolute [Pa].
    near : Balance, optional
        Where an engine runs that differs little: a first guess.

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to the limit does it.
    """
    if near is None:
        return _charge_for(engine, bmep, engine.ca50_best, limit, min(bmep / 10.0, limit))
    # what else is the same, the charge wanted falls as efficiency rises with the compression ratio
    guess = near.given.manifold_pressure
    guess *= _efficiency(near.given.compression_ratio) / _efficiency(engine.compression_ratio)
    return _charge_for(engine, bmep, engine.ca50_best, limit, guess, near.period)


def _efficiency(compression_ratio: float) -> float:
    """About as the brake efficiency moves with the compression ratio [-]."""
    return float(1.0 - compression_ratio**-0.45)


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


def _knocks_to_the_end(engine: Engine, free: Balance) -> bool:
    """Whether the latest phasing knocks with the charge that the best would do with.

    Then every phasing does at the same output: burning later asks for more charge, and of one charge the latest
    burn knocks least. Most goals that knock forbids are known by this one cycle, and before it has settled.
    """
    pressure = free.given.manifold_pressure
    latest = engine.at(pressure, engine.ca50_latest)
    try:
        passes = Passes(latest, pressure, latest.exhaust_pressure, latest.ca50, free.period)
        for off, doubt in ((_SURE, _DOUBT), (TOLERANCE, 0.0)):
            passes.within(off)
            passes.check()
            over = knock_excess(passes.period(), latest)
            if abs(over) > doubt:
                break
    except OutOfRange:
        return False
    return over > 0.0


def _knock_in_the_way(engine: Engine, where: str) -> GoalOutOfReach:
    return GoalOutOfReach(
        f"knock stands in the way: octane {engine.octane:g} at compression ratio "
        f"{engine.compression_ratio:.1f} knocks {where} even with half the charge burned as late as "
        f"{math.degrees(engine.ca50_latest):g} deg after top dead centre"
    )


def _retarded(engine: Engine, bmep: float, free: Balance, at_best: float) -> Balance | None:
    """Cycle of the earliest phasing without knock that gives a bmep; None when it knocks up to the latest.

    Charge and phasing are found together, by steps of Newton's kind whose slopes every step mends (Broyden).

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
    import numpy as np

    best, latest = engine.ca50_best, engine.ca50_latest
    pressure, ca50, over, short = free.given.manifold_pressure, best, at_best, 1.0 - free.bmep / bmep
    course: _Course | None = None
    lost = np.zeros_like(free.period.pressure)
    rise = Shares(engine).rise(pressure, free.peak_pressure, free.imep)
    work_per_log = rise * pressure / bmep
    work_per_angle, over_per_log, over_per_angle = _USUAL_SLOPES
    for _ in range(16):
        # slopes by the logarithm of manifold pressure and by phasing: of bmep as a share, and of the excess
        whole = work_per_log * over_per_angle - work_per_angle * over_per_log
        if work_per_log <= 0.0 or whole >= 0.0:
            break
        later = -(work_per_log * over + over_per_log * short) / whole
        if abs(later) < _CLOSE_ANGLE and abs(short) < _CLOSE * work_per_log:
            if course is None:
                return free
            if course.moved < TOLERANCE:
                return course.balance()
        if ca50 == latest and over + over_per_log * (short / work_per_log) > abs(short / work_per_log):
            return None
        following = ca50 + later if ca50 + later > best else 0.5 * (best + ca50)
        later = min(following, latest) - ca50
        more = (short - work_per_angle * later) / work_per_log
        if abs(more) > 1.0:
            break
        ca50 += later
        before = over, short
        pressure *= math.exp(more)
        if course is None:
            course = _Course(engine, pressure, ca50, free.period)
        else:
            course.turn(pressure, ca50)
        course.settle(max(_SHARE * (abs(more) + abs(later)), TOLERANCE))
        period, short = course.passes.period(), 1.0 - course.bmep / bmep
        over = knock_excess(period, engine.at(pressure, ca50), lost)
        size = more * more + later * later
        if size > 0.0:
            off = (before[1] - short - work_per_log * more - work_per_angle * later) / size
            work_per_log, work_per_angle = work_per_log + off * more, work_per_angle + off * later
            off = (over - before[0] - over_per_log * more - over_per_angle * later) / size
            over_per_log, over_per_angle = over_per_log + off * more, over_per_angle + off * later
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
    if at_best <= _HARD_KNOCK or not _knocks_to_the_end(engine, free):
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
