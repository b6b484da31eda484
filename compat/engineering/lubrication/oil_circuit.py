"""Balance of the oil circuit: gallery pressure at which the pump delivers what the engine takes."""

from __future__ import annotations

from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.lubrication.oil_consumers import (
    FLOW_SCATTER,
    FLOW_SOURCE,
    OilConsumers,
    OilDemand,
    check_oil_consumers,
    oil_taken,
)
from compat.engineering.lubrication.oil_pump import pump_delivery, relief_spill
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity
from compat.engineering.numerics.bracketing import bracketed_root
from compat.engineering.numerics.ranges import not_negative

__all__ = ["OilBalance", "gallery_pressure"]

_FEEDING = (
    "pump_displacement",
    "relief_pressure",
    "speed",
    "viscosity_100",
    "drive_ratio",
    "filling",
    "jet_opening_pressure",
)
_DRAINING = (
    "oil_temperature",
    "stroke",
    "main_bearings",
    "main_clearance",
    "rod_bearings",
    "rod_journal_diameter",
    "rod_clearance",
    "head_restrictor",
    "head_restrictors",
    "jets",
    "jet_flow",
    "other_flow",
    "slip",
)
"""What no pressure of the circuit falls with, and what none rises with."""

LOSS_FLOW = 20 / 60e3
"""Flow at which filter and cooler state their pressure loss, [m^3/s]."""


class OilBalance(NamedTuple):
    """State of the circuit when delivery and demand agree."""

    gallery_pressure: float
    pump_pressure: float
    demand: float
    delivery: float
    spilled: float
    bearing_flow: float
    pump_power: float


@formula(
    takes={
        "pump_displacement": "cm^3/rev",
        "relief_pressure": "kPa",
        "engine": OilConsumers,
        "drive_ratio": "number",
        "filling": "%",
        "slip": "number",
        "line_loss": "kPa",
    },
    gives={
        "gallery_pressure": "kPa",
        "pump_pressure": "kPa",
        "demand": "L/min",
        "delivery": "L/min",
        "spilled": "L/min",
        "bearing_flow": "L/min",
        "pump_power": "W",
    },
    source=FLOW_SOURCE,
    scatter={
        "gallery_pressure": 0.20,
        "pump_pressure": 0.15,
        "demand": 0.2,
        "delivery": 0.1,
        "bearing_flow": 0.3,
    },
    scatter_source=FLOW_SCATTER,
    heavy=True,
    sensitive_to=("main_clearance", "rod_clearance"),
    rises_with={"gallery_pressure": _FEEDING, "pump_pressure": _FEEDING},
    falls_with={"gallery_pressure": _DRAINING, "pump_pressure": _DRAINING},
)
def gallery_pressure(
    pump_displacement: float,
    relief_pressure: float,
    engine: OilConsumers,
    drive_ratio: float = 1.0,
    filling: float = 0.95,
    slip: float = 6e-7,
    line_loss: float = 30e3,
) -> OilBalance:
    """Gallery pressure at which the pump's delivery, less what the relief valve spills, meets the demand.

    Parameters
    ----------
    pump_displacement : float
        For each turn of the pump, [m^3/rad]
    relief_pressure : float
        At which the relief valve at the pump starts to open, gauge, [Pa]
    engine : OilConsumers
        What takes oil, at one speed and oil temperature, SI units.
    drive_ratio, filling, slip : float, optional
        As for `pump_delivery`, [-]
    line_loss : float, optional
        Pressure lost in filter and cooler at 20 L/min, growing straight with flow, [Pa]

    Returns
    -------
    OilBalance
        Pressures in the gallery and at the pump, gauge [Pa]; demand, delivery, spilled and bearing flow
        [m^3/s]; power that the pump draws for the oil it moves [W]

    Raises
    ------
    OutOfRange
        As for `oil_demand` and `pump_delivery`, or when the relief pressure is not above zero.

    Notes
    -----
    A pump too small to feed the open passages gives a gallery pressure of zero.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> import math
    >>> balance = gallery_pressure(10.5e-6 / (2 * math.pi), 450e3, OilConsumers(
    ...     speed=800 * math.pi / 30, oil_temperature=383.15, viscosity_40=75e-6, viscosity_100=11.5e-6,
    ...     stroke=0.087, main_bearings=5, main_journal_diameter=0.058, main_bearing_width=0.018,
    ...     main_clearance=0.044e-3, rod_bearings=4, rod_journal_diameter=0.048, rod_bearing_width=0.018,
    ...     rod_clearance=0.044e-3, other_flow=2 / 60e3, film_rise=3.0))
    >>> round(balance.gallery_pressure / 1e3), round(balance.spilled, 6)
    (165, 0.0)
    """
    positive(relief_pressure=relief_pressure)
    not_negative(line_loss=line_loss)
    check_oil_consumers(engine)
    speed = engine.speed
    sump = dynamic_viscosity(engine.oil_temperature, engine.viscosity_40, engine.viscosity_100)

    def flows(pressure: float) -> tuple[OilDemand, float, float, float]:
        demand = oil_taken(engine, pressure)
        outlet = pressure + line_loss * demand.total / LOSS_FLOW
        delivery = pump_delivery(pump_displacement, speed, outlet, sump, drive_ratio, filling, slip)
        return demand, outlet, delivery, relief_spill(outlet, relief_pressure)

    def surplus(pressure: float) -> float:
        demand, _, delivery, spilled = flows(pressure)
        return delivery - spilled - demand.total

    high = 4 * relief_pressure + 5e6
    at_nothing, at_high = surplus(0.0), surplus(high)
    if at_high > 0:
        raise OutOfRange(
            f"relief_pressure of {relief_pressure / 1e3:g} kPa does not hold a pump of this delivery"
        )
    # where even an empty gallery asks for more than the pump gives, no pressure builds up
    pressure = bracketed_root(surplus, 0.0, high, at_nothing, at_high, 1e-3) if at_nothing > 0 else 0.0
    demand, outlet, delivery, spilled = flows(pressure)
    return OilBalance(
        gallery_pressure=pressure,
        pump_pressure=outlet,
        demand=demand.total,
        delivery=delivery,
        spilled=spilled,
        bearing_flow=demand.main_flow + demand.big_end_flow,
        pump_power=outlet * pump_displacement * speed * drive_ratio,
    )
