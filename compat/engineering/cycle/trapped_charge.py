"""What the closed cycle starts from: geometry over crank angle, and the charge trapped in the cylinder."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput, Cylinder
from compat.engineering.cycle.working_gas import WorkingGas, working_gas
from compat.engineering.formula import OutOfRange, formula, positive

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "AIR_GAS_CONSTANT",
    "CylinderGeometry",
    "TrappedCharge",
    "Trapping",
    "burn_duration",
    "closed_period",
    "cylinder_volume",
    "residual_gas_fraction",
    "swept_volume_at",
    "trapezium_weights",
    "trapped_charge",
]

AIR_GAS_CONSTANT = 287.05
"""Dry air [J/(kg K)]."""

RESIDUAL_TEMPERATURE = 1100.0
"""Temperature of the gas left over from the last cycle [K]; common practice 1000 to 1300 K at full load."""

CHARGE_HEATING = 25.0
"""What inlet port, valve and cylinder add to the charge before the inlet closes [K]; common practice."""

COLDEST_CHARGE = 240.0
"""Temperature at inlet closing below which the model is not used [K]."""

STEPS = 260
"""Steps of the closed period; about one degree of crank each."""

_RPM = math.pi / 30.0


def swept_volume_at(crank_angle: Floats, bore: float, stroke: float, rod_length: float) -> Floats:
    """Volume that the piston has left by crank angle since top dead centre [m^3], pin on the bore axis."""
    import numpy as np

    crank = stroke / 2
    sine = crank * np.sin(crank_angle)
    drop = crank * (1.0 - np.cos(crank_angle)) + rod_length - np.sqrt(rod_length**2 - sine**2)
    swept: Floats = math.pi / 4 * bore**2 * drop
    return swept


def cylinder_volume(
    crank_angle: Floats, bore: float, stroke: float, rod_length: float, compression_ratio: float
) -> Floats:
    """Volume above the piston by crank angle from top dead centre [m^3], pin on the bore axis.

    >>> import numpy
    >>> v = cylinder_volume(numpy.array([0.0, math.pi]), 0.086, 0.086, 0.145, 10.0)
    >>> round(float(v[1] / v[0]), 9)
    10.0
    """
    clearance = math.pi / 4 * bore**2 * stroke / (compression_ratio - 1.0)
    return clearance + swept_volume_at(crank_angle, bore, stroke, rod_length)


def trapezium_weights(steps: Floats) -> Floats:
    """What each value of a trace is multiplied by to sum it over steps by the trapezium rule.

    >>> import numpy
    >>> trapezium_weights(numpy.array([1.0, 2.0, 4.0])).tolist()
    [0.5, 1.5, 3.0, 2.0]
    """
    import numpy as np

    weights = np.zeros(steps.size + 1)
    weights[:-1] = 0.5 * steps
    weights[1:] += 0.5 * steps
    return weights


class CylinderGeometry(NamedTuple):
    """Closed period on its grid: crank angle [rad], volume [m^3] and what comes of it.

    `log_step` and `log_slope` are how its logarithm moves from point to point, and by crank angle [1/rad];
    `volume_weight` is what each pressure is multiplied by for the work [m^3], `work_weight` that by volume [-];
    `film` the wall area over volume to the 0.86, which Hohenberg's coefficient asks for; `polytropic` about how
    many times as warm a gas grows that is compressed from inlet closing [-].
    """

    crank_angle: Floats
    volume: Floats
    log_step: Floats
    log_slope: Floats
    angle_step: float
    film: Floats
    volume_weight: Floats
    work_weight: Floats
    polytropic: Floats


@lru_cache(maxsize=32)
def _swept_closed(
    bore: float, stroke: float, rod_length: float, inlet_closes: float, exhaust_opens: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Crank angles of the closed period [rad], the volume swept from top dead centre there [m^3], how that
    moves by crank angle, for the log of the whole [m^3/rad], and what a pressure is multiplied by for the work.
    """
    import numpy as np

    angle = np.linspace(-math.pi + inlet_closes, math.pi - exhaust_opens, STEPS + 1)
    swept = swept_volume_at(angle, bore, stroke, rod_length)
    steps = swept[1:] - swept[:-1]
    weights = trapezium_weights(steps)
    slope = weights / float(angle[1] - angle[0])
    slope[0] *= 2.0
    slope[-1] *= 2.0
    return angle, swept, slope, weights


@lru_cache(maxsize=32)
def closed_period(
    bore: float,
    stroke: float,
    rod_length: float,
    compression_ratio: float,
    inlet_closes: float,
    exhaust_opens: float,
) -> CylinderGeometry:
    """Grid from inlet closing to exhaust opening; worked out once for each geometry.

    Notes
    -----
    Wall area is a flat crown, a roof of 1.2 times its area (four-valve pent roof, an estimate), and the
    bore laid bare.
    """
    import numpy as np

    angle, swept, slope, weights = _swept_closed(bore, stroke, rod_length, inlet_closes, exhaust_opens)
    piston = math.pi / 4 * bore**2
    volume = piston * stroke / (compression_ratio - 1.0) + swept
    area = 2.2 * piston + 4.0 / bore * volume
    log = np.log(volume)
    return CylinderGeometry(
        angle,
        volume,
        log[1:] - log[:-1],
        slope / volume,
        float(angle[1] - angle[0]),
        area * np.exp(-0.86 * log),
        weights,
        weights / volume,
        np.exp(0.3 * (log[0] - log)),
    )


class TrappedCharge(NamedTuple):
    """Charge at inlet closing, of one cylinder: masses [kg], temperature [K], pressure [Pa]."""

    gas: WorkingGas
    air: float
    fuel: float
    residual: float
    temperature: float
    pressure: float
    fresh_inflow_enthalpy: float

    @property
    def mass(self) -> float:
        """All that is trapped [kg]."""
        return self.air + self.fuel + self.residual

    @property
    def residual_fraction(self) -> float:
        """Share of burned gas left from the last cycle [-]."""
        return self.residual / self.mass


class Trapping:
    """What a cylinder traps at any manifold and exhaust pressure; what does not hang on them, worked out once.

    Parameters
    ----------
    cylinder : Cylinder
        Cylinder, fuel and mixture.
    """

    def __init__(self, cylinder: Cylinder) -> None:
        gas = self.gas = working_gas(
            cylinder.stoichiometric_ratio, cylinder.heating_value, cylinder.relative_air_fuel_ratio
        )
        swept = math.pi / 4 * cylinder.bore**2 * cylinder.stroke
        clearance = swept / (cylinder.compression_ratio - 1.0)
        density = 1.0 / (AIR_GAS_CONSTANT * cylinder.charge_temperature)
        self._air = cylinder.volumetric_efficiency * density * swept
        self._fuel = 1.0 / (cylinder.stoichiometric_ratio * cylinder.relative_air_fuel_ratio)
        self._burned_constant = float(gas.burned_gas_constant[0])
        self._residual = clearance / (self._burned_constant * RESIDUAL_TEMPERATURE)
        self._inflow = gas.enthalpy(cylinder.charge_temperature + CHARGE_HEATING, 0.0)
        self._inflow -= gas.fuel_share * cylinder.evaporated_share * cylinder.heat_of_vaporisation
        self._left_over = gas.enthalpy(RESIDUAL_TEMPERATURE, 1.0)
        self._evaporated = cylinder.evaporated_share
        self.geometry = closed_period(
            cylinder.bore,
            cylinder.stroke,
            cylinder.rod_length,
            cylinder.compression_ratio,
            cylinder.inlet_closes,
            cylinder.exhaust_opens,
        )
        """Its closed period."""
        self._volume = float(self.geometry.volume[0])

    def at(self, manifold_pressure: float, exhaust_pressure: float) -> TrappedCharge:
        """The charge at these pressures, absolute [Pa].

        Raises
        ------
        OutOfRange
            When evaporation would chill the charge below `COLDEST_CHARGE`.
        """
        air = self._air * manifold_pressure
        fuel = self._fuel * air
        residual = self._residual * exhaust_pressure
        mass = air + fuel + residual
        share = residual / mass
        gas, inflow = self.gas, self._inflow
        temperature = gas.temperature_of((1.0 - share) * inflow + share * self._left_over, share)
        if temperature < COLDEST_CHARGE:
            raise OutOfRange(
                f"the charge would be {temperature:.0f} K at inlet closing, too cold for the fuel to evaporate "
                f"in it; evaporated_share ({self._evaporated:.0%}) is too much, or charge_temperature low"
            )
        constant = (1.0 - share) * gas.fresh_gas_constant + share * self._burned_constant
        pressure = mass * constant * temperature / self._volume
        return TrappedCharge(gas, air, fuel, residual, temperature, pressure, (air + fuel) * inflow)


def trapped_charge(given: CycleInput) -> TrappedCharge:
    """Charge of a cylinder: air by volumetric efficiency, fuel by lambda, residual gas by clearance volume.

    Notes
    -----
    The temperature follows from mixing fresh charge (warmed by `CHARGE_HEATING`, cooled by its share of the
    fuel's evaporation) with residual gas at constant pressure; the pressure from mass and temperature.

    Raises
    ------
    OutOfRange
        When evaporation would chill the charge below `COLDEST_CHARGE`.
    """
    return Trapping(given).at(given.manifold_pressure, given.exhaust_pressure)


@formula(
    takes={"speed": "rpm", "relative_air_fuel_ratio": "number", "burn_factor": "number"},
    gives="deg",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 9 (trends); level common practice",
    scatter=0.20,
    scatter_source="own judgement: chambers of one class differ by about a fifth",
)
def burn_duration(speed: float, relative_air_fuel_ratio: float, burn_factor: float = 1.0) -> float:
    """Crank angle from one tenth to nine tenths of the charge burned.

    Parameters
    ----------
    speed : float
        Engine speed [rad/s].
    relative_air_fuel_ratio : float
        Lambda [-].
    burn_factor : float
        Chamber against a four-valve pent roof with a central plug [-]: 1.2 for a two-valve wedge.

    Returns
    -------
    float
        Duration [rad].

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    17 degrees at 3000 rpm at the quickest mixture (lambda 0.9), growing with speed to the power 0.2, as
    turbulence follows piston speed almost but not quite; one tenth more at lambda 0.9 +/- 0.22. The level
    and the exponent are estimates from common practice.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, sections 9.2 and 9.3.

    Examples
    --------
    >>> round(math.degrees(burn_duration(3000 * math.pi / 30, 0.9)), 2)
    17.0
    """
    positive(speed=speed, relative_air_fuel_ratio=relative_air_fuel_ratio, burn_factor=burn_factor)
    off = relative_air_fuel_ratio - 0.9
    reference = math.radians(17.0) * (1.0 + 2.0 * off * off)
    return float(burn_factor * reference * (speed / (3000.0 * _RPM)) ** 0.2)


@formula(
    takes={
        "compression_ratio": "number",
        "manifold_pressure": "kPa",
        "charge_temperature": "degC",
        "volumetric_efficiency": "%",
        "exhaust_pressure": "kPa",
    },
    gives="%",
    source="Heywood, Internal Combustion Engine Fundamentals, section 6.4 (clearance volume of exhaust gas)",
    scatter=0.4,
    scatter_source="own judgement: valve overlap is not modelled",
)
def residual_gas_fraction(
    compression_ratio: float,
    manifold_pressure: float,
    charge_temperature: float,
    volumetric_efficiency: float,
    exhaust_pressure: float,
) -> float:
    """Share of the trapped gas that is left from the last cycle, without back-flow in the overlap.

    Parameters
    ----------
    compression_ratio : float
        Compression ratio [-].
    manifold_pressure : float
        Inlet manifold pressure, absolute [Pa].
    charge_temperature : float
        Temperature of the air in the manifold [K].
    volumetric_efficiency : float
        Trapped air against the swept volume filled at manifold density [-].
    exhaust_pressure : float
        Pressure in the exhaust port, absolute [Pa].

    Returns
    -------
    float
        Residual gas over air and residual gas together [-].

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the compression ratio not above one.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, section 6.4.

    Examples
    --------
    >>> round(residual_gas_fraction(10.0, 100e3, 300.0, 0.9, 105e3), 3)
    0.034
    """
    positive(
        compression_ratio=compression_ratio,
        manifold_pressure=manifold_pressure,
        charge_temperature=charge_temperature,
        volumetric_efficiency=volumetric_efficiency,
        exhaust_pressure=exhaust_pressure,
    )
    if compression_ratio <= 1.0:
        raise OutOfRange(f"compression_ratio is {compression_ratio:g}; it must be above 1")
    residual = exhaust_pressure / (compression_ratio - 1.0) / RESIDUAL_TEMPERATURE
    air = volumetric_efficiency * manifold_pressure / charge_temperature
    return residual / (residual + air)
