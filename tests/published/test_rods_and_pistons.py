"""Rods and pistons against worked examples of machine design."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import dblquad, quad, solve_bvp
from scipy.optimize import brentq

from compat.engineering.running_gear.columns import column_load, euler_load
from compat.engineering.running_gear.inertia import gas_load
from compat.engineering.running_gear.piston_strength import piston_crown_stress, piston_pin_stress
from compat.engineering.running_gear.rod_strength import rod_buckling_load, rod_fatigue_factor, rod_section


def test_rod_of_khurmi_and_gupta() -> None:
    """A Textbook of Machine Design, connecting rod example (from memory): piston 100 mm, 3.15 MPa, factor 6.

    Gas load about 24 740 N; I-section with radius of gyration 1.78 t; t about 6.8 mm, taken as 7.
    """
    load = gas_load(3.15e6, 0.100)
    assert load == pytest.approx(24740, abs=5)

    def spare(thickness: float) -> float:
        area = 11 * thickness**2
        gyration = rod_section(area).in_plane_gyration
        # Rankine's formula, as the book has it: 320 MPa and 1/7500 for mild steel with pinned ends
        return 320e6 * area / (1 + (0.380 / gyration) ** 2 / 7500) - 6 * load

    thickness = brentq(spare, 3e-3, 12e-3)
    assert thickness * 1e3 == pytest.approx(6.85, abs=0.06)
    assert math.ceil(thickness * 1e3) == 7
    assert rod_section(11 * 0.007**2).in_plane_gyration == pytest.approx(1.78 * 0.007, rel=2e-3)


def test_section_radii_by_integration() -> None:
    """I-section 4t x 5t by double integration (scipy), t = 1."""

    def second_moment(power_x: int, power_y: int) -> float:
        def over(x: float, y: float) -> float:
            return x**power_x * y**power_y

        flange = dblquad(lambda y, x: over(x, y), -2, 2, 1.5, 2.5)[0]
        web = dblquad(lambda y, x: over(x, y), -0.5, 0.5, -1.5, 1.5)[0]
        return 2 * flange + web

    section = rod_section(11.0)
    assert section.web_thickness == pytest.approx(1.0)
    assert section.in_plane_gyration == pytest.approx(math.sqrt(second_moment(0, 2) / 11))
    assert section.side_gyration == pytest.approx(math.sqrt(second_moment(2, 0) / 11))
    turned = rod_section(11.0, "h_section")
    assert (turned.in_plane_gyration, turned.side_gyration) == (
        section.side_gyration,
        section.in_plane_gyration,
    )


def _least_diameter(length: float) -> float:
    def spare(d: float) -> float:
        return column_load(math.pi / 4 * d**2, d / 4, length, 500e6, 1.0, 207e9) - 88e3

    return float(brentq(spare, 5e-3, 80e-3))


def test_slender_round_column_of_shigley() -> None:
    """Ch. 4 (from memory): 22 kN with factor 4, pinned, 1.5 m, Sy 500 MPa, E 207 GPa: 37.5 mm by Euler."""
    assert _least_diameter(1.5) * 1e3 == pytest.approx(37.5, abs=0.06)


def test_short_round_column_by_the_closed_form_of_shigley() -> None:
    """Ch. 4: d = 2 sqrt(P/(pi Sy) + Sy l^2/(pi^2 C E)), Johnson's parabola solved for a round column."""
    length = 0.375
    closed = 2 * math.sqrt(88e3 / (math.pi * 500e6) + 500e6 * length**2 / (math.pi**2 * 207e9))
    assert _least_diameter(length) == pytest.approx(closed, rel=1e-9)


def test_johnson_touches_euler_at_half_the_yield_strength() -> None:
    """Shigley ch. 4: (l/k)1 = sqrt(2 pi^2 C E / Sy); value and slope agree there."""
    limit = math.sqrt(2 * math.pi**2 * 206e9 / 700e6)
    area, gyration = 176e-6, 7e-3

    def at(slenderness: float) -> float:
        return column_load(area, gyration, slenderness * gyration, 700e6)

    assert at(limit) == pytest.approx(area * 350e6, rel=1e-9)
    assert at(limit) == pytest.approx(euler_load(206e9, area, gyration, limit * gyration), rel=1e-9)
    step = 1e-4 * limit
    before, after = at(limit) - at(limit - step), at(limit + step) - at(limit)
    assert before == pytest.approx(after, rel=1e-3)


def test_euler_load_by_solving_the_beam() -> None:
    """Lowest eigenvalue of y'' + k^2 y = 0 between pins, found by scipy: the load is E I k^2."""

    def equations(x, y, p):
        return np.vstack([y[1], -(p[0] ** 2) * y[0]])

    def ends(left, right, p):
        return np.array([left[0], right[0], left[1] - 1])

    x = np.linspace(0, 0.148, 11)
    guess = np.vstack([np.sin(np.pi * x / 0.148), np.cos(np.pi * x / 0.148)])
    solved = solve_bvp(equations, ends, x, guess, p=[20.0])
    assert solved.success
    area, gyration = 176e-6, 7e-3
    assert euler_load(206e9, area, gyration, 0.148) == pytest.approx(
        206e9 * area * gyration**2 * float(solved.p[0]) ** 2, rel=1e-4
    )


def test_rod_is_about_as_strong_both_ways_with_the_textbook_section() -> None:
    """Khurmi and Gupta: Ixx = 4 Iyy makes a rod equally strong in both planes; 4t x 5t is near it (3.2)."""
    section = rod_section(182e-6)
    assert (section.in_plane_gyration / section.side_gyration) ** 2 == pytest.approx(3.2, abs=0.01)
    loads = rod_buckling_load(182e-6, section.in_plane_gyration, section.side_gyration, 0.148, 700e6)
    assert loads.in_plane == pytest.approx(loads.side, rel=0.06)
    assert loads.least == min(loads.in_plane, loads.side)


def test_fatigue_factor_on_the_goodman_line() -> None:
    """Shigley ch. 6: 1/n = sa/Se + sm/Sut, here with Se and loads put in by hand."""
    amplitude, mean = 1.3 * 25e3 / 180e-6, 5e3 / 180e-6
    expected = 1 / (amplitude / (0.85 * 0.8 * 450e6) + mean / 900e6)
    assert rod_fatigue_factor(20e3, 30e3, 180e-6, 900e6) == pytest.approx(expected)
    # tension and compression the other way round: the mean presses, and gets no credit
    assert rod_fatigue_factor(30e3, 20e3, 180e-6, 900e6) > expected


def test_pin_moment_by_integrating_the_pressures() -> None:
    """Shigley ch. 3: moment at mid length from even pressure on bosses and small end (scipy)."""
    load, length, small, gap = 36e3, 0.058, 0.022, 0.024
    boss = load / (length - gap)
    rod = load / small
    lifted = quad(lambda z: boss * z, gap / 2, length / 2)[0]
    pressed = quad(lambda z: rod * z, 0, small / 2)[0]
    modulus = math.pi * (0.021**4 - 0.013**4) / (32 * 0.021)
    pin = piston_pin_stress(load, 0.021, 0.013, length, small, gap)
    assert pin.bending_stress == pytest.approx((lifted - pressed) / modulus)
    assert pin.small_end_pressure * 0.021 * small == pytest.approx(load)
    assert pin.boss_pressure * 0.021 * (length - gap) == pytest.approx(load)


def test_pin_shear_at_its_two_limits() -> None:
    """Shigley ch. 3: 4/3 of the mean in a solid round, twice the mean in a thin tube."""
    solid = piston_pin_stress(10e3, 0.02, 0.0, 0.06, 0.02, 0.022)
    assert solid.shear_stress == pytest.approx(4 / 3 * 5e3 / (math.pi / 4 * 0.02**2))
    thin = piston_pin_stress(10e3, 0.02, 0.01999, 0.06, 0.02, 0.022)
    assert thin.shear_stress == pytest.approx(2 * 5e3 / (math.pi / 4 * (0.02**2 - 0.01999**2)), rel=1e-3)


def test_crown_thickness_of_khurmi_and_gupta() -> None:
    """Piston head example (from memory): 5 MPa, 100 mm, 38 MPa allowed: sqrt(3 p D^2 / (16 s)) = 15.7 mm."""
    thickness = brentq(lambda t: piston_crown_stress(5e6, 0.100, t) - 38e6, 5e-3, 30e-3)
    assert thickness * 1e3 == pytest.approx(15.7, abs=0.05)
    assert piston_crown_stress(5e6, 0.1, 0.0157, "supported") > piston_crown_stress(5e6, 0.1, 0.0157)
