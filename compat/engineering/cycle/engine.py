"""A whole engine at one speed in its surroundings."""

import math
from dataclasses import fields
from functools import cached_property
from typing import Annotated

from compat.engineering.cycle.cycle_input import (
    BEST_CA50,
    LATEST_CA50,
    CycleInput,
    Cylinder,
    check_cycle_input,
    check_phasing,
)
from compat.engineering.formula import positive
from compat.engineering.numerics.ranges import not_negative, within
from compat.record import record

__all__ = ["Engine", "check_engine"]

_OF_CYLINDER = tuple(field.name for field in fields(Cylinder))


@record(kw_only=True)
class Engine(Cylinder):
    """As many like cylinders as an engine has, with its exhaust, its friction and the surroundings."""

    cylinders: Annotated[float, "number", "Number of cylinders [-]"]
    density: Annotated[float, "kg/L", "Density of the fuel [kg/m^3]"]
    ambient_pressure: Annotated[float, "kPa", "Pressure of the surroundings [Pa]"]
    exhaust_back_pressure: Annotated[
        float, "kPa", "Of the exhaust system behind any turbine, above ambient [Pa]"
    ] = 15e3
    back_pressure_to_boost: Annotated[
        float,
        "number",
        "Rise of the pressure before the turbine over the boost, both gauge [-]; 0 without a turbocharger",
    ] = 0.0
    ca50_best: Annotated[float, "deg", "Half the charge burned: where torque is best [rad]"] = BEST_CA50
    ca50_latest: Annotated[float, "deg", "Half the charge burned: the latest that is run [rad]"] = LATEST_CA50
    friction_factor: Annotated[float, "number", "Friction against the usual constants [-]"] = 1.0

    @cached_property
    def _of_cylinder(self) -> dict[str, float]:
        return {name: getattr(self, name) for name in _OF_CYLINDER}

    @property
    def displacement(self) -> float:
        """Swept volume of all cylinders [m^3]."""
        return self.cylinders * math.pi / 4 * self.bore**2 * self.stroke

    def power_of(self, bmep: float) -> float:
        """Brake power of a four-stroke engine [W]."""
        return bmep * self.displacement * self.speed / (4.0 * math.pi)

    def at(self, manifold_pressure: float, ca50: float) -> CycleInput:
        """Cycle of one cylinder at a manifold pressure and phasing."""
        return CycleInput(
            **self._of_cylinder,
            manifold_pressure=manifold_pressure,
            exhaust_pressure=self.exhaust_pressure(manifold_pressure),
            ca50=ca50,
        )

    def exhaust_pressure(self, manifold_pressure: float) -> float:
        """Pressure in the exhaust port at a manifold pressure, absolute [Pa]."""
        boost = max(manifold_pressure - self.ambient_pressure, 0.0)
        return self.ambient_pressure + self.exhaust_back_pressure + self.back_pressure_to_boost * boost


def check_engine(engine: Engine) -> None:
    """Refuse an engine that lies outside the model.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and the range that holds.
    """
    positive(
        density=engine.density,
        ambient_pressure=engine.ambient_pressure,
        friction_factor=engine.friction_factor,
    )
    not_negative(exhaust_back_pressure=engine.exhaust_back_pressure)
    within("cylinders", engine.cylinders, 1.0, 24.0)
    within("density", engine.density, 300.0, 1200.0, "kg/m^3")
    within("ambient_pressure", engine.ambient_pressure, 40e3, 110e3, "kPa absolute", 1e3)
    within("exhaust_back_pressure", engine.exhaust_back_pressure, 0.0, 300e3, "kPa above ambient", 1e3)
    within("back_pressure_to_boost", engine.back_pressure_to_boost, 0.0, 4.0)
    within("friction_factor", engine.friction_factor, 0.2, 3.0)
    check_cycle_input(engine.at(engine.ambient_pressure, engine.ca50_best))
    check_phasing(engine.ca50_latest)
    within(
        "ca50_latest",
        engine.ca50_latest,
        engine.ca50_best,
        math.pi,
        "deg after top dead centre",
        math.pi / 180,
    )
