"""Fuel on its way to the injectors: its volume, what the pump gives, how fast it runs in a line."""

from __future__ import annotations

import math
from itertools import pairwise

from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import not_negative

__all__ = ["fuel_volume_flow", "line_velocity", "pump_flow_at"]

_LOSS_PER_VOLT = 0.10


@formula(
    takes={"fuel_flow": "g/s", "fuel_density": "kg/L"},
    gives="L/h",
    source="definition of density",
    rises_with=("fuel_flow",),
    falls_with=("fuel_density",),
)
def fuel_volume_flow(fuel_flow: float, fuel_density: float) -> float:
    """Volume flow of a mass flow of fuel.

    Parameters
    ----------
    fuel_flow : float
        Mass flow, [kg/s]
    fuel_density : float
        At the temperature in the line, [kg/m^3]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Definition of density.

    Examples
    --------
    >>> round(fuel_volume_flow(fuel_flow=7.41e-3, fuel_density=745) * 3.6e6, 1)
    35.8
    """
    positive(fuel_flow=fuel_flow, fuel_density=fuel_density)
    return fuel_flow / fuel_density


@formula(
    takes={"volume_flow": "L/h", "bore": "mm"},
    gives="m/s",
    source="continuity of flow",
)
def line_velocity(volume_flow: float, bore: float) -> float:
    """Mean speed of a liquid in a line.

    Parameters
    ----------
    volume_flow : float
        Flow, [m^3/s]
    bore : float
        Inside diameter, [m]

    Returns
    -------
    float
        Mean speed, [m/s]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Continuity.

    Examples
    --------
    >>> round(line_velocity(volume_flow=255 / 3.6e6, bore=0.008), 2)
    1.41
    """
    positive(volume_flow=volume_flow, bore=bore)
    return volume_flow / (math.pi / 4 * bore**2)


@formula(
    takes={
        "pump_curve": table("kPa", "L/h"),
        "pressure": "kPa",
        "voltage": "V",
        "curve_voltage": "V",
    },
    gives="L/h",
    source="pump's own curve; common practice, no source: one volt lost costs about a tenth of the flow",
    rises_with=("voltage",),
    falls_with=("pressure", "curve_voltage"),
)
def pump_flow_at(
    pump_curve: tuple[tuple[float, float], ...],
    pressure: float,
    voltage: float = 13.5,
    curve_voltage: float = 13.5,
) -> float:
    """Flow that a fuel pump delivers at a pressure and a voltage.

    Parameters
    ----------
    pump_curve : rows of (pressure, flow)
        Maker's curve, pressures rising, flows not rising, [Pa], [m^3/s]
    pressure : float
        Pressure at the pump: base and boost together with a referenced regulator, [Pa]
    voltage : float, optional
        At the pump under load, [V]
    curve_voltage : float, optional
        At which the curve was taken, [V]

    Returns
    -------
    float
        Flow, [m^3/s]

    Raises
    ------
    OutOfRange
        When the curve has less than two points, does not rise in pressure or rises in flow, the pressure lies
        outside the curve, or the voltage lies more than 4 V from the curve's.

    Notes
    -----
    Linear between points and never beyond them: past the last point a pump stalls or blows off.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> curve = ((300e3, 255 / 3.6e6), (400e3, 225 / 3.6e6), (500e3, 185 / 3.6e6))
    >>> round(pump_flow_at(curve, 450e3) * 3.6e6, 1)
    205.0
    >>> round(pump_flow_at(curve, 450e3, voltage=12.5) * 3.6e6, 1)
    184.5
    """
    if len(pump_curve) < 2:
        raise OutOfRange(f"pump_curve must have at least two points, got {len(pump_curve)}")
    if not all(math.isfinite(number) and number >= 0 for row in pump_curve for number in row):
        raise OutOfRange("pump_curve must hold finite numbers, none below zero")
    for (low, more), (high, less) in pairwise(pump_curve):
        if high <= low:
            raise OutOfRange(f"pump_curve must rise in pressure, got {high / 1e3:g} after {low / 1e3:g} kPa")
        if less > more:
            raise OutOfRange(
                f"pump_curve must not rise in flow, got {less * 3.6e6:g} after {more * 3.6e6:g} L/h"
            )
    not_negative(pressure=pressure)
    positive(voltage=voltage, curve_voltage=curve_voltage)
    first, last = pump_curve[0][0], pump_curve[-1][0]
    if not first <= pressure <= last:
        raise OutOfRange(
            f"pressure must lie on the pump's curve, {first / 1e3:g} to {last / 1e3:g} kPa, "
            f"got {pressure / 1e3:g} kPa"
        )
    if abs(voltage - curve_voltage) > 4:
        raise OutOfRange(f"voltage must lie within 4 V of the curve's {curve_voltage:g} V, got {voltage:g} V")
    # The share is linear in the volts lost, as the trade quotes it.
    share = 1 - _LOSS_PER_VOLT * (curve_voltage - voltage)
    for (low, more), (high, less) in pairwise(pump_curve):
        if pressure <= high:
            return share * (more + (less - more) * (pressure - low) / (high - low))
    return share * pump_curve[-1][1]
