"""Phasing that keeps the end gas from igniting by itself."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from compat.engineering.cycle.closed_cycle import cycle_results
from compat.engineering.cycle.cycle_input import (
    BEST_CA50,
    LATEST_CA50,
    ChargedCylinder,
    CycleInput,
    check_cycle_input,
)
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.knock import integral_limit, knock_excess, octane_extrapolation
from compat.engineering.formula import OutOfRange, formula
from compat.engineering.numerics.bracketing import bracketed_root

__all__ = ["KnockLimit", "knock_limited_ca50", "least_retard"]

_ANGLE_TOLERANCE = 1e-6


class KnockLimit(NamedTuple):
    """Phasing at the limit of knock and what it costs; SI units."""

    ca50: float
    retard: float
    knock_integral: float
    integral_limit: float
    efficiency_cost: float
    octane_extrapolation: float


def least_retard(
    excess: Callable[[float], float], best: float, latest: float, at_best: float | None = None
) -> float | None:
    """Earliest phasing from `best` on at which there is no knock; None when it knocks up to `latest`."""
    if at_best is None:
        at_best = excess(best)
    if at_best <= 0.0:
        return best
    low, at_low = best, at_best
    # The log of the integral falls nearly straight; go by the slope with a little over, then close in.
    stride = math.radians(3.0)
    while low < latest:
        high = min(low + stride, latest)
        at_high = excess(high)
        if at_high <= 0.0:
            return bracketed_root(excess, low, high, at_low, at_high, _ANGLE_TOLERANCE)
        slope = (at_low - at_high) / (high - low)
        wanted = 1.15 * at_high / slope if slope > 0.0 else stride
        stride = min(max(wanted, math.radians(1.0)), math.radians(8.0))
        low, at_low = high, at_high
    return None


@formula(
    takes={"cylinder": ChargedCylinder, "ca50_best": "deg", "ca50_latest": "deg"},
    gives={
        "ca50": "deg",
        "retard": "deg",
        "knock_integral": "number",
        "integral_limit": "number",
        "efficiency_cost": "%",
        "octane_extrapolation": "number",
    },
    source="Livengood & Wu 1955 with Douaud & Eyzat, SAE 780080, on the closed cycle",
    scatter={"ca50": 0.25, "retard": 0.4, "knock_integral": 0.30, "efficiency_cost": 0.4},
    scatter_source="own judgement: spread of the delay fit, of chambers and of single cycles",
    heavy=True,
)
def knock_limited_ca50(
    cylinder: ChargedCylinder, ca50_best: float = BEST_CA50, ca50_latest: float = LATEST_CA50
) -> KnockLimit:
    """Phasing of the burn to which knock forces the ignition, at a given charge.

    Parameters
    ----------
    cylinder : ChargedCylinder
        Cylinder, speed and charge, SI units.
    ca50_best : float, optional
        Angle of half the charge burned at which torque is best [rad].
    ca50_latest : float, optional
        Latest such angle that is run [rad].

    Returns
    -------
    KnockLimit
        The angle and how far it lies past the best [rad]; knock integral there and the limit it is held
        below [-]; what the retard costs in indicated efficiency, relative [-]; points by which the octane
        number lies outside 80 to 100 [-].

    Raises
    ------
    OutOfRange
        When it knocks however late it burns, or an argument lies outside the model.

    Notes
    -----
    The integral of the mean cycle is held at 0.8, so that the quick cycles stay below one. Where the octane
    number lies outside 80 to 100 the delay is extrapolated: the limit is then lowered further, and the number
    of points is given so that a reader sees it. Knock must be settled by listening to the engine:
    the figure is a guide to what the charge asks for, no ignition map.

    References
    ----------
    1. J. C. Livengood, P. C. Wu, 5th Symposium (International) on Combustion (1955) 347.
    2. A. M. Douaud, P. Eyzat, SAE 780080.
    3. J. B. Heywood, Internal Combustion Engine Fundamentals, section 9.6.

    Examples
    --------
    >>> k = knock_limited_ca50(ChargedCylinder(
    ...     bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=9.0, speed=314.0,
    ...     manifold_pressure=180e3, charge_temperature=320.0, volumetric_efficiency=0.9, octane=95.0,
    ...     stoichiometric_ratio=14.6, heating_value=43e6, heat_of_vaporisation=350e3,
    ...     relative_air_fuel_ratio=0.9, exhaust_pressure=190e3))
    >>> k.retard > 0, round(k.knock_integral, 4)
    (True, 0.8)
    """

    def burning_at(angle: float) -> CycleInput:
        return CycleInput(**vars(cylinder), ca50=angle)

    given = burning_at(ca50_best)
    check_cycle_input(given)
    check_cycle_input(burning_at(ca50_latest))
    if ca50_latest < ca50_best:
        raise OutOfRange(
            f"ca50_latest ({math.degrees(ca50_latest):g} deg) lies before "
            f"ca50_best ({math.degrees(ca50_best):g} deg)"
        )

    def excess(angle: float) -> float:
        late = burning_at(angle)
        return knock_excess(integrate(late, checked=True), late)

    ca50 = least_retard(excess, ca50_best, ca50_latest)
    if ca50 is None:
        raise OutOfRange(
            f"octane {cylinder.octane:g} knocks at {cylinder.manifold_pressure / 1e3:.0f} kPa manifold "
            f"pressure, compression ratio {cylinder.compression_ratio:g} even with half the charge burned as "
            f"late as {math.degrees(ca50_latest):g} deg after top dead centre"
        )
    best = cycle_results(given, integrate(given, checked=True))
    late = burning_at(ca50)
    held = cycle_results(late, integrate(late, checked=True))
    return KnockLimit(
        ca50=ca50,
        retard=ca50 - ca50_best,
        knock_integral=held.knock_integral,
        integral_limit=integral_limit(given.octane_in_engine),
        efficiency_cost=1.0 - held.indicated_efficiency / best.indicated_efficiency,
        octane_extrapolation=octane_extrapolation(given.octane_in_engine),
    )
