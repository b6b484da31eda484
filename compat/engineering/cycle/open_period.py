"""The cylinder with a valve open: pressures, their work, and what leaves by the exhaust."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.cycle_integration import COMBUSTION_EFFICIENCY, ClosedPeriod
from compat.engineering.cycle.friction import valve_loss
from compat.engineering.cycle.trapped_charge import cylinder_volume

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["OpenPeriod", "exchange_pressures", "open_period", "open_pressure", "work_near_bottom"]

BLOWDOWN_AFTER_CENTRE = math.radians(30.0)
"""So far after bottom dead centre the cylinder has fallen to exhaust pressure; common practice."""

OVERLAP = math.radians(20.0)
"""Half of the change from exhaust to inlet pressure about top dead centre; common practice."""

PORT_LOSS = 0.10
"""Share of the exhaust's heat that goes to valves and ports; an estimate within Heywood, section 12.6."""

_POINTS = 25


class OpenPeriod(NamedTuple):
    """Work between bottom dead centres and the closed period [J], energy that leaves [J], exhaust [K]."""

    work_near_bottom: float
    exhaust_energy: float
    port_heat: float
    exhaust_temperature: float
    unburned_energy: float


def _ease(share: Floats) -> Floats:
    """From 0 to 1 with level ends."""
    import numpy as np

    s = np.minimum(np.maximum(share, 0.0), 1.0)
    return s * s * (3.0 - 2.0 * s)


def exchange_pressures(given: CycleInput) -> tuple[float, float]:
    """Cylinder pressure in the inlet and in the exhaust stroke [Pa]; each valve takes half the valve loss."""
    loss = valve_loss(given.manifold_pressure, given.charge_temperature, given.stroke * given.speed / math.pi)
    # Kept above a third of the manifold: at choking speeds the square law would ask for a vacuum.
    return max(
        given.manifold_pressure - loss / 2, given.manifold_pressure / 3
    ), given.exhaust_pressure + loss / 2


def open_pressure(angle: Floats, given: CycleInput, at_closing: float, at_opening: float) -> Floats:
    """Cylinder pressure outside the closed period, crank angle from firing top dead centre, -2 pi to 2 pi."""
    import numpy as np

    inlet, exhaust = exchange_pressures(given)
    opens, closes = math.pi - given.exhaust_opens, -math.pi + given.inlet_closes
    falling = at_opening + (exhaust - at_opening) * _ease(
        (angle - opens) / (given.exhaust_opens + BLOWDOWN_AFTER_CENTRE)
    )
    from_overlap = np.where(angle > 0, angle - 2 * math.pi, angle + 2 * math.pi)
    changing = exhaust + (inlet - exhaust) * _ease((from_overlap + OVERLAP) / (2 * OVERLAP))
    filling = inlet + (at_closing - inlet) * _ease((angle + math.pi) / max(given.inlet_closes, 1e-9))
    late = np.where(angle > 2 * math.pi - OVERLAP, changing, falling)
    early = np.where(angle < -2 * math.pi + OVERLAP, changing, filling)
    return np.where(angle >= opens, late, np.where(angle <= closes, early, at_closing))


@lru_cache(maxsize=32)
def _near_bottom(
    bore: float,
    stroke: float,
    rod_length: float,
    compression_ratio: float,
    inlet_closes: float,
    exhaust_opens: float,
) -> tuple[Floats, Floats]:
    """Crank angles and volumes of the two stretches between bottom dead centre and the closed period."""
    import numpy as np

    filling = np.linspace(-math.pi, -math.pi + inlet_closes, _POINTS)
    falling = np.linspace(math.pi - exhaust_opens, math.pi, _POINTS)
    angle = np.array([filling, falling])
    return angle, cylinder_volume(angle, bore, stroke, rod_length, compression_ratio)


def work_near_bottom(given: CycleInput, period: ClosedPeriod) -> float:
    """Work between the bottom dead centres and the closed period [J]."""
    import numpy as np

    angle, volume = _near_bottom(
        given.bore,
        given.stroke,
        given.rod_length,
        given.compression_ratio,
        given.inlet_closes,
        given.exhaust_opens,
    )
    pressure = open_pressure(angle, given, period.charge.pressure, float(period.pressure[-1]))
    return float(np.sum(0.5 * (pressure[:, 1:] + pressure[:, :-1]) * np.diff(volume, axis=1)))


def open_period(given: CycleInput, period: ClosedPeriod) -> OpenPeriod:
    """What happens outside the closed period, by the first law over a whole steady cycle.

    Notes
    -----
    Energy that leaves with the exhaust is that of the gas at exhaust opening, less that at inlet closing,
    plus what came in, less the work of the open period. Afterburning in the port is left out.
    """
    import numpy as np

    charge, gas = period.charge, period.charge.gas
    work = work_near_bottom(given, period)
    fresh = charge.air + charge.fuel
    released = COMBUSTION_EFFICIENCY * float(period.burned[-1]) * gas.heat_of_combustion * fresh
    unburned = charge.fuel * given.heating_value - released
    gained = float(period.energy[-1] - period.energy[0]) - work
    inlet, exhaust = exchange_pressures(given)
    swept = math.pi / 4 * given.bore**2 * given.stroke
    outflow = charge.fresh_inflow_enthalpy + gained + (exhaust - inlet) * swept
    cold = float(gas.burned_enthalpy()[0]), float(gas.temperature[0])
    reference = cold[0] + (298.15 - cold[1]) * (float(gas.burned_enthalpy()[1]) - cold[0]) / gas.step
    port_heat = PORT_LOSS * max(outflow - fresh * reference, 0.0)
    temperature = float(np.interp((outflow - port_heat) / fresh, gas.burned_enthalpy(), gas.temperature))
    return OpenPeriod(work, gained + unburned, port_heat, temperature, unburned)
