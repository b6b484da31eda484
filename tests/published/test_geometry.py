"""Cylinder geometry, motion and forces against textbooks, and against differentiation by a library."""

from __future__ import annotations

import math

import pytest

from compat.engineering.cycle.performance import bmep_from_power, power_from_bmep
from compat.engineering.cylinder.compression import compression_ratio_of_volumes
from compat.engineering.cylinder.crank_motion import (
    mean_piston_speed,
    peak_piston_speed,
    piston_acceleration,
    piston_position,
    piston_velocity,
)
from compat.engineering.cylinder.envelope import rod_to_bore_gap
from compat.engineering.cylinder.geometry import swept_volume
from compat.engineering.running_gear.inertia import gas_load, reciprocating_force, reciprocating_load

RPM = math.pi / 30
ENGINES = [(0.087, 0.148), (0.095, 0.152), (0.070, 0.140), (0.090, 0.130)]
ANGLES = [math.radians(angle) for angle in range(-350, 361, 10)]


@pytest.mark.parametrize(("stroke", "rod"), ENGINES)
def test_motion_is_heywood_s(stroke: float, rod: float) -> None:
    """Heywood ch. 2 (from memory): s = a cos + sqrt(l^2 - a^2 sin^2), crank axis to pin."""
    crank = stroke / 2
    for angle in ANGLES:
        height = crank * math.cos(angle) + math.sqrt(rod**2 - (crank * math.sin(angle)) ** 2)
        assert piston_position(stroke, rod, angle) == pytest.approx(crank + rod - height, abs=1e-12)


@pytest.mark.parametrize(("stroke", "rod"), ENGINES)
def test_mean_piston_speed_is_twice_stroke_times_turns(stroke: float, rod: float) -> None:
    """Heywood ch. 2: 2 L N; and the mean of the velocity over half a turn."""
    speed = 6500 * RPM
    assert mean_piston_speed(stroke, speed) == pytest.approx(2 * stroke * 6500 / 60)
    integrate = pytest.importorskip("scipy.integrate")
    area, _ = integrate.quad(lambda angle: piston_velocity(stroke, rod, angle, speed), 0, math.pi)
    assert area / math.pi == pytest.approx(mean_piston_speed(stroke, speed))


@pytest.mark.parametrize(("stroke", "rod"), ENGINES)
def test_velocity_and_acceleration_are_the_derivatives(stroke: float, rod: float) -> None:
    """scipy.differentiate, adaptive finite differences of the position and of the velocity."""
    numpy = pytest.importorskip("numpy")
    differentiate = pytest.importorskip("scipy.differentiate")
    speed = 6500 * RPM
    angles = numpy.array(ANGLES)
    position = numpy.vectorize(lambda angle: piston_position(stroke, rod, angle))
    velocity = numpy.vectorize(lambda angle: piston_velocity(stroke, rod, angle, speed))
    slope = differentiate.derivative(position, angles, initial_step=0.1).df * speed
    bend = differentiate.derivative(velocity, angles, initial_step=0.1).df * speed
    assert velocity(angles) == pytest.approx(slope, abs=1e-6)
    exact = [piston_acceleration(stroke, rod, angle, speed) for angle in ANGLES]
    assert exact == pytest.approx(list(bend), rel=1e-6, abs=1e-3)
    assert peak_piston_speed(stroke, rod, speed) == pytest.approx(
        float(numpy.max(velocity(numpy.linspace(0, math.pi, 20001)))), rel=1e-7
    )


@pytest.mark.parametrize(("stroke", "rod"), ENGINES)
def test_two_term_series_against_the_exact_force(stroke: float, rod: float) -> None:
    """Any dynamics text: cos + r/l cos 2; equal at both dead centres, off by order (r/l)^3 between."""
    slant = stroke / 2 / rod
    bound = 0.6 * slant**3 / (1 + slant)
    if rod >= 1.5 * stroke:
        assert bound < 0.015
    top = reciprocating_load(0.6, stroke, rod, 6500 * RPM)
    for angle in ANGLES:
        exact = reciprocating_force(0.6, stroke, rod, 6500 * RPM, angle)
        series = reciprocating_force(0.6, stroke, rod, 6500 * RPM, angle, "two_term")
        assert abs(series - exact) < bound * top
    for angle in (0.0, math.pi):
        exact = reciprocating_force(0.6, stroke, rod, 6500 * RPM, angle)
        assert reciprocating_force(0.6, stroke, rod, 6500 * RPM, angle, "two_term") == pytest.approx(exact)
    expected = 0.6 * stroke / 2 * (6500 * RPM) ** 2 * (1 + stroke / (2 * rod))
    assert top == pytest.approx(expected)


def test_gas_load_of_khurmi_and_gupta() -> None:
    """A Textbook of Machine Design, connecting rod (from memory): 100 mm, 3.15 MPa, about 24 740 N."""
    assert gas_load(3.15e6, 0.100) == pytest.approx(24740, abs=5)


def test_mean_pressure_of_heywood() -> None:
    """Heywood ch. 2: P = bmep Vd N / 2; 2 L, 6000 rpm and 1000 kPa make 100 kW."""
    assert power_from_bmep(1e6, 2e-3, 6000 * RPM) == pytest.approx(100e3)
    assert bmep_from_power(100e3, 6000 * RPM, 2e-3) == pytest.approx(1e6)


def test_square_cylinder_and_a_ratio_of_ten() -> None:
    """Plain arithmetic: a square cylinder of 86 mm sweeps 499.6 cm3; a ninth of it left gives 10."""
    swept = swept_volume(0.086, 0.086)
    assert swept * 1e6 == pytest.approx(499.56, abs=0.01)
    assert compression_ratio_of_volumes(swept, swept / 9) == pytest.approx(10)


@pytest.mark.parametrize(("stroke", "rod"), ENGINES)
@pytest.mark.parametrize(("half_width", "height"), [(0.034, 0.012), (0.028, 0.045), (0.012, 0.070)])
def test_shoulder_path_against_coordinates(stroke: float, rod: float, half_width: float, height: float) -> None:
    """The same path by vectors: pin and small end fix the rod's frame, the corner is laid off in it."""
    numpy = pytest.importorskip("numpy")
    bore, bottom = 0.0855, 0.0865
    turn = numpy.linspace(0, 2 * math.pi, 36001)
    pin = numpy.stack([stroke / 2 * numpy.sin(turn), stroke / 2 * numpy.cos(turn)])
    small_end = numpy.stack([numpy.zeros_like(turn), pin[1] + numpy.sqrt(rod**2 - pin[0] ** 2)])
    along = (small_end - pin) / rod
    across = numpy.stack([along[1], -along[0]])
    corner = pin + half_width * across + height * along
    out, below = bore / 2 - corner[0], bottom - corner[1]
    gap = numpy.where((out >= 0) & (below >= 0), numpy.hypot(out, below), numpy.maximum(out, below))
    found = rod_to_bore_gap(stroke, rod, half_width, height, bore, bottom)
    assert found == pytest.approx(float(gap.min()), abs=2e-6)
