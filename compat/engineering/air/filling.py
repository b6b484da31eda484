"""How much of its swept volume an engine fills at a speed, from valves, cams, ports, pipes and exhaust."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.air.airflow import inlet_mach_index
from compat.engineering.air.breather import Breather, check_breather
from compat.engineering.air.filling_directions import FALLS_WITH, RISES_WITH
from compat.engineering.air.tuning import tuned_exhaust_speed, tuned_inlet_speed
from compat.engineering.formula import formula

__all__ = ["Filling", "volumetric_efficiency"]

_GAS_CONSTANT = 287.05

CHOKED = 0.5787
"""Most air that an opening passes, over that at the sound speed and density before it; Heywood, appendix C."""

SHARPNESS = 4.0
"""How sharply filling turns from the whole charge to choked flow; fitted to Taylor's curve, see the notes."""

VALVE_COEFFICIENT = 0.65
"""Discharge coefficient on the curtain area; Heywood, section 6.3.2: 0.6 to 0.7."""

MEAN_LIFT = 0.64
"""Mean lift between the points of 1 mm over greatest lift, of a 2-6-8-10 polynomial."""

PORT_LOSS, RUNNER_LOSS = 0.6, 0.5
"""Dynamic heads lost in the port's bend and in the runner with its mouth; common practice."""

FLOW_AFTER_CENTRE = math.radians(100.0)
"""Crank angle past bottom dead centre for which charge flows in, over inlet Mach number; an estimate."""

EARLY = 0.5
"""Charge missed by closing before the flow turns, over what the piston sweeps meanwhile; an estimate."""

WIDTH = 0.40
"""Width of the tuned range, as the logarithm of speed; an estimate from measured torque curves."""

SCAVENGING = 0.03
"""Filling gained where the exhaust's wave comes back in the overlap; common practice."""

EXHAUST_GAS, EXHAUST_TEMPERATURE = 1.33, 1150.0
"""Ratio of specific heats and temperature [K] of the gas that leaves; common practice at full load."""

CHARGE_GAS = 1.35
"""Ratio of specific heats of the charge; Heywood, section 4.4."""

CHARGE_HEATING = 25.0
"""What port, valve and cylinder add to the charge before the inlet closes [K]; common practice."""

CHARGE_HEAT = 1010.0
"""Specific heat of the charge at constant pressure [J/(kg K)]."""

PETROL_MASS, ETHANOL_MASS, AIR_MASS = 0.105, 0.04607, 0.02897
"""Molar masses of the vapours and of air [kg/mol]."""


class Filling(NamedTuple):
    """Filling of a cylinder, and what it would gain without each thing that stands in its way."""

    volumetric_efficiency: float
    mach_index: float
    closes_at: float
    tuned_speed: float
    valves: float
    port: float
    runner: float
    tuning: float
    closing: float
    exhaust: float


def _flow(mach: float) -> float:
    """Charge that comes through over all that the piston asks for, at a mean inlet Mach number.

    >>> round(_flow(0.1), 3), round(_flow(2.0) * 2.0, 2)  # all of it at low speed, choked flow at high
    (1.0, 0.58)
    """
    return float((1.0 + (mach / CHOKED) ** SHARPNESS) ** (-1.0 / SHARPNESS))


def _swept_after_centre(angle: float, stroke: float, rod_length: float) -> float:
    """Share of the stroke that the piston has risen at an angle after bottom dead centre.

    >>> round(_swept_after_centre(math.pi, 0.086, 0.145), 12)
    1.0
    """
    ratio = stroke / (2.0 * rod_length)
    return ((1.0 - math.cos(angle)) * ratio - 1.0 + math.sqrt(1.0 - (ratio * math.sin(angle)) ** 2)) / (
        2.0 * ratio
    )


def _valve_area(valves: float, diameter: float, lift: float) -> float:
    """Flow area of the valves of a cylinder, mean over their lift; a quarter of the diameter opens all of it.

    >>> round(_valve_area(2, 0.0325, 8.6e-3) * 1e6), _valve_area(1, 0.03, 0.02) == _valve_area(1, 0.03, 0.03)
    (731, True)
    """
    return VALVE_COEFFICIENT * valves * math.pi * diameter * min(MEAN_LIFT * lift, diameter / 4)


def _bottleneck(valve_area: float, *ducts: tuple[float, float]) -> float:
    """Area that restricts as a valve and ducts, each with its loss, do behind one another."""
    resistance = (valve_area**-2 if valve_area else 0.0) + sum(loss / area**2 for loss, area in ducts)
    return resistance**-0.5 if resistance else math.inf


@formula(
    takes={"engine": Breather},
    gives={
        "volumetric_efficiency": "%",
        "mach_index": "number",
        "closes_at": "deg",
        "tuned_speed": "rpm",
        "valves": "%",
        "port": "%",
        "runner": "%",
        "tuning": "%",
        "closing": "%",
        "exhaust": "%",
    },
    source="Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6; "
    "Heywood, Internal Combustion Engine Fundamentals, ch. 6 (both from memory)",
    scatter={"volumetric_efficiency": 0.05, "mach_index": 0.1},
    scatter_source="own judgement: engines of one class lie within five per cent of such an estimate",
    rises_with=RISES_WITH,
    falls_with=FALLS_WITH,
)
def volumetric_efficiency(engine: Breather) -> Filling:
    """Volumetric efficiency on manifold density: what valves, cam, port, runner and exhaust let in at a speed.

    Parameters
    ----------
    engine : Breather
        Cylinder, its way in and out, charge and speed, SI units.

    Returns
    -------
    Filling
        Volumetric efficiency on the density in the plenum [-]; Mach index Z [-]; inlet closing at 1 mm where
        the phaser does best [rad]; speed to which runner and port are tuned [rad/s]; and what filling would
        gain, relative, if the inlet valves did not restrict, nor the port, nor the runner, if the runner were
        tuned to this speed, the inlet closed as the flow turns, the exhaust held no pressure back [-].

    Raises
    ------
    OutOfRange
        When an argument makes no sense, or lies outside usual sizes.

    Notes
    -----
    The product of six shares, each to be followed by hand:

    1. Flow. Mean inlet Mach number M = Z pi / duration, with Taylor's index Z on the area with which valves
       (0.65 of the curtain at mean lift), port and runner restrict behind one another. Lift and duration count
       between the points of 1 mm; Taylor's mean runs from seat to seat, and his Z is some 1.2 times this one.
       The share is (1 + (M / 0.5787) ^ 4) ^ (-1/4): all at low speed, choked flow at high. With 4 it lies on
       Taylor's curve, which falls from Z of 0.5 to 0.6 on, within 0.04.
    2. Closing. Charge flows in for 100 deg times M past bottom dead centre. An inlet that closes later gives
       back what the piston sweeps; one that closes earlier misses half of that. A phaser goes where it loses
       least.
    3. Ram. The dynamic head h = 0.7 Mp^2 of the runner's fastest flow, as h / (1 + h + 2 h^2): a quarter of the
       pressure at most, less where the runner chokes. All of it at the tuned speed (Engelman's resonance of
       runner and cylinder), by exp(-(ln(n / n0) / 0.4)^2) beside it.
    4. Residual gas: Heywood's ideal cycle, r/(r-1) - (pe/pi + k - 1) / (k (r-1)) with k 1.35, pe raised by the
       exhaust valves' own Mach number; 3 % more where the primaries' wave comes back in the overlap.
    5. Heat: 25 K from the walls, less what evaporation takes. 6. The room that fuel vapour takes.

    Blow-down that is left too late, flow losses of a bad port beyond its area, and waves between cylinders are
    not seen: a flow bench and a dynamometer settle it. Not for rotary or sleeve valves.

    References
    ----------
    .. [1] Taylor, The Internal Combustion Engine in Theory and Practice, MIT Press, vol. 1, ch. 6.
    .. [2] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, sections 6.2 and 6.3.
    .. [3] Engelman, Design of a Tuned Intake Manifold, ASME 73-WA/DGP-2.
    .. [4] Fukutani and Watanabe, SAE 790484 (mean inlet Mach number).

    Examples
    --------
    >>> rpm, degree = math.pi / 30, math.pi / 180
    >>> def at(speed, **other):
    ...     return volumetric_efficiency(Breather(**{**dict(
    ...         bore=0.0855, stroke=0.087, rod_length=0.148, compression_ratio=10.0, speed=speed * rpm,
    ...         inlet_valves=2, inlet_valve_diameter=0.0325, inlet_lift=8.6e-3, inlet_duration=208 * degree,
    ...         inlet_closes=32 * degree, inlet_port_area=820e-6, runner_area=820e-6, runner_length=0.33,
    ...         port_length=0.1, exhaust_valves=2, exhaust_valve_diameter=0.028, exhaust_lift=8.4e-3,
    ...         exhaust_duration=206 * degree, exhaust_opens=33 * degree, exhaust_port_area=660e-6,
    ...         manifold_pressure=100e3, exhaust_pressure=111e3, charge_temperature=298.0,
    ...         stoichiometric_ratio=14.4, relative_air_fuel_ratio=0.88, heat_of_vaporisation=380e3), **other}))
    >>> [round(at(speed).volumetric_efficiency, 2) for speed in (2000, 4000, 5800, 7400)]
    [0.89, 0.99, 0.88, 0.74]
    >>> at(7400).valves > at(7400).port > at(7400).runner  # what stands most in its way up there
    True
    >>> at(7400, inlet_valve_diameter=0.035).volumetric_efficiency > at(7400).volumetric_efficiency
    True
    """
    check_breather(engine)
    valve = _valve_area(engine.inlet_valves, engine.inlet_valve_diameter, engine.inlet_lift)
    port, runner = (PORT_LOSS, engine.inlet_port_area), (RUNNER_LOSS, engine.runner_area)
    area = _bottleneck(valve, port, runner)
    index = inlet_mach_index(
        engine.bore,
        engine.stroke,
        engine.speed,
        engine.inlet_valve_diameter,
        engine.inlet_valves,
        area / (engine.inlet_valves * math.pi / 4 * engine.inlet_valve_diameter**2),
        engine.charge_temperature,
    )
    mach = index * math.pi / engine.inlet_duration
    flow = _flow(mach)

    def without(others: float) -> float:
        """What filling would gain if only the others restricted."""
        return _flow(mach * area / others) / flow - 1.0

    # By the hardware and the speed alone: a phaser is not moved for a warm day.
    turns = FLOW_AFTER_CENTRE * mach * math.sqrt(engine.charge_temperature / 298.15)
    closes = min(
        max(turns, engine.inlet_closes - engine.phaser_advance), engine.inlet_closes + engine.phaser_retard
    )
    missed = _swept_after_centre(closes, engine.stroke, engine.rod_length)
    missed -= _swept_after_centre(turns, engine.stroke, engine.rod_length)
    closing = 1.0 - (missed if closes > turns else -EARLY * missed)

    tuned_speed = tuned_inlet_speed(
        engine.runner_length + engine.port_length,
        engine.runner_area,
        math.pi / 4 * engine.bore**2 * engine.stroke,
        engine.compression_ratio,
        engine.charge_temperature,
    )
    sound = math.sqrt(1.4 * _GAS_CONSTANT * engine.charge_temperature)
    column = engine.stroke * engine.speed / 2 * math.pi / 4 * engine.bore**2 / engine.runner_area / sound
    head = 0.7 * column**2
    most = head / (1.0 + head + 2.0 * head**2)
    ram = 1.0 + most * math.exp(-((math.log(engine.speed / tuned_speed) / WIDTH) ** 2))

    left = _residual(engine)
    fuel = 1.0 / (engine.stoichiometric_ratio * engine.relative_air_fuel_ratio)
    warmed = (
        CHARGE_HEATING - engine.evaporated_share * engine.heat_of_vaporisation * fuel / (1 + fuel) / CHARGE_HEAT
    )
    heat = engine.charge_temperature / (engine.charge_temperature + warmed)
    alcohol = engine.ethanol_share
    vapour = engine.evaporated_share * fuel * AIR_MASS * (alcohol / ETHANOL_MASS + (1 - alcohol) / PETROL_MASS)
    return Filling(
        volumetric_efficiency=flow * closing * ram * left * heat / (1.0 + vapour),
        mach_index=index,
        closes_at=closes,
        tuned_speed=tuned_speed,
        valves=without(_bottleneck(0.0, port, runner)),
        port=without(_bottleneck(valve, runner)),
        runner=without(_bottleneck(valve, port)),
        tuning=(1.0 + most) / ram - 1.0,
        closing=1.0 / closing - 1.0,
        exhaust=1.0 / left - 1.0,
    )


def _residual(engine: Breather) -> float:
    """Share of the charge that burned gas and its pressure leave room for, with what the primaries draw in."""
    area = _bottleneck(
        _valve_area(engine.exhaust_valves, engine.exhaust_valve_diameter, engine.exhaust_lift),
        (PORT_LOSS + RUNNER_LOSS, engine.exhaust_port_area),
    )
    piston = math.pi / 4 * engine.bore**2 * engine.stroke * engine.speed / math.pi
    sound = math.sqrt(EXHAUST_GAS * _GAS_CONSTANT * EXHAUST_TEMPERATURE)
    mach = piston / (area * sound) * math.pi / engine.exhaust_duration
    held = engine.exhaust_pressure * (1.0 + EXHAUST_GAS / 2 * mach**2)
    over = engine.compression_ratio - 1.0
    left = engine.compression_ratio / over
    left -= (held / engine.manifold_pressure + CHARGE_GAS - 1.0) / (CHARGE_GAS * over)
    if engine.primary_length:
        tuned = tuned_exhaust_speed(engine.primary_length, engine.exhaust_opens)
        left *= 1.0 + SCAVENGING * math.exp(-((math.log(engine.speed / tuned) / WIDTH) ** 2))
    return left
