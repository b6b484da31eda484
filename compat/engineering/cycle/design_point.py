"""What strength is measured by: the goal's charge burned at the best timing, and what single cycles add."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from compat.engineering.cycle.cycle_directions import DESIGN_FALLS, DESIGN_RISES
from compat.engineering.cycle.engine import Engine, check_engine
from compat.engineering.cycle.engine_output import Balance
from compat.engineering.cycle.goal_search import without_knock
from compat.engineering.cycle.knock import knock_excess
from compat.engineering.formula import GoalOutOfReach, formula, positive

__all__ = ["DesignPoint", "design_point"]

QUICK_CYCLES = 0.12
"""By how much the peaks of quick cycles stand above that of the mean cycle: twice a spread of 6 per cent."""

LIGHT_KNOCK = 5e5
"""Amplitude of the pressure waves of knock that is heard and lived with [Pa]."""

_HIGHEST_PRESSURE = 1000e3


class DesignPoint(NamedTuple):
    """Pressures that parts are built for at one point of the goal; SI units."""

    quick_peak: float
    light_knock: float
    best_peak: float
    manifold_pressure: float
    exhaust_pressure: float
    ca50: float
    fmep: float
    fuel_flow: float


def _mean_pressure(power: float, engine: Engine) -> float:
    """Brake mean effective pressure of a power [Pa]; refused where that or an argument is outside the model."""
    positive(power=power)
    check_engine(engine)
    bmep = power * 4.0 * math.pi / (engine.displacement * engine.speed)
    if bmep > 10e6:
        raise GoalOutOfReach(
            f"{power / 1e3:.0f} kW is a brake mean effective pressure of {bmep / 1e5:.0f} bar; no "
            "spark-ignition engine reaches 100 bar"
        )
    return bmep


@lru_cache(maxsize=16)
def _burned_best(power: float, engine: Engine) -> Balance:
    """Cycle that gives a power at the best timing; kept, as what lies beside it is found from it."""
    return without_knock(engine, _mean_pressure(power, engine), _HIGHEST_PRESSURE)


def _point(engine: Engine, balance: Balance) -> DesignPoint:
    best = balance.peak_pressure
    over = knock_excess(balance.period, balance.given)
    light = LIGHT_KNOCK * min(max(over, 0.0), 1.0)
    return DesignPoint(
        quick_peak=(1.0 + QUICK_CYCLES) * best,
        light_knock=light,
        best_peak=best,
        manifold_pressure=balance.given.manifold_pressure,
        exhaust_pressure=balance.given.exhaust_pressure,
        ca50=engine.ca50_best,
        fmep=balance.fmep,
        fuel_flow=engine.cylinders * engine.speed / (4.0 * math.pi) * balance.period.charge.fuel,
    )


def _design_point_beside(power: float, engine: Engine, argument: str, step: float) -> DesignPoint:
    """The same with one argument of the engine moved a little: the search begins where it ended unmoved."""
    middle = _burned_best(power, engine)
    moved = replace(engine, **{argument: getattr(engine, argument) + step})
    return _point(moved, without_knock(moved, _mean_pressure(power, moved), _HIGHEST_PRESSURE, middle))


@formula(
    takes={"engine": Engine, "power": "kW"},
    gives={
        "quick_peak": "bar",
        "light_knock": "bar",
        "best_peak": "bar",
        "manifold_pressure": "kPa",
        "exhaust_pressure": "kPa",
        "ca50": "deg",
        "fmep": "kPa",
        "fuel_flow": "kg/h",
    },
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 9; Hohenberg, SAE 790825",
    scatter={
        "quick_peak": 0.05,
        "light_knock": 1.0,
        "best_peak": 0.05,
        "manifold_pressure": 0.08,
        "exhaust_pressure": 0.10,
        "fmep": 0.20,
        "fuel_flow": 0.06,
    },
    scatter_source="own judgement: burn duration and heat loss of the mean cycle; the scatter of single cycles "
    "stands in the value. Knock of single cycles spreads by as much as its mean (log-normal; common practice)",
    heavy=True,
    sensitive_to=("compression_ratio",),
    beside=_design_point_beside,
    rises_with=DESIGN_RISES,
    falls_with=DESIGN_FALLS,
)
def design_point(power: float, engine: Engine) -> DesignPoint:
    """Cylinder pressure that rods, pins, bearings, joints, gasket and deck are held against at a power.

    Parameters
    ----------
    power : float
        Brake power at the flywheel [W].
    engine : Engine
        Engine, speed, fuel and surroundings, SI units.

    Returns
    -------
    DesignPoint
        Peak of quick cycles, absolute [Pa], and what light knock adds to it [Pa]: parts are built for both
        together; `best_peak`, the mean cycle's own, absolute [Pa]; manifold and exhaust pressure of that cycle,
        absolute [Pa]; its phasing [rad], friction mean effective pressure [Pa] and fuel flow [kg/s].

    Raises
    ------
    GoalOutOfReach
        When no manifold pressure up to 10 bar gives the power.
    OutOfRange
        When an argument lies outside the model.

    Notes
    -----
    The power is met with the charge burned at the best timing, whether or not it knocks there. Where knock
    holds the ignition back in running, the mean cycle peaks lower; but better fuel in the tank, cold air or
    a richer mixture bring the timing back, and then the parts meet what is worked out here. So fuel that
    knocks earlier, hotter air or a height above the sea never make an engine look stronger, and nothing jumps
    where knock puts a goal out of reach.

    With `ca50_best` set later it is the same for a charge that burns so late: where knock puts a goal out of
    reach, `operating_point` ends at the latest phasing that is run, and this goes on from there.

    Single cycles peak above the mean: the spread of peak pressure is 5 to 10 per cent of it [1]_, and
    twice 6 per cent are taken. A charge that would knock at the best timing adds the waves of light knock,
    up to 5 bar (common practice, no source: light knock on a pressure trace is of 1 to 5 bar), in proportion to
    the logarithm of the knock integral over its limit, in full where it is e times as high. That part is in
    doubt by all of itself, so that the pressure scatters more where knock limits. Heavy knock and
    pre-ignition are not covered: no allowance holds against them.

    References
    ----------
    .. [1] J. B. Heywood, Internal Combustion Engine Fundamentals, section 9.4 (from memory).

    Examples
    --------
    >>> engine = Engine(
    ...     speed=4200 * math.pi / 30, bore=0.0855, stroke=0.087, rod_length=0.148, cylinders=4,
    ...     compression_ratio=10.0, octane=98.0, stoichiometric_ratio=14.6, heating_value=43e6,
    ...     heat_of_vaporisation=350e3, density=745.0, relative_air_fuel_ratio=0.9, ambient_pressure=101.3e3,
    ...     charge_temperature=305.0, volumetric_efficiency=0.94)
    >>> point = design_point(74e3, engine)
    >>> round((point.quick_peak + point.light_knock) / 1e5), round(point.best_peak / 1e5)
    (71, 63)
    """
    return _point(engine, _burned_best(power, engine))
