"""What a cycle is worked out from: the cylinder at a speed, its charge and its phasing."""

import math
from typing import Annotated

from compat.engineering.formula import positive
from compat.engineering.numerics.ranges import within
from compat.record import record

__all__ = [
    "BEST_CA50",
    "LATEST_CA50",
    "ChargedCylinder",
    "CycleInput",
    "Cylinder",
    "check_cycle_input",
    "check_phasing",
]

BEST_CA50 = math.radians(8.0)
"""Half the charge burned where torque is best; common practice."""

LATEST_CA50 = math.radians(35.0)
"""Later than this combustion is unsteady and the exhaust too hot to hold; common practice."""

_RPM = math.pi / 30.0
_DEGREE = math.pi / 180.0


@record(kw_only=True)
class Cylinder:
    """A cylinder at one speed, with its fuel and mixture: what does not change with load."""

    bore: Annotated[float, "mm", "Cylinder diameter [m]"]
    stroke: Annotated[float, "mm", "Piston travel [m]"]
    rod_length: Annotated[float, "mm", "Rod length between centres [m]"]
    compression_ratio: Annotated[float, "number", "Geometric compression ratio [-]"]
    speed: Annotated[float, "rpm", "Engine speed [rad/s]"]
    charge_temperature: Annotated[float, "degC", "Temperature of the air in the inlet manifold [K]"]
    volumetric_efficiency: Annotated[
        float, "%", "Trapped air against the swept volume filled at manifold density [-]"
    ]
    octane: Annotated[float, "number", "Research octane number [-]"]
    stoichiometric_ratio: Annotated[float, "number", "Stoichiometric air/fuel ratio of the fuel [-]"]
    heating_value: Annotated[float, "MJ/kg", "Lower heating value [J/kg]"]
    heat_of_vaporisation: Annotated[float, "kJ/kg", "Heat of vaporisation of the fuel [J/kg]"]
    relative_air_fuel_ratio: Annotated[float, "number", "Lambda at this point [-]"]
    burn_factor: Annotated[float, "number", "Burn duration against that of a four-valve pent roof [-]"] = 1.0
    wall_temperature: Annotated[float, "degC", "Mean temperature of the walls [K]"] = 453.15
    inlet_closes: Annotated[
        float, "deg", "After bottom dead centre, at the lift where flow begins to matter (about 1 mm) [rad]"
    ] = math.radians(50.0)
    exhaust_opens: Annotated[
        float, "deg", "Before bottom dead centre, at the lift where flow begins to matter (about 1 mm) [rad]"
    ] = math.radians(50.0)
    evaporated_share: Annotated[
        float, "%", "Share of the fuel's heat of vaporisation that the charge itself gives [-]"
    ] = 0.30
    octane_sensitivity: Annotated[
        float,
        "number",
        "Research less motor octane number [-]: about 10 for pump petrol, 0 for reference fuels",
    ] = 10.0
    motor_octane_weight: Annotated[
        float,
        "number",
        "Weight of the motor octane number in the one that counts [-]; a half gives their mean (ASTM D4814)",
    ] = 0.5

    @property
    def octane_in_engine(self) -> float:
        """Octane index of Kalghatgi: research number less the sensitivity by the weight of the motor number."""
        return self.octane - self.motor_octane_weight * self.octane_sensitivity


@record(kw_only=True)
class ChargedCylinder(Cylinder):
    """A cylinder at one speed and load."""

    manifold_pressure: Annotated[float, "kPa", "Inlet manifold pressure, absolute [Pa]"]
    exhaust_pressure: Annotated[float, "kPa", "Pressure in the exhaust port, absolute [Pa]"]


@record(kw_only=True)
class CycleInput(ChargedCylinder):
    """All that one closed cycle is worked out from."""

    ca50: Annotated[
        float, "deg", "Crank angle after top dead centre where half the charge has burned [rad]"
    ] = BEST_CA50


def check_phasing(ca50: float) -> None:
    """Refuse a phasing for which the cycle model says nothing.

    Raises
    ------
    OutOfRange
        Saying what holds.
    """
    within("ca50", ca50, -30.0 * _DEGREE, 70.0 * _DEGREE, "deg after top dead centre", _DEGREE)


def check_cycle_input(given: CycleInput) -> None:
    """Refuse arguments for which the cycle model says nothing.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and the range that holds.
    """
    positive(bore=given.bore, stroke=given.stroke, rod_length=given.rod_length, octane=given.octane)
    within("bore", given.bore, 0.01, 1.0, "mm", 1e-3)
    within("stroke", given.stroke, 0.01, 1.5, "mm", 1e-3)
    within("rod_length / stroke", given.rod_length / given.stroke, 0.75, 10.0)
    within("compression_ratio", given.compression_ratio, 1.1, 40.0, "to 1")
    within("speed", given.speed, 50.0 * _RPM, 25000.0 * _RPM, "rpm", _RPM)
    within("manifold_pressure", given.manifold_pressure, 5e3, 1e6, "kPa absolute", 1e3)
    within("charge_temperature", given.charge_temperature, 230.0, 450.0, "K")
    within("volumetric_efficiency", given.volumetric_efficiency, 0.05, 1.6, "%", 0.01)
    within("octane", given.octane, 50.0, 130.0, "RON")
    within("heat_of_vaporisation", given.heat_of_vaporisation, 0.0, 1.5e6, "kJ/kg", 1e3)
    within("exhaust_pressure", given.exhaust_pressure, 5e3, 2e6, "kPa absolute", 1e3)
    check_phasing(given.ca50)
    within("burn_factor", given.burn_factor, 0.3, 2.0)
    within("wall_temperature", given.wall_temperature, 250.0, 650.0, "K")
    within("inlet_closes", given.inlet_closes, 0.0, 100.0 * _DEGREE, "deg after bottom dead centre", _DEGREE)
    within("exhaust_opens", given.exhaust_opens, 0.0, 90.0 * _DEGREE, "deg before bottom dead centre", _DEGREE)
    within("evaporated_share", given.evaporated_share, 0.0, 1.0, "%", 0.01)
    within("octane_sensitivity", given.octane_sensitivity, 0.0, 25.0)
    within("motor_octane_weight", given.motor_octane_weight, 0.0, 1.0)
