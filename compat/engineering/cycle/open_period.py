"""The cylinder with a valve open: pressures, their work, and what leaves by the exhaust."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.burning import COMBUSTION_EFFICIENCY
from compat.engineering.cycle.cycle_input import ChargedCylinder, CycleInput, Cylinder
from compat.engineering.cycle.cycle_passes import ClosedPeriod
from compat.engineering.cycle.friction import valve_loss
from compat.engineering.cycle.trapped_charge import swept_volume_at, trapezium_weights

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "OpenPeriod",
    "exchange_pressures",
    "exchange_pressures_at",
    "open_period",
    "open_pressure",
    "work_between",
    "work_near_bottom",
]

BLOWDOWN_AFTER_CENTRE = math.radians(30.0)
"""So far after bottom dead centre the cylinder has fallen to exhaust pressure; common practice."""

OVERLAP = math.radians(20.0)
"""Half of the change from exhaust to inlet pressure about top dead centre; common practice."""

EXHAUST_STROKE_HEAT = 2.2
"""Heat transfer while the exhaust flows over that of the closed cylinder: (6.18 / 2.28)^0.8, Woschni."""

PORT_TRANSFER, PORT_FLOW = 0.065, 5.0
"""Transfer units of valve and port at a gas flow by piston area [kg/(s m^2)]; an estimate, Heywood 12.6."""

BURNED_HEAT, BURNED_RATIO = 1300.0, 1.27
"""Heat at constant pressure [J/(kg K)] and ratio of specific heats of the gas that leaves; Heywood, ch. 4."""

_POINTS = 25


class OpenPeriod(NamedTuple):
    """Work between bottom dead centres and the closed period [J], energy that leaves [J], exhaust [K]."""

    work_near_bottom: float
    exhaust_energy: float
    port_heat: float
    exhaust_temperature: float


def _ease(share: Floats) -> Floats:
    """From 0 to 1 with level ends."""
    import numpy as np

    s = np.minimum(np.maximum(share, 0.0), 1.0)
    return s * s * (3.0 - 2.0 * s)


def _filled(angle: Floats, inlet_closes: float) -> Floats:
    """How far the cylinder has come, from bottom dead centre on, from inlet pressure to that at closing."""
    return _ease((angle + math.pi) / max(inlet_closes, 1e-9))


def _emptied(angle: Floats, exhaust_opens: float) -> Floats:
    """How far it has fallen to exhaust pressure since the exhaust opened."""
    return _ease((angle - (math.pi - exhaust_opens)) / (exhaust_opens + BLOWDOWN_AFTER_CENTRE))


def exchange_pressures_at(
    cylinder: Cylinder, manifold_pressure: float, exhaust_pressure: float
) -> tuple[float, float]:
    """Cylinder pressure in the inlet and in the exhaust stroke [Pa]; each valve takes half the valve loss."""
    piston_speed = cylinder.stroke * cylinder.speed / math.pi
    loss = valve_loss(manifold_pressure, cylinder.charge_temperature, piston_speed)
    # Kept above a third of the manifold: at choking speeds the square law would ask for a vacuum.
    return max(manifold_pressure - loss / 2, manifold_pressure / 3), exhaust_pressure + loss / 2


def exchange_pressures(given: ChargedCylinder) -> tuple[float, float]:
    """The same of a cylinder at its load [Pa]."""
    return exchange_pressures_at(given, given.manifold_pressure, given.exhaust_pressure)


def open_pressure(angle: Floats, given: CycleInput, at_closing: float, at_opening: float) -> Floats:
    """Cylinder pressure outside the closed period, crank angle from firing top dead centre, -2 pi to 2 pi."""
    import numpy as np

    inlet, exhaust = exchange_pressures(given)
    opens, closes = math.pi - given.exhaust_opens, -math.pi + given.inlet_closes
    falling = at_opening + (exhaust - at_opening) * _emptied(angle, given.exhaust_opens)
    from_overlap = np.where(angle > 0, angle - 2 * math.pi, angle + 2 * math.pi)
    changing = exhaust + (inlet - exhaust) * _ease((from_overlap + OVERLAP) / (2 * OVERLAP))
    filling = inlet + (at_closing - inlet) * _filled(angle, given.inlet_closes)
    late = np.where(angle > 2 * math.pi - OVERLAP, changing, falling)
    early = np.where(angle < -2 * math.pi + OVERLAP, changing, filling)
    return np.where(angle >= opens, late, np.where(angle <= closes, early, at_closing))


@lru_cache(maxsize=32)
def _turned_near_bottom(inlet_closes: float, exhaust_opens: float) -> tuple[Floats, Floats, Floats]:
    """Angles between bottom dead centre and the closed period, inlet and exhaust; `_filled` and `_emptied`."""
    import numpy as np

    filling = np.linspace(-math.pi, -math.pi + inlet_closes, _POINTS)
    falling = np.linspace(math.pi - exhaust_opens, math.pi, _POINTS)
    return np.array([filling, falling]), _filled(filling, inlet_closes), _emptied(falling, exhaust_opens)


@lru_cache(maxsize=32)
def _near_bottom(
    bore: float, stroke: float, rod_length: float, inlet_closes: float, exhaust_opens: float
) -> tuple[float, float, float, float]:
    """Change of volume up to inlet closing, and that times `_filled`; from exhaust opening, and that times
    `_emptied` [m^3].
    """
    angles, filled, emptied = _turned_near_bottom(inlet_closes, exhaust_opens)
    volume = swept_volume_at(angles, bore, stroke, rod_length)
    to_closing, from_opening = map(trapezium_weights, volume[:, 1:] - volume[:, :-1])
    return (
        float(volume[0, -1] - volume[0, 0]),
        float(to_closing @ filled),
        float(volume[1, -1] - volume[1, 0]),
        float(from_opening @ emptied),
    )


def work_between(
    cylinder: Cylinder, pressures: tuple[float, float], at_closing: float, at_opening: float
) -> float:
    """Work between the bottom dead centres and the closed period [J].

    Parameters
    ----------
    cylinder : Cylinder
        The cylinder.
    pressures : tuple of float
        As `exchange_pressures` gives them [Pa].
    at_closing, at_opening : float
        Pressure where the inlet closes and where the exhaust opens [Pa].
    """
    to_closing, filled, from_opening, emptied = _near_bottom(
        cylinder.bore, cylinder.stroke, cylinder.rod_length, cylinder.inlet_closes, cylinder.exhaust_opens
    )
    inlet, exhaust = pressures
    filling = inlet * to_closing + (at_closing - inlet) * filled
    return filling + at_opening * from_opening + (exhaust - at_opening) * emptied


def work_near_bottom(given: CycleInput, period: ClosedPeriod) -> float:
    """Work between the bottom dead centres and the closed period [J], of a cycle."""
    at_opening = float(period.pressure[-1])
    return work_between(given, exchange_pressures(given), period.charge.pressure, at_opening)


def exhaust_stroke_heat(given: CycleInput, period: ClosedPeriod) -> float:
    """Heat that the cylinder takes from the gas while the exhaust flows [J].

    Notes
    -----
    The gas is as warm as blow-down leaves it, and at exhaust pressure at any load: what it gives is nearly the
    same at light load as at full load, where there is three times as much of it. Hohenberg's coefficient,
    raised by what Woschni gives the open cylinder.
    """
    pressure = float(period.pressure[-1])
    blown_down = float(period.temperature[-1]) * min(given.exhaust_pressure / pressure, 1.0) ** (
        1.0 - 1.0 / BURNED_RATIO
    )
    piston = math.pi / 4 * given.bore**2
    volume = piston * given.stroke * (0.5 + 1.0 / (given.compression_ratio - 1.0))
    coefficient = 130.0 * volume**-0.06 * (given.exhaust_pressure / 1e5) ** 0.8 * blown_down**-0.4
    coefficient *= EXHAUST_STROKE_HEAT * (period.mean_piston_speed + 1.4) ** 0.8
    area = 2.2 * piston + math.pi * given.bore * given.stroke / 2
    capacity = period.charge.mass * BURNED_HEAT
    units = coefficient * area * (math.pi + given.exhaust_opens) / (given.speed * capacity)
    return float(capacity * (blown_down - given.wall_temperature) * -math.expm1(-units))


def port_effectiveness(given: CycleInput, mass: float) -> float:
    """Share of its heat above the walls that the exhaust leaves in valve and port [-].

    Notes
    -----
    The less gas flows, the larger the share it gives up. While the valve is open the transfer units fall with
    the flow to the 0.4 (Nusselt number of a jet, Caton and Heywood 1981, from memory); what rests in the port
    between two strokes cools further, the more the slower the engine turns: 0.6 is taken for both, an estimate.
    """
    flow = mass * given.speed / (4.0 * math.pi) / (math.pi / 4 * given.bore**2)
    return float(-math.expm1(-PORT_TRANSFER * (flow / PORT_FLOW) ** -0.6))


def open_period(given: CycleInput, period: ClosedPeriod) -> OpenPeriod:
    """What happens outside the closed period, by the first law over a whole steady cycle.

    Notes
    -----
    Energy that leaves with the exhaust is that of the gas at exhaust opening, less that at inlet closing,
    plus what came in, less the work of the open period and what cylinder, valve and port take of it.
    Afterburning in the port is left out.
    """
    charge, gas = period.charge, period.charge.gas
    work = work_near_bottom(given, period)
    fresh = charge.air + charge.fuel
    released = COMBUSTION_EFFICIENCY * float(period.burned[-1]) * gas.heat_of_combustion * fresh
    unburned = charge.fuel * given.heating_value - released
    gained = float(period.energy[-1] - period.energy[0]) - work
    inlet, exhaust = exchange_pressures(given)
    swept = math.pi / 4 * given.bore**2 * given.stroke
    outflow = charge.fresh_inflow_enthalpy + gained + (exhaust - inlet) * swept
    left = exhaust_stroke_heat(given, period)
    at_wall = fresh * gas.enthalpy(given.wall_temperature, 1.0)
    left += port_effectiveness(given, fresh) * max(outflow - left - at_wall, 0.0)
    temperature = gas.temperature_of((outflow - left) / fresh, 1.0)
    return OpenPeriod(work, gained + unburned, left, temperature)
