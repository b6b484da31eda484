"""Cam shapes, springs and valve-to-piston gaps against published factors, scipy and plain geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.differentiate import derivative
from scipy.interpolate import CubicSpline, PchipInterpolator, make_smoothing_spline
from scipy.optimize import minimize_scalar

from compat.engineering.formula import OutOfRange
from compat.engineering.numerics.interpolation import monotone_curve, smoothing_spline
from compat.engineering.valves.cam_profile import cam_motion, duration_at_lift, lift_table_motion, valve_lift
from compat.engineering.valves.cam_shape import PROFILES, extremes, shape_of
from compat.engineering.valves.spring_control import spring_control, spring_control_of_table
from compat.engineering.valves.valve_piston import static_valve_gap, valve_approach, valve_approach_of_table
from compat.engineering.valves.valve_spring import (
    coil_bind_margin,
    coil_spring_rate,
    pressure_on_valve,
    spring_force,
    spring_rate,
    spring_surge_frequency,
)
from compat.engineering.valves.valve_train import (
    float_speed,
    moving_valve_mass,
    tappet_offset,
    valve_inertia_force,
)

RPM = math.pi / 30
DEG = math.radians(1)
CAM = ("polynomial_2_8_14_20", 9.6e-3, 220 * DEG, 1e-3)


@pytest.mark.parametrize("profile", PROFILES)
def test_derivatives_against_scipy(profile):
    shape = np.vectorize(lambda x: shape_of(profile)(abs(x))[0])
    slope = np.vectorize(lambda x: shape_of(profile)(x)[1])
    at = np.linspace(0.05, 0.95, 19)
    first = derivative(shape, at, initial_step=0.02)
    second = derivative(slope, at, initial_step=0.02)
    assert first.success.all()
    assert slope(at) == pytest.approx(first.df, rel=1e-6, abs=1e-8)
    assert [shape_of(profile)(x)[2] for x in at] == pytest.approx(second.df, rel=1e-6, abs=1e-7)


@pytest.mark.parametrize("profile", PROFILES)
def test_ends_of_a_lobe(profile):
    top, near_seat = shape_of(profile)(0.0), shape_of(profile)(1 - 1e-9)
    assert top[:2] == pytest.approx((1.0, 0.0), abs=1e-12)
    assert near_seat == pytest.approx((0.0, 0.0, 0.0), abs=1e-5)
    heights = [shape_of(profile)(x)[0] for x in np.linspace(0, 1, 400)]
    assert np.diff(heights).max() <= 1e-12


@pytest.mark.parametrize("powers", [(6, 8, 10), (8, 14, 20), (10, 18, 26)])
def test_even_polynomials_against_linear_equations(powers):
    """The closed coefficients are the solution of lift = slope = curvature = jerk = 0 at the seat."""
    terms = (2, *powers)
    rows = [
        [math.prod(range(power - order + 1, power + 1)) for power in terms]  # order-th derivative at 1
        for order in range(4)
    ]
    coefficients = np.linalg.solve(np.array(rows, float), np.array([-1.0, 0, 0, 0]))
    shape = shape_of("polynomial_2_" + "_".join(map(str, powers)))
    for x in np.linspace(0, 0.999, 50):
        assert shape(x)[0] == pytest.approx(1 + sum(c * x**p for c, p in zip(coefficients, terms, strict=True)))


# Norton, Cam Design and Manufacturing Handbook, table of peak factors (from memory)
@pytest.mark.parametrize(
    ("profile", "velocity", "acceleration"),
    [("polynomial_3_4_5", 1.875, 5.777), ("polynomial_4_5_6_7", 2.188, 7.526), ("cycloidal", 2.0, 6.283)],
)
def test_peak_factors_of_norton(profile, velocity, acceleration):
    slope, opening, closing = extremes(profile)
    assert slope == pytest.approx(velocity, rel=1e-3)
    assert opening == pytest.approx(acceleration, rel=2e-3)
    assert closing == pytest.approx(acceleration, rel=2e-3)


def test_splines_against_scipy():
    x = np.array([0, 0.5, 1.3, 2.0, 3.1, 4.0, 5.5, 6.0])
    y = np.array([0, 0.1, 0.8, 1.0, 0.9, 0.4, 0.05, 0.0])
    exact, natural = smoothing_spline(x.tolist(), y.tolist(), 0.0), CubicSpline(x, y, bc_type="natural")
    monotone, pchip = monotone_curve(x.tolist(), y.tolist()), PchipInterpolator(x, y)
    for at in np.linspace(0, 6, 101):
        assert exact(at) == pytest.approx([float(natural(at, order)) for order in (0, 1, 2)], abs=1e-11)
        assert monotone(at) == pytest.approx(float(pchip(at)), abs=1e-12)


def test_smoothing_against_scipy():
    """Of all scipy smoothing splines the one whose distance from the readings is the stated error."""
    generator = np.random.default_rng(3)
    x = np.linspace(0, 6, 40)
    y = np.sin(x) ** 2 + generator.normal(0, 0.02, x.size)
    mine = smoothing_spline(x.tolist(), y.tolist(), 0.02)
    values = np.array([mine(at)[0] for at in x])
    assert np.sqrt(np.mean((values - y) ** 2)) == pytest.approx(0.02, rel=1e-6)
    distances = {lam: make_smoothing_spline(x, y, lam=lam)(x) - values for lam in np.geomspace(1e-5, 1, 400)}
    assert min(np.abs(d).max() for d in distances.values()) < 5e-4


def test_duration_is_where_the_lift_is():
    profile, lift, duration, at = CAM
    assert valve_lift(profile, lift, duration, at, duration / 2) == pytest.approx(at)
    for wanted in (0.1e-3, 0.5e-3, 1.0e-3, 4e-3):
        whole = duration_at_lift(*CAM, wanted)
        assert valve_lift(*CAM, whole / 2) == pytest.approx(wanted)
    # common practice, no source: duration at 0.1 mm is 40 to 70 crank degrees longer than at 1 mm
    assert 30 < math.degrees(duration_at_lift(*CAM, 0.1e-3)) - 220 < 75


def test_lift_table_recovers_the_cam():
    angles = np.arange(-150, 151, 4) * DEG
    rows = tuple((a, valve_lift(*CAM, a)) for a in angles.tolist())
    exact, splined = cam_motion(*CAM), lift_table_motion(rows, 0.0)
    assert splined.velocity == pytest.approx(exact.velocity, rel=2e-3)
    assert splined.nose_acceleration == pytest.approx(exact.nose_acceleration, rel=0.02)
    assert splined.opening_acceleration == pytest.approx(exact.opening_acceleration, rel=0.05)
    # read to 0.01 mm, as a dial gauge is, and 5 degrees apart: within the scatter it states
    angles = np.arange(-150, 151, 5) * DEG
    rows = tuple((a, round(valve_lift(*CAM, a), 5)) for a in angles.tolist())
    gauged = lift_table_motion(rows)
    assert gauged.velocity == pytest.approx(exact.velocity, rel=0.01)
    assert gauged.nose_acceleration == pytest.approx(exact.nose_acceleration, rel=0.10)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (((0.0, 0.0), (1.0, 0.001)), "nine rows"),
        (tuple((0.1 * i, 0.001 * i) for i in range(12)), "shut"),
        (tuple((-0.1 * i, 0.0) for i in range(12)), "rise"),
        (tuple((0.1 * i, math.nan) for i in range(12)), "finite"),
        (tuple((0.1 * i, 0.0) for i in range(12)), "open"),
    ],
)
def test_refuses_what_is_no_lift_curve(rows, says):
    with pytest.raises(OutOfRange, match=says):
        lift_table_motion(rows)


def test_tappet_offset_limit_of_a_33_mm_bucket():
    # worked by hand: radius less 0.5 mm is 16 mm, over 57.3 is 0.279 mm/deg
    assert tappet_offset(0.2793e-3 / DEG) == pytest.approx(16.0e-3, rel=1e-3)
    # a flat face touched by a lobe: contact stands at lift per radian; check on an eccentric circle,
    # whose lift is e(1 - cos a) and whose contact stands e sin a aside (plain geometry)
    eccentric, angle = 5e-3, 50 * DEG
    slope = float(derivative(lambda a: eccentric * (1 - np.cos(a)), angle).df)
    assert tappet_offset(slope) == pytest.approx(eccentric * math.sin(angle))


def test_spring_control_against_a_sweep():
    mass, limit = 0.114, 6900 * RPM
    control = spring_control(*CAM, 230, 547, mass, limit)
    angles = np.linspace(0, 140, 56001) * DEG
    lift = np.array([valve_lift(*CAM, a) for a in angles[::20]])
    time = angles[::20] / limit
    acceleration = np.gradient(np.gradient(lift, time), time)[2:-2]
    force = 230 + (547 - 230) / 9.6e-3 * lift[2:-2]
    ratio = np.where(acceleration < 0, force / np.maximum(-acceleration * mass, 1e-9), np.inf)
    assert control.force_ratio == pytest.approx(ratio.min(), rel=2e-3)
    # at the float speed the ratio is one, by its own meaning
    assert spring_control(*CAM, 230, 547, mass, control.float_speed).force_ratio == pytest.approx(1.0)
    rows = tuple((a * DEG, valve_lift(*CAM, a * DEG)) for a in range(-150, 151, 3))
    of_table = spring_control_of_table(rows, 230, 547, mass, limit)
    assert of_table.force_ratio == pytest.approx(control.force_ratio, rel=0.02)
    assert of_table.float_speed == pytest.approx(control.float_speed, rel=0.01)


def test_float_speed_and_inertia_agree():
    nose = cam_motion(*CAM).nose_acceleration
    speed = float_speed(0.114, nose, 547)
    assert valve_inertia_force(0.114, nose, speed) == pytest.approx(547)
    # common practice, no source: factory springs of such heads hold to 7500 to 9500 rpm
    assert 7000 < speed / RPM < 10000


def test_springs_of_shigley():
    # Shigley, ch. 10, first example (from memory): music wire 0.037 in, mean coil 0.400 in, 10.5 active
    # turns, shear modulus 11.85 Mpsi: 4.13 lbf/in
    inch, pound = 0.0254, 4.4482216
    rate = coil_spring_rate(0.037 * inch, 0.400 * inch, 10.5, 11.85e6 * pound / inch**2)
    assert rate / (pound / inch) == pytest.approx(4.13, abs=0.01)
    # a helical spring between plates is a rod held at both ends: half a wave, f = sqrt(k/m)/2
    assert spring_surge_frequency(40e3, 0.040) == pytest.approx(500.0)


def test_spring_figures_of_the_demo_family():
    # base variant, worked by hand: 210 N and 480 N over 8.6 mm; 35.0 mm fitted, 23.5 mm solid
    assert spring_rate(210, 480, 8.6e-3) == pytest.approx(31.395e3, rel=1e-4)
    assert spring_force(210, 480, 8.6e-3, 4.3e-3) == pytest.approx(345)
    assert coil_bind_margin(35e-3, 23.5e-3, 8.6e-3) == pytest.approx(2.9e-3)
    # common practice, no source: 1.0 to 1.5 mm short of bind; most lift for the phase head's spring
    assert coil_bind_margin(35e-3, 23.0e-3, 10.75e-3) == pytest.approx(1.25e-3)
    # a spring that is solid before the valve moves has less than no travel left: a number, no refusal
    assert coil_bind_margin(35e-3, 36.0e-3, 8.6e-3) == pytest.approx(-9.6e-3)
    # worked by hand: 86 N for each 100 kPa on a 33 mm valve
    assert pressure_on_valve(100e3, 33e-3) == pytest.approx(85.5, abs=0.05)
    assert moving_valve_mass(0.042, 0.01, 0.002, 0.045) == pytest.approx(0.069)


def _swept_gap(side, shift, static=3.0e-3):
    """Least gap by brute force over half a million angles' worth of a fine grid, written out anew."""
    angle = np.linspace(-80, 80, 32001) * DEG
    throw, rod, lean = 0.0435, 0.148, math.cos(18 * DEG)
    piston = throw * (1 - np.cos(angle)) + rod - np.sqrt(rod**2 - (throw * np.sin(angle)) ** 2)
    middle = (108 * DEG if side == "inlet" else -108 * DEG) + shift
    lift = np.array([valve_lift(*CAM, a - middle) for a in angle])
    gap = static + piston * lean - lift
    return gap.min(), angle[gap.argmin()]


@pytest.mark.parametrize("side", ["inlet", "exhaust"])
@pytest.mark.parametrize("shift", [-20 * DEG, 0.0, 15 * DEG])
def test_valve_approach_against_brute_force(side, shift):
    found = valve_approach(side, *CAM, 108 * DEG, 18 * DEG, 0.087, 0.148, shift)
    gap, angle = _swept_gap(side, shift)
    assert 3.0e-3 + found.approach == pytest.approx(gap, abs=1e-8)
    assert found.crank_angle == pytest.approx(angle, abs=0.1 * DEG)
    rows = tuple((a * DEG, valve_lift(*CAM, a * DEG)) for a in range(-150, 151, 3))
    table = valve_approach_of_table(side, rows, 108 * DEG, 18 * DEG, 0.087, 0.148, shift)
    assert table.approach == pytest.approx(found.approach, abs=0.01e-3)


def test_inlet_and_exhaust_mirror_each_other():
    inlet = valve_approach("inlet", *CAM, 108 * DEG, 18 * DEG, 0.087, 0.148, 7 * DEG)
    exhaust = valve_approach("exhaust", *CAM, 108 * DEG, 18 * DEG, 0.087, 0.148, -7 * DEG)
    assert exhaust.approach == pytest.approx(inlet.approach)
    assert exhaust.crank_angle == pytest.approx(-inlet.crank_angle, abs=1e-6)


def test_shut_valve_takes_nothing():
    # far from overlap no valve is open near top dead centre
    late = valve_approach("inlet", "cycloidal", 5e-3, 150 * DEG, 0.0, 150 * DEG, 20 * DEG, 0.087, 0.148)
    assert late.approach == pytest.approx(0.0, abs=1e-9)


def test_retard_helps_inlet_and_costs_exhaust():
    """Timing table TD3 and skim case, worked by hand: 0.20 mm off the deck retards 0.41 crank degrees."""
    rest = (108 * DEG, 20 * DEG, 0.087, 0.148)
    near = {side: valve_approach(side, *CAM, *rest) for side in ("inlet", "exhaust")}
    gain, loss = (valve_approach(side, *CAM, *rest, 0.41 * DEG).approach - near[side].approach for side in near)
    assert gain > 0 > loss
    # envelope theorem: the change equals the lift velocity where valve and piston are closest
    closest = near["exhaust"].crank_angle
    rate = float(derivative(lambda a: np.vectorize(lambda x: valve_lift(*CAM, x))(a), closest + 108 * DEG).df)
    assert loss == pytest.approx(rate * 0.41 * DEG, rel=0.02)
    # the inlet gets back part of what a skim of 0.20 mm takes along the valve
    assert 0 < gain < 0.20e-3 * math.cos(18 * DEG)


def test_static_gap_counts_every_skim():
    """A recess is stated along the valve; gasket, pocket and deck lie along the cylinder."""
    base = static_valve_gap(0.5e-3, 2e-3, 0.8e-3, 0.2e-3, 18 * DEG)
    assert base - static_valve_gap(0.4e-3, 2e-3, 0.8e-3, 0.2e-3, 18 * DEG) == pytest.approx(0.1e-3)
    for change in (
        (0.5e-3, 1.9e-3, 0.8e-3, 0.2e-3),
        (0.5e-3, 2e-3, 0.7e-3, 0.2e-3),
        (0.5e-3, 2e-3, 0.8e-3, 0.1e-3),
    ):
        assert base - static_valve_gap(*change, 18 * DEG) == pytest.approx(0.1e-3 * math.cos(18 * DEG))


def test_approach_does_not_jump():
    values = [
        valve_approach("inlet", *CAM, 108 * DEG, 18 * DEG, 0.087, 0.148, shift * DEG).approach
        for shift in np.arange(-60, 60, 0.25)
    ]
    steps = np.abs(np.diff(values))
    fastest = cam_motion(*CAM).velocity / 2 * 0.25 * DEG  # no faster than the lobe itself
    assert steps.max() <= fastest * 1.001


def test_minimum_is_one_valley():
    """The search starts from a grid of 5 degrees; scipy's bounded search from there finds no lower place."""
    from compat.engineering.cylinder.crank_motion import piston_position

    for shift in (-30, 0, 30):

        def gap(a, shift=shift):
            return piston_position(0.087, 0.148, a) * math.cos(18 * DEG) - valve_lift(
                *CAM, a - (108 + shift) * DEG
            )

        best = min(
            minimize_scalar(gap, bounds=(low * DEG, (low + 10) * DEG), method="bounded").fun
            for low in range(-75, 75, 10)
        )
        found = valve_approach("inlet", *CAM, 108 * DEG, 18 * DEG, 0.087, 0.148, shift * DEG).approach
        assert found <= best + 1e-9
