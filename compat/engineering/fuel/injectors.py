"""Injectors: what one gives at the pressure across it, and how long it is open.

Static flow holds only with its pressure difference and its fluid: it scales with the square
root of pressure difference over density.
"""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.fuel.supply import fuel_volume_flow
from compat.engineering.numerics.ranges import finite, within

__all__ = [
    "injector_duty",
    "injector_flow",
    "injector_flow_needed",
    "injector_pressure_difference",
]


@formula(
    takes={"base_pressure": "kPa", "boost": "kPa", "reference": ("vacuum", "none")},
    gives="kPa",
    source="common practice: a referenced regulator keeps the difference, a fixed one does not",
    rises_with=("base_pressure",),
    falls_with=("boost",),
)
def injector_pressure_difference(base_pressure: float, boost: float, reference: str) -> float:
    """Pressure across the injector at full load.

    Parameters
    ----------
    base_pressure : float
        Rail pressure over the surroundings with the regulator's hose off, [Pa]
    boost : float
        Manifold pressure over the surroundings, [Pa]
    reference : str
        ``vacuum`` when the regulator follows the manifold one for one, ``none`` when it does not.

    Returns
    -------
    float
        Difference between rail and manifold, [Pa]

    Raises
    ------
    OutOfRange
        When the base pressure is not above zero, the word is unknown, or boost reaches the rail pressure.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(injector_pressure_difference(380e3, 100e3, "none") / 1e3)
    280
    >>> round(injector_pressure_difference(300e3, 100e3, "vacuum") / 1e3)
    300
    """
    positive(base_pressure=base_pressure)
    finite(boost=boost)
    if reference == "vacuum":
        return base_pressure
    if reference != "none":
        raise OutOfRange(f"reference must be vacuum or none, got {reference}")
    if boost >= base_pressure:
        raise OutOfRange(
            f"boost of {boost / 1e3:g} kPa leaves nothing across an injector fed at a fixed "
            f"{base_pressure / 1e3:g} kPa"
        )
    return base_pressure - boost


@formula(
    takes={
        "static_flow": "cm^3/min",
        "rated_pressure": "kPa",
        "pressure_difference": "kPa",
        "density_ratio": "number",
    },
    gives="cm^3/min",
    source="Bernoulli: flow through an orifice with the square root of pressure difference over density",
    rises_with=("static_flow", "pressure_difference"),
    falls_with=("rated_pressure", "density_ratio"),
)
def injector_flow(
    static_flow: float, rated_pressure: float, pressure_difference: float, density_ratio: float = 1.0
) -> float:
    """Static volume flow of an injector at another pressure difference.

    Parameters
    ----------
    static_flow : float
        Rated flow, held open, [m^3/s]
    rated_pressure : float
        Pressure difference of that rating, [Pa]
    pressure_difference : float
        Pressure difference in the engine, [Pa]
    density_ratio : float, optional
        Density of the fuel over that of the rating's test fluid, [-]

    Returns
    -------
    float
        Flow held open, [m^3/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Orifice law with a steady coefficient, fair between about half and twice the rated pressure.

    References
    ----------
    .. [1] White, Fluid Mechanics, McGraw-Hill, ch. 6, orifice meters.

    Examples
    --------
    >>> round(injector_flow(240e-6 / 60, 300e3, 380e3) * 60e6, 1)
    270.1
    """
    positive(
        static_flow=static_flow,
        rated_pressure=rated_pressure,
        pressure_difference=pressure_difference,
        density_ratio=density_ratio,
    )
    return static_flow * math.sqrt(pressure_difference / rated_pressure / density_ratio)


@formula(
    takes={
        "fuel_flow": "g/s",
        "fuel_density": "kg/L",
        "injectors": "number",
        "injector_flow": "cm^3/min",
    },
    gives="%",
    source="common practice: share of the time that an injector stands open",
    rises_with=("fuel_flow",),
    falls_with=("fuel_density", "injectors", "injector_flow"),
)
def injector_duty(fuel_flow: float, fuel_density: float, injectors: float, injector_flow: float) -> float:
    """Share of each cycle for which the injectors stand open at full load.

    Parameters
    ----------
    fuel_flow : float
        Mass flow of the whole engine, [kg/s]
    fuel_density : float
        At the rail, [kg/m^3]
    injectors : float
        Number of injectors, [-]
    injector_flow : float
        Flow of one held open at the true pressure difference, [m^3/s]

    Returns
    -------
    float
        Duty, [-]; above 1 the injectors cannot deliver.

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Opening dead time is left out: at 6000 rpm a dead time of 0.9 ms takes about 4 % of the cycle.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(injector_duty(7.411e-3, 745, 4, 210e-6 / 60), 2)
    0.71
    """
    positive(injectors=injectors, injector_flow=injector_flow)
    return fuel_volume_flow(fuel_flow, fuel_density) / (injectors * injector_flow)


@formula(
    takes={"fuel_flow": "g/s", "fuel_density": "kg/L", "injectors": "number", "duty": "%"},
    gives="cm^3/min",
    source="common practice: power times specific consumption over number times duty",
)
def injector_flow_needed(fuel_flow: float, fuel_density: float, injectors: float, duty: float) -> float:
    """Static flow of each injector that meets a fuel flow at a duty.

    Parameters
    ----------
    fuel_flow : float
        Mass flow of the whole engine, [kg/s]
    fuel_density : float
        At the rail, [kg/m^3]
    injectors : float
        Number of injectors, [-]
    duty : float
        Greatest share of the cycle allowed open, [-]

    Returns
    -------
    float
        Flow of one held open at the true pressure difference, [m^3/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the duty exceeds 1.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(injector_flow_needed(13.883e-3, 745, 4, 0.85) * 60e6)
    329
    """
    positive(injectors=injectors, duty=duty)
    within("duty", duty, 0.0, 1.0, "%", 0.01)
    return fuel_volume_flow(fuel_flow, fuel_density) / (injectors * duty)
