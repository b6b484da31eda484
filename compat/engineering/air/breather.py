"""A cylinder with its way in and out."""

import math
from typing import Annotated

from compat.engineering.numerics.ranges import within
from compat.record import record

__all__ = ["Breather", "check_breather"]

_DEGREE = math.pi / 180.0
_RPM = math.pi / 30.0


@record(kw_only=True)
class Breather:
    """A cylinder with its way in and out, at one speed."""

    bore: Annotated[float, "mm", "Cylinder diameter [m]"]
    stroke: Annotated[float, "mm", "Piston travel [m]"]
    rod_length: Annotated[float, "mm", "Rod length between centres [m]"]
    compression_ratio: Annotated[float, "number", "Geometric compression ratio [-]"]
    speed: Annotated[float, "rpm", "Engine speed [rad/s]"]
    inlet_valves: Annotated[float, "number", "Inlet valves of one cylinder [-]"]
    inlet_valve_diameter: Annotated[float, "mm", "Head diameter of one inlet valve [m]"]
    inlet_lift: Annotated[float, "mm", "Greatest lift of the inlet valve [m]"]
    inlet_duration: Annotated[float, "deg", "Crank angle between 1 mm of inlet lift and 1 mm [rad]"]
    inlet_closes: Annotated[float, "deg", "Inlet closing at 1 mm after bottom dead centre, phaser parked [rad]"]
    inlet_port_area: Annotated[float, "mm^2", "Inlet port of one cylinder at the flange [m^2]"]
    runner_area: Annotated[float, "mm^2", "Runner of the manifold at the flange [m^2]"]
    runner_length: Annotated[float, "mm", "Runner of the manifold, plenum to flange [m]"]
    port_length: Annotated[float, "mm", "Inlet port, flange to valve [m]"]
    exhaust_valves: Annotated[float, "number", "Exhaust valves of one cylinder [-]"]
    exhaust_valve_diameter: Annotated[float, "mm", "Head diameter of one exhaust valve [m]"]
    exhaust_lift: Annotated[float, "mm", "Greatest lift of the exhaust valve [m]"]
    exhaust_duration: Annotated[float, "deg", "Crank angle between 1 mm of exhaust lift and 1 mm [rad]"]
    exhaust_opens: Annotated[float, "deg", "Exhaust opening at 1 mm before bottom dead centre [rad]"]
    exhaust_port_area: Annotated[float, "mm^2", "Exhaust port of one cylinder at the flange [m^2]"]
    manifold_pressure: Annotated[float, "kPa", "In the plenum, absolute [Pa]"]
    exhaust_pressure: Annotated[float, "kPa", "In the exhaust manifold, absolute [Pa]"]
    charge_temperature: Annotated[float, "degC", "Of the air in the plenum [K]"]
    stoichiometric_ratio: Annotated[float, "number", "Stoichiometric air/fuel ratio of the fuel [-]"]
    relative_air_fuel_ratio: Annotated[float, "number", "Lambda [-]"]
    heat_of_vaporisation: Annotated[float, "kJ/kg", "Of the fuel [J/kg]"]
    evaporated_share: Annotated[
        float, "%", "Share of that heat which the charge gives before the inlet closes [-]"
    ] = 0.30
    ethanol_share: Annotated[float, "number", "Of the fuel, by volume [-]"] = 0.0
    phaser_advance: Annotated[float, "deg", "Crank angle by which the phaser can close it earlier [rad]"] = 0.0
    phaser_retard: Annotated[float, "deg", "Crank angle by which the phaser can close it later [rad]"] = 0.0
    primary_length: Annotated[
        float, "mm", "Of the exhaust's separate primaries; 0 for none, or before a turbine [m]"
    ] = 0.0


_MM, _MM2, _KPA = ("mm", 1e-3), ("mm^2", 1e-6), ("kPa absolute", 1e3)
_DEG = ("deg", _DEGREE)
_USUAL: dict[str, tuple[float, float, str, float]] = {
    "bore": (0.02, 0.4, *_MM),
    "stroke": (0.02, 0.5, *_MM),
    "rod_length": (0.03, 1.5, *_MM),
    "compression_ratio": (4.0, 25.0, "to 1", 1.0),
    "speed": (300.0 * _RPM, 16000.0 * _RPM, "rpm", _RPM),
    "inlet_valves": (0.5, 4.0, "", 1.0),
    "inlet_valve_diameter": (8e-3, 0.2, *_MM),
    "inlet_lift": (2e-3, 30e-3, *_MM),
    "inlet_duration": (120.0 * _DEGREE, 340.0 * _DEGREE, *_DEG),
    "inlet_closes": (-60.0 * _DEGREE, 110.0 * _DEGREE, *_DEG),
    "inlet_port_area": (50e-6, 20000e-6, *_MM2),
    "runner_area": (50e-6, 20000e-6, *_MM2),
    "runner_length": (0.0, 2.0, *_MM),
    "port_length": (0.01, 0.5, *_MM),
    "exhaust_valves": (0.5, 4.0, "", 1.0),
    "exhaust_valve_diameter": (8e-3, 0.2, *_MM),
    "exhaust_lift": (2e-3, 30e-3, *_MM),
    "exhaust_duration": (120.0 * _DEGREE, 340.0 * _DEGREE, *_DEG),
    "exhaust_opens": (-40.0 * _DEGREE, 110.0 * _DEGREE, *_DEG),
    "exhaust_port_area": (50e-6, 20000e-6, *_MM2),
    "manifold_pressure": (15e3, 1000e3, *_KPA),
    "exhaust_pressure": (15e3, 2000e3, *_KPA),
    "charge_temperature": (230.0, 460.0, "K", 1.0),
    "stoichiometric_ratio": (3.0, 40.0, "", 1.0),
    "relative_air_fuel_ratio": (0.5, 2.0, "", 1.0),
    "heat_of_vaporisation": (0.0, 1.5e6, "kJ/kg", 1e3),
    "evaporated_share": (0.0, 1.0, "%", 0.01),
    "ethanol_share": (0.0, 1.0, "", 1.0),
    "phaser_advance": (0.0, 90.0 * _DEGREE, *_DEG),
    "phaser_retard": (0.0, 90.0 * _DEGREE, *_DEG),
    "primary_length": (0.0, 3.0, *_MM),
}
"""What engines have of each: least, most, and the unit that a reader is told it in."""


def check_breather(engine: Breather) -> None:
    """Refuse a cylinder that lies outside usual sizes.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and the range that holds.
    """
    for name, (low, high, unit, scale) in _USUAL.items():
        if not low <= getattr(engine, name) <= high:
            within(name, getattr(engine, name), low, high, unit, scale)
    within("rod_length / stroke", engine.rod_length / engine.stroke, 0.75, 10.0)
