"""What takes oil in an engine, and how much at a gallery pressure."""

import math
from functools import cached_property
from typing import Annotated, NamedTuple

from compat.engineering.formula import formula, positive
from compat.engineering.lubrication.bearing_heat import GROOVES
from compat.engineering.lubrication.oil_pump import orifice_flow, valved_flow
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity, oil_density
from compat.engineering.lubrication.plain_bearing import pressure_fed_leakage
from compat.engineering.numerics.ranges import not_negative, within
from compat.record import record

__all__ = ["OilConsumers", "OilDemand", "check_oil_consumers", "oil_demand", "oil_taken"]

FLING_PRIMED = 20e3
"""Gallery pressure at which the crank's drillings run full, [Pa]."""


OVER_THEORY = 2.0
"""Oil that an engine's bearings pass over what theory gives them, [-].

Ends of grooves, drillings, chamfers and leaning journals leak besides. Set by what the trade measures, about
7 L/min for five mains of 58 mm and four big ends of 48 mm, 18 mm wide with 0.045 mm, at 300 kPa and 2500 rpm
(common practice, no source). How flow goes with size, clearance, pressure, viscosity and speed is theory.
"""

MAIN_GROOVE = 0.003
"""Width of a main shell's groove, [m]."""

PIN_HOLE = 0.005
"""Of the hole in a crankpin, [m]."""


class OilDemand(NamedTuple):
    """Oil that the engine takes at a gallery pressure."""

    total: float
    main_flow: float
    big_end_flow: float
    head_flow: float
    jet_flow: float
    other_flow: float


@record(kw_only=True)
class OilConsumers:
    """What takes oil in an engine, at one speed and oil temperature."""

    speed: Annotated[float, "rpm", "Crank speed [rad/s]"]
    oil_temperature: Annotated[float, "degC", "Gallery temperature [K]"]
    viscosity_40: Annotated[float, "mm^2/s", "Kinematic viscosity of the oil at 40 degC [m^2/s]"]
    viscosity_100: Annotated[float, "mm^2/s", "Kinematic viscosity of the oil at 100 degC [m^2/s]"]
    stroke: Annotated[
        float, "mm", "For the pressure that the turning crank adds on the way to the big ends [m]"
    ]
    main_bearings: Annotated[float, "number", "Number of main bearings [-]"]
    main_journal_diameter: Annotated[float, "mm", "Of the main journals [m]"]
    main_bearing_width: Annotated[float, "mm", "Length of a main bearing along its journal [m]"]
    main_clearance: Annotated[float, "mm", "Of the main bearings, on diameter [m]"]
    rod_bearings: Annotated[float, "number", "Number of big ends [-]"]
    rod_journal_diameter: Annotated[float, "mm", "Of the crankpins [m]"]
    rod_bearing_width: Annotated[float, "mm", "Length of a big-end bearing along its crankpin [m]"]
    rod_clearance: Annotated[float, "mm", "Of the big ends, on diameter [m]"]
    head_restrictor: Annotated[
        float, "mm", "Bore of the head's oil restrictors [m]; cams and tappets take no more"
    ] = 0.002
    head_restrictors: Annotated[float, "number", "Number of the head's oil restrictors [-]"] = 1
    jets: Annotated[float, "number", "Number of piston jets [-]"] = 0
    jet_flow: Annotated[float, "L/min", "Flow of each piston jet at 300 kPa [m^3/s]"] = 2 / 60e3
    jet_opening_pressure: Annotated[float, "kPa", "Gauge pressure at which the piston jets open [Pa]"] = 150e3
    other_flow: Annotated[
        float, "L/min", "All else at 300 kPa: turbocharger, phaser, balance shafts, tensioner [m^3/s]"
    ] = 0.0
    main_eccentricity: Annotated[float, "number", "Of the main journals, see `bearing_film` [-]"] = 0.8
    rod_eccentricity: Annotated[float, "number", "Of the crankpins, see `bearing_film` [-]"] = 0.85
    film_rise: Annotated[
        float,
        "K",
        "Bearing film above the gallery, see `pressure_fed_bearing`; about 3 K at idle, 20 at full speed [K]",
    ] = 12.0
    shear_loss: Annotated[float, "%", "Share of viscosity lost at the shear rates of a bearing [-]"] = 0.2

    @cached_property
    def film_viscosity(self) -> float:
        """Dynamic viscosity in the bearings' films [Pa*s]."""
        return dynamic_viscosity(
            self.oil_temperature + self.film_rise,
            self.viscosity_40,
            self.viscosity_100,
            shear_loss=self.shear_loss,
        )

    @cached_property
    def density(self) -> float:
        """Density of the oil in the gallery [kg/m^3]."""
        return oil_density(self.oil_temperature)

    @cached_property
    def main_flow(self) -> tuple[float, float]:
        """Of a main bearing what each pascal drives out [m^3/(s Pa)], and what is squeezed out [m^3/s]."""
        e = self.main_eccentricity
        # the loaded journal leaves its groove, in the upper shell, on the wide side: mean of the film's cube
        wide = 1 + 6 * e / math.pi + 1.5 * e**2 + 4 * e**3 / (3 * math.pi)
        return _bearing_flow(
            self, self.main_journal_diameter, self.main_bearing_width, MAIN_GROOVE, self.main_clearance,
            GROOVES["upper"] * wide,
        )  # fmt: skip

    @cached_property
    def big_end_flow(self) -> tuple[float, float]:
        """The same of a big end; the hole turns with the pin past the whole of the film."""
        return _bearing_flow(
            self, self.rod_journal_diameter, self.rod_bearing_width, PIN_HOLE, self.rod_clearance,
            GROOVES["hole"] * (1 + 1.5 * self.rod_eccentricity**2),
        )  # fmt: skip

    @cached_property
    def fling(self) -> float:
        """Pressure that oil gains on its way out from the main journal's surface to the crankpin's [Pa]."""
        radius = (self.stroke + self.rod_journal_diameter) / 2
        height = max(radius**2 - (self.main_journal_diameter / 2) ** 2, 0.0)
        return self.density * self.speed**2 * height / 2


def check_oil_consumers(engine: OilConsumers) -> None:
    """Refuse what makes no sense.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and the range that holds.
    """
    positive(speed=engine.speed, stroke=engine.stroke, head_restrictor=engine.head_restrictor)
    positive(
        main_bearings=engine.main_bearings,
        rod_bearings=engine.rod_bearings,
        main_clearance=engine.main_clearance,
        rod_clearance=engine.rod_clearance,
    )
    not_negative(
        head_restrictors=engine.head_restrictors,
        jets=engine.jets,
        jet_flow=engine.jet_flow,
        jet_opening_pressure=engine.jet_opening_pressure,
    )
    not_negative(other_flow=engine.other_flow)
    within("film_rise", engine.film_rise, 0.0, 80.0, "K")
    within("main_eccentricity", engine.main_eccentricity, 0.0, 1.0)
    within("rod_eccentricity", engine.rod_eccentricity, 0.0, 1.0)
    # refused where the film leaves the oil's range of temperature
    positive(film_viscosity=engine.film_viscosity)


def _bearing_flow(
    engine: OilConsumers,
    diameter: float,
    width: float,
    groove_width: float,
    clearance: float,
    spread: float,
) -> tuple[float, float]:
    """Oil of one bearing: what each pascal of feed drives out [m^3/(s Pa)], and what is squeezed out as the
    journal swings [m^3/s].

    A journal on its orbit moves against the film, as that is carried round, at about half the crank's turning:
    `journal_orbit` gives 0.4 to 0.7 of it at full load. All of what it squeezes out is made good by the feed.
    """
    within("groove_width", groove_width, 0.0, 0.6 * width, "mm", 1e-3)
    land = (width - groove_width) / 2
    driven = pressure_fed_leakage(diameter, clearance, land, 1.0, engine.film_viscosity, 0.0)
    squeezed = width * diameter / 2 * clearance / 2 * engine.speed
    return OVER_THEORY * driven * spread, OVER_THEORY * squeezed


def oil_taken(engine: OilConsumers, pressure: float) -> OilDemand:
    """Oil taken at a gallery pressure, not below zero, by an engine that was checked [m^3/s]."""
    driven, squeezed = engine.main_flow
    main = engine.main_bearings * (driven * pressure + squeezed)
    driven, squeezed = engine.big_end_flow
    at_pin = pressure + engine.fling * min(pressure / FLING_PRIMED, 1.0)
    big_end = engine.rod_bearings * (driven * at_pin + squeezed)
    head = engine.head_restrictors * orifice_flow(engine.head_restrictor, pressure, engine.density)
    jet = engine.jets * valved_flow(engine.jet_flow, pressure, engine.jet_opening_pressure)
    other = valved_flow(engine.other_flow, pressure)
    return OilDemand(main + big_end + head + jet + other, main, big_end, head, jet, other)


FLOW_SOURCE = (
    "Shigley, Mechanical Engineering Design, ch. 12 (bearings); orifices by the root of pressure; "
    "pump slip after Wilson"
)
FLOW_SCATTER = (
    "estimate: oil flow of engine bearings by theory, twice over: driven by the cube of the clearance, "
    "squeezed straight with it"
)


@formula(
    takes={"pressure": "kPa", "engine": OilConsumers},
    gives={
        "total": "L/min",
        "main_flow": "L/min",
        "big_end_flow": "L/min",
        "head_flow": "L/min",
        "jet_flow": "L/min",
        "other_flow": "L/min",
    },
    source=FLOW_SOURCE,
    scatter={
        "total": 0.20,
        "main_flow": 0.30,
        "big_end_flow": 0.40,
        "head_flow": 0.20,
        "jet_flow": 0.10,
        "other_flow": 0.20,
    },
    scatter_source=FLOW_SCATTER,
    heavy=True,
    # by differences over the whole band: the cube of a clearance is no straight line
    sensitive_to=("main_clearance", "rod_clearance"),
)
def oil_demand(pressure: float, engine: OilConsumers) -> OilDemand:
    """Oil that bearings, head, piston jets and the rest take at a gallery pressure.

    Parameters
    ----------
    pressure : float
        In the gallery, gauge, [Pa]
    engine : OilConsumers
        What takes oil, at one speed and oil temperature, SI units.

    Returns
    -------
    OilDemand
        Total, and the parts of it, [m^3/s]

    Raises
    ------
    OutOfRange
        When a size or number makes no sense or the temperature lies outside the oil's range.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> import math
    >>> demand = oil_demand(300e3, OilConsumers(
    ...     speed=4000 * math.pi / 30, oil_temperature=383.15, viscosity_40=75e-6, viscosity_100=11.5e-6,
    ...     stroke=0.087, main_bearings=5, main_journal_diameter=0.058, main_bearing_width=0.018,
    ...     main_clearance=0.044e-3, rod_bearings=4, rod_journal_diameter=0.048, rod_bearing_width=0.018,
    ...     rod_clearance=0.044e-3, jets=4))
    >>> round(demand.total * 60e3, 1), round(demand.jet_flow * 60e3, 1)
    (20.1, 8.0)
    """
    not_negative(pressure=pressure)
    check_oil_consumers(engine)
    return oil_taken(engine, pressure)
