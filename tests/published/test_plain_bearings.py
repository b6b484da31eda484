"""Plain bearings against published charts, worked examples and a numerical solution of Reynolds' equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from compat.engineering.formula import OutOfRange
from compat.engineering.lubrication.bearing_heat import GROOVES, pressure_fed_bearing
from compat.engineering.lubrication.plain_bearing import (
    bearing_film,
    film_eccentricity,
    least_film_wanted,
    pressure_fed_leakage,
    sommerfeld_number,
)

INCH = 0.0254
POUND = 4.4482216152605
REYN = 6894.757  # Pa*s

# Raimondi and Boyd, ASLE Trans. 1 (1958), as tabulated in bearing texts (from memory):
# width over diameter -> eccentricity -> (Sommerfeld number, friction variable f r/c).
CHART = {
    1.0: {0.1: (1.33, 26.4), 0.2: (0.631, 12.8), 0.4: (0.264, 5.79), 0.6: (0.121, 3.22), 0.8: (0.0446, 1.70)},
    0.5: {0.1: (4.31, 85.6), 0.2: (2.03, 40.9), 0.4: (0.779, 17.0), 0.6: (0.319, 8.10), 0.8: (0.0923, 3.26)},
    0.25: {0.1: (16.2, 322.0), 0.2: (7.57, 153.0), 0.4: (2.83, 61.1), 0.6: (1.07, 26.7), 0.8: (0.261, 8.80)},
}
POINTS = [(s, e, *row) for s, rows in CHART.items() for e, row in rows.items()]


@pytest.mark.parametrize(("slenderness", "eccentricity", "number", "friction"), POINTS)
def test_least_film_against_raimondi_and_boyd(
    slenderness: float, eccentricity: float, number: float, friction: float
) -> None:
    """Within the stated scatter: film 0 to 10 % above the chart, eccentricity within 4 %."""
    found = film_eccentricity(number, slenderness)
    assert found == pytest.approx(eccentricity, rel=0.04)
    assert -0.005 < (1 - found) / (1 - eccentricity) - 1 < 0.11


@pytest.mark.parametrize(("slenderness", "eccentricity", "number", "friction"), POINTS)
def test_friction_against_raimondi_and_boyd(
    slenderness: float, eccentricity: float, number: float, friction: float
) -> None:
    diameter, clearance, viscosity, speed = 0.05, 0.05e-3, 0.01, 300.0
    width = slenderness * diameter
    load = (diameter / clearance) ** 2 * viscosity * speed / (2 * math.pi) * diameter * width / number
    film = bearing_film(viscosity, speed, load, diameter, width, clearance)
    assert film.sommerfeld_number == pytest.approx(number)
    variable = film.power_loss / (speed * diameter / 2) / load * diameter / clearance
    assert variable == pytest.approx(friction, rel=0.10)


def test_narrow_bearing_is_ocvirk() -> None:
    """NACA TN 2808: S (L/D)^2 = (1 - e^2)^2 / (pi e sqrt(pi^2 (1 - e^2) + 16 e^2))."""
    for number in (100.0, 20.0, 5.0):
        e = film_eccentricity(number, 0.1)
        short = (1 - e**2) ** 2 / (math.pi * e * math.sqrt(math.pi**2 * (1 - e**2) + 16 * e**2))
        assert short / 0.1**2 == pytest.approx(number, rel=0.02)


def _reynolds(eccentricity: float, slenderness: float, around: int = 180, across: int = 24):
    """Finite differences of the finite bearing; pressures below zero are set to zero (Reynolds' condition).

    Returns Sommerfeld number, attitude angle [rad] and side flow over surface speed x clearance x width.
    """
    angle = np.linspace(0, 2 * np.pi, around, endpoint=False)
    turn, step = 2 * np.pi / around, 2.0 / across
    film = 1 + eccentricity * np.cos(angle)
    between = (1 + eccentricity * np.cos(angle + turn / 2)) ** 3
    ratio = (1 / slenderness) ** 2
    lines = across - 1
    index = np.arange(around * lines).reshape(around, lines)
    active = np.ones((around, lines), dtype=bool)
    source = -6 * eccentricity * np.sin(angle)
    for _ in range(60):
        rows, columns, values = [], [], []
        right = np.zeros(around * lines)
        for i in range(around):
            east, west, side = between[i] / turn**2, between[i - 1] / turn**2, ratio * film[i] ** 3 / step**2
            for j in range(lines):
                here = index[i, j]
                if not active[i, j]:
                    rows.append(here)
                    columns.append(here)
                    values.append(1.0)
                    continue
                right[here] = source[i]
                neighbours = [(index[(i + 1) % around, j], east), (index[i - 1, j], west)]
                neighbours += [(index[i, k], side) for k in (j - 1, j + 1) if 0 <= k < lines]
                rows += [here] * (len(neighbours) + 1)
                columns += [here, *(n for n, _ in neighbours)]
                values += [-(east + west + 2 * side), *(v for _, v in neighbours)]
        pressure = spsolve(coo_matrix((values, (rows, columns))).tocsr(), right).reshape(around, lines)
        # keep a node full where its pressure is positive, or where the flow into it would exceed the film
        padded = np.pad(pressure, ((0, 0), (1, 1)))
        inflow = (
            between[:, None] * (np.roll(pressure, -1, 0) - pressure)
            - np.roll(between, 1)[:, None] * (pressure - np.roll(pressure, 1, 0))
        ) / turn**2 + ratio * film[:, None] ** 3 * (padded[:, 2:] - 2 * pressure + padded[:, :-2]) / step**2
        wanted = np.where(active, pressure > 0, inflow - source[:, None] > 1e-9)
        if (wanted == active).all():
            break
        active = wanted
    pressure = np.maximum(pressure, 0)
    along = -(pressure * np.cos(angle)[:, None]).sum() * turn * step
    across_load = (pressure * np.sin(angle)[:, None]).sum() * turn * step
    number = 2 / (math.pi * math.hypot(along, across_load))
    gradient = (4 * pressure[:, 0] - pressure[:, 1]) / (2 * step)  # at the edge, where pressure is zero
    # h^3/(12 mu) dp/dz over both edges, over U c L
    side = (film**3 * gradient).sum() * turn / (12 * slenderness**2)
    return number, math.atan2(across_load, along), side


@pytest.mark.parametrize(
    ("eccentricity", "slenderness"), [(0.3, 0.35), (0.7, 0.35), (0.85, 0.35), (0.6, 0.8), (0.85, 0.7)]
)
def test_film_against_finite_differences(eccentricity: float, slenderness: float) -> None:
    """Own solution of Reynolds' equation with scipy, between the widths of the charts."""
    number, attitude, side = _reynolds(eccentricity, slenderness)
    found = film_eccentricity(number, slenderness)
    assert found == pytest.approx(eccentricity, rel=0.04)
    assert (1 - found) / (1 - eccentricity) == pytest.approx(1.05, abs=0.065)
    diameter, clearance, viscosity, speed = 0.05, 0.05e-3, 0.01, 300.0
    width = slenderness * diameter
    load = (diameter / clearance) ** 2 * viscosity * speed / (2 * math.pi) * diameter * width / number
    film = bearing_film(viscosity, speed, load, diameter, width, clearance)
    assert film.attitude_angle == pytest.approx(attitude, rel=0.22)
    assert film.side_flow / (speed * diameter / 2 * clearance / 2 * width) == pytest.approx(side, rel=0.25)


def test_numerical_solution_meets_the_chart() -> None:
    """The finite differences above are themselves held against Raimondi and Boyd."""
    number, attitude, _ = _reynolds(0.6, 1.0)
    assert number == pytest.approx(0.121, rel=0.02)
    assert math.degrees(attitude) == pytest.approx(50.6, abs=1.5)


class TestWorkedExample:
    """Shigley, Mechanical Engineering Design, ch. 12, examples 1 to 4 (from memory).

    4 ureyn, 30 turns a second, 500 lbf, radius 0.75 in, clearance 0.0015 in (radial), 1.5 in wide: S 0.135,
    least film 0.00063 in by chart, friction torque 2.62 lbf in.
    """

    given = (4e-6 * REYN, 30 * 2 * math.pi, 500 * POUND, 1.5 * INCH, 1.5 * INCH, 0.003 * INCH)

    def test_sommerfeld_number(self) -> None:
        assert sommerfeld_number(*self.given) == pytest.approx(0.135, abs=0.0005)

    def test_least_film(self) -> None:
        film = bearing_film(*self.given)
        assert film.least_film / INCH == pytest.approx(0.00063, rel=0.11)

    def test_friction(self) -> None:
        torque = bearing_film(*self.given).power_loss / self.given[1]
        assert torque / POUND / INCH == pytest.approx(2.62, rel=0.10)


def test_leakage_by_integrating_the_gap() -> None:
    """Flow between parallel plates (any text) round the journal: twice the integral of p h^3/(12 mu l) r."""
    radius, radial, land, pressure, viscosity, e = 0.029, 22e-6, 0.0075, 400e3, 0.006, 0.7
    side = quad(
        lambda a: pressure * (radial * (1 + e * math.cos(a))) ** 3 / (12 * viscosity * land) * radius,
        0,
        2 * math.pi,
    )[0]
    assert pressure_fed_leakage(2 * radius, 2 * radial, land, pressure, viscosity, e) == pytest.approx(2 * side)
    half = pressure_fed_leakage(2 * radius, 2 * radial, land, pressure, viscosity, e, 0.5)
    assert half == pytest.approx(side)


def test_pressure_fed_example_of_shigley() -> None:
    """Ch. 12, circumferential groove (statement and equation from memory): 1.750 in, bore 1.753 in,
    lands 0.875 in, 30 psi, 900 lbf, 3000 rpm, SAE 20 from 120 degF.

    dT = 0.0123 (f r/c) S W^2 / ((1 + 1.5 e^2) ps r^4) in degF, lbf, psi, in; film half way up. Chart of
    Raimondi and Boyd at l'/d = 1/2; viscosity by the fit of Seireg and Dandage (same chapter),
    0.0136 exp(1271.6/(T + 95)) ureyn.
    """

    def viscosity(fahrenheit: float) -> float:
        return 0.0136e-6 * math.exp(1271.6 / (fahrenheit + 95))

    def kinematic(celsius: float) -> float:
        return viscosity(celsius * 1.8 + 32) * REYN / (870 - 0.64 * (celsius - 15))

    chart = sorted((number, e, friction) for e, (number, friction) in CHART[0.5].items())
    numbers = np.log([row[0] for row in chart])

    def surplus(fahrenheit: float) -> float:
        load = 900 / (4 * 0.875 * 0.875)
        number = (0.875 / 0.0015) ** 2 * viscosity(fahrenheit) * 50 / load
        e = np.interp(math.log(number), numbers, [row[1] for row in chart])
        friction = math.exp(np.interp(math.log(number), numbers, np.log([row[2] for row in chart])))
        rise = 0.0123 * friction * number * 900**2 / ((1 + 1.5 * e**2) * 30 * 0.875**4)
        return 120 + rise / 2 - fahrenheit

    state = pressure_fed_bearing(
        900 * POUND,
        3000 * math.pi / 30,
        1.750 * INCH,
        1.8 * INCH,
        0.003 * INCH,
        30 * 6894.757,
        (120 - 32) / 1.8 + 273.15,
        kinematic(40),
        kinematic(100),
        groove="full",
        groove_width=0.05 * INCH,
        shear_loss=0.0,
        squeezed_share=0.0,
    )
    assert (state.film_temperature - 273.15) * 1.8 + 32 == pytest.approx(brentq(surplus, 121, 250), abs=3)


def test_trumpler_film() -> None:
    """Shigley ch. 12: h0 >= 0.0002 + 0.00004 d, inches."""
    assert least_film_wanted(2 * INCH) / INCH == pytest.approx(0.00028)


def test_heat_balance_closes() -> None:
    """All friction heat leaves with the oil, the film half way up the rise."""
    state = pressure_fed_bearing(8e3, 680.0, 0.058, 0.018, 0.044e-3, 400e3, 383.15, 75e-6, 11.5e-6)
    density = 870 - 0.64 * (state.film_temperature - 288.15)
    rise = state.power_loss / (density * 2100 * state.flow)
    assert state.film_temperature == pytest.approx(383.15 + rise / 2, abs=1e-3)


def test_grooves_rank_by_their_flow() -> None:
    flows = [
        pressure_fed_bearing(4e3, 400.0, 0.058, 0.018, 0.044e-3, 300e3, 373.15, 75e-6, 11.5e-6, groove=g).flow
        for g in GROOVES
    ]
    assert flows == sorted(flows, reverse=True)


def test_hopeless_bearings_are_refused() -> None:
    with pytest.raises(OutOfRange, match="no film"):
        bearing_film(0.005, 0.01, 50e3, 0.058, 0.018, 0.044e-3)
    with pytest.raises(OutOfRange, match="200 degC"):
        pressure_fed_bearing(30e3, 1200.0, 0.058, 0.018, 0.02e-3, 50e3, 423.15, 75e-6, 11.5e-6)
