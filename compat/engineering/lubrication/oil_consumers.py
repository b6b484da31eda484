"""What takes oil in an engine, and how much at a gallery pressure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from compat.engineering.formula import formula, positive
from compat.engineering.lubrication.bearing_heat import bearing_oil_flow
from compat.engineering.lubrication.oil_pump import orifice_flow, valved_flow
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity, oil_density
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["CONSUMERS", "OilConsumers", "OilDemand", "oil_consumers", "oil_demand"]

FLING_PRIMED = 20e3
"""Gallery pressure at which the crank's drillings run full, [Pa]."""


class OilDemand(NamedTuple):
    """Oil that the engine takes at a gallery pressure."""

    total: float
    main_flow: float
    big_end_flow: float
    head_flow: float
    jet_flow: float
    other_flow: float


@dataclass(frozen=True)
class OilConsumers:
    """What takes oil, at one speed and temperature."""

    speed: float
    stroke: float
    bearing_viscosity: float
    density: float
    mains: tuple[float, float, float, float, float]
    big_ends: tuple[float, float, float, float, float]
    head: tuple[float, float]
    jets: tuple[float, float, float]
    other: float

    def demand(self, pressure: float) -> OilDemand:
        """Oil taken at a gallery pressure, [m^3/s]."""
        count, diameter, width, clearance, eccentricity = self.mains
        main = count * bearing_oil_flow(
            diameter,
            width,
            0.003,
            clearance,
            pressure,
            self.bearing_viscosity,
            eccentricity,
            self.speed,
            "upper",
        )
        rods, pin, rod_width, rod_clearance, rod_eccentricity = self.big_ends
        # oil gains pressure on its way out from the main journal's surface to the crankpin's
        radius = (self.stroke + pin) / 2
        fling = self.density * self.speed**2 * max(radius**2 - (diameter / 2) ** 2, 0.0) / 2
        big_end = rods * bearing_oil_flow(
            pin,
            rod_width,
            0.005,
            rod_clearance,
            pressure + fling * min(pressure / FLING_PRIMED, 1.0),
            self.bearing_viscosity,
            rod_eccentricity,
            self.speed,
            "hole",
        )
        restrictors, bore = self.head
        head = restrictors * orifice_flow(bore, pressure, self.density)
        jet = self.jets[0] * valved_flow(self.jets[1], pressure, self.jets[2])
        other = valved_flow(self.other, pressure)
        return OilDemand(main + big_end + head + jet + other, main, big_end, head, jet, other)


def oil_consumers(
    speed: float,
    oil_temperature: float,
    viscosity_40: float,
    viscosity_100: float,
    stroke: float,
    mains: tuple[float, float, float, float, float],
    big_ends: tuple[float, float, float, float, float],
    head: tuple[float, float],
    jets: tuple[float, float, float],
    other: float,
    film_rise: float,
    shear_loss: float,
) -> OilConsumers:
    """Gather what takes oil, refusing what makes no sense; arguments as for `oil_demand`."""
    positive(speed=speed, stroke=stroke, head_restrictor=head[1])
    positive(
        main_bearings=mains[0], rod_bearings=big_ends[0], main_clearance=mains[3], rod_clearance=big_ends[3]
    )
    not_negative(head_restrictors=head[0], jets=jets[0], jet_flow=jets[1], jet_opening_pressure=jets[2])
    not_negative(other_flow=other)
    within("film_rise", film_rise, 0.0, 80.0, "K")
    for name, value in (("main_eccentricity", mains[4]), ("rod_eccentricity", big_ends[4])):
        within(name, value, 0.0, 1.0)
    film = dynamic_viscosity(oil_temperature + film_rise, viscosity_40, viscosity_100, shear_loss=shear_loss)
    return OilConsumers(speed, stroke, film, oil_density(oil_temperature), mains, big_ends, head, jets, other)


CONSUMERS = {
    "speed": "rpm",
    "oil_temperature": "degC",
    "viscosity_40": "mm^2/s",
    "viscosity_100": "mm^2/s",
    "stroke": "mm",
    "main_bearings": "number",
    "main_journal_diameter": "mm",
    "main_bearing_width": "mm",
    "main_clearance": "mm",
    "rod_bearings": "number",
    "rod_journal_diameter": "mm",
    "rod_bearing_width": "mm",
    "rod_clearance": "mm",
    "head_restrictor": "mm",
    "head_restrictors": "number",
    "jets": "number",
    "jet_flow": "L/min",
    "jet_opening_pressure": "kPa",
    "other_flow": "L/min",
    "main_eccentricity": "number",
    "rod_eccentricity": "number",
    "film_rise": "K",
    "shear_loss": "%",
}
FLOW_SOURCE = (
    "Shigley, Mechanical Engineering Design, ch. 12 (bearings); orifices by the root of pressure; "
    "pump slip after Wilson"
)
FLOW_SCATTER = "estimate: oil flow of engine bearings by steady theory; goes with the cube of the clearance"


@formula(
    takes={"pressure": "kPa", **CONSUMERS},
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
)
def oil_demand(
    pressure: float,
    speed: float,
    oil_temperature: float,
    viscosity_40: float,
    viscosity_100: float,
    stroke: float,
    main_bearings: float,
    main_journal_diameter: float,
    main_bearing_width: float,
    main_clearance: float,
    rod_bearings: float,
    rod_journal_diameter: float,
    rod_bearing_width: float,
    rod_clearance: float,
    head_restrictor: float = 0.002,
    head_restrictors: float = 1,
    jets: float = 0,
    jet_flow: float = 2 / 60e3,
    jet_opening_pressure: float = 150e3,
    other_flow: float = 0.0,
    main_eccentricity: float = 0.8,
    rod_eccentricity: float = 0.85,
    film_rise: float = 12.0,
    shear_loss: float = 0.2,
) -> OilDemand:
    """Oil that bearings, head, piston jets and the rest take at a gallery pressure.

    Parameters
    ----------
    pressure : float
        In the gallery, gauge, [Pa]
    speed, oil_temperature : float
        Crank speed and gallery temperature, [rad/s, K]
    viscosity_40, viscosity_100 : float
        Kinematic viscosity of the oil at 40 and 100 degC, [m^2/s]
    stroke : float
        For the pressure that the turning crank adds on the way to the big ends, [m]
    main_bearings, main_journal_diameter, main_bearing_width, main_clearance : float
        Number [-]; journal, length along it, clearance on diameter, [m]
    rod_bearings, rod_journal_diameter, rod_bearing_width, rod_clearance : float
        The same of the big ends.
    head_restrictor, head_restrictors : float, optional
        Bore of the head's oil restrictors [m] and their number; cams and tappets take no more
    jets, jet_flow, jet_opening_pressure : float, optional
        Piston jets, flow of each at 300 kPa [m^3/s], gauge pressure at which they open [Pa]
    other_flow : float, optional
        All else at 300 kPa: turbocharger, phaser, balance shafts, tensioner, [m^3/s]
    main_eccentricity, rod_eccentricity : float, optional
        Of the journals, see `bearing_film`, [-]
    film_rise : float, optional
        Bearing film above the gallery, see `pressure_fed_bearing`; about 3 K at idle, 20 at full speed, [K]
    shear_loss : float, optional
        Share of viscosity lost at the shear rates of a bearing, [-]

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
    >>> demand = oil_demand(
    ...     300e3, 4000 * math.pi / 30, 383.15, 75e-6, 11.5e-6, 0.087,
    ...     5, 0.058, 0.018, 0.044e-3, 4, 0.048, 0.018, 0.044e-3, jets=4)
    >>> round(demand.total * 60e3, 1), round(demand.jet_flow * 60e3, 1)
    (13.4, 8.0)
    """
    not_negative(pressure=pressure)
    return oil_consumers(
        speed,
        oil_temperature,
        viscosity_40,
        viscosity_100,
        stroke,
        (main_bearings, main_journal_diameter, main_bearing_width, main_clearance, main_eccentricity),
        (rod_bearings, rod_journal_diameter, rod_bearing_width, rod_clearance, rod_eccentricity),
        (head_restrictors, head_restrictor),
        (jets, jet_flow, jet_opening_pressure),
        other_flow,
        film_rise,
        shear_loss,
    ).demand(pressure)
