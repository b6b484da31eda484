"""Forces of the crank train against scipy, virtual work, and computed cycles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.differentiate import derivative
from scipy.integrate import trapezoid

from compat.engineering import find
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.pressure_trace import pressure_trace
from compat.engineering.cylinder.crank_motion import piston_position
from compat.engineering.running_gear.cycle_forces import CycleForces, cycle_forces
from compat.engineering.running_gear.gas_trace import ANGLES, gas_trace, motored_trace, throw_geometry

crank_train_loads = find("crank_train_loads").function  # by keyword, as figures call it
RPM = math.pi / 30
STROKE, ROD, BORE = 0.087, 0.148, 0.0855
AREA = math.pi / 4 * BORE**2
NATURAL = {
    "bore": BORE,
    "stroke": STROKE,
    "centre_length": ROD,
    "compression_ratio": 10.0,
    "reciprocating_mass": 0.605,
    "rod_rotating_mass": 0.36,
    "peak_pressure": 63e5,
    "manifold_pressure": 98e3,
    "torque_speed": 4200 * RPM,
    "rev_limit": 6500 * RPM,
}


def test_throw_geometry_is_the_derivative_of_the_piston_position() -> None:
    """scipy.differentiate on the position, once and twice."""
    position = np.vectorize(lambda angle: piston_position(STROKE, ROD, float(angle)))
    angles = np.radians(np.arange(0, 360, 7))
    first = derivative(position, angles, initial_step=0.05).df
    second = derivative(
        lambda x: derivative(position, x, initial_step=0.05).df, angles, initial_step=0.05, order=6
    ).df
    rows = throw_geometry(STROKE, ROD)
    for index, degree in enumerate(range(0, 360, 7)):
        travel, slope, curvature, _ = rows[degree]
        assert travel == pytest.approx(piston_position(STROKE, ROD, math.radians(degree)), abs=1e-12)
        assert slope == pytest.approx(first[index], abs=1e-9)
        assert curvature == pytest.approx(second[index], abs=1e-6)


@pytest.fixture(scope="module")
def forces() -> CycleForces:
    trace = gas_trace(STROKE, ROD, 10.0, 63e5, 98e3)
    return cycle_forces(trace, BORE, STROKE, ROD, 0.605, 0.360, 5000 * RPM)


def test_torque_agrees_with_the_forces_on_the_crankpin(forces: CycleForces) -> None:
    """Moment about the crank of the two pin forces; the centrifugal force has none (plain statics)."""
    for index in range(0, 720, 11):
        angle = math.radians(index)
        moment = (
            STROKE
            / 2
            * (forces.pin_axial[index] * math.sin(angle) + forces.pin_lateral[index] * math.cos(angle))
        )
        assert moment == pytest.approx(forces.torque[index], abs=0.02)


def test_wall_force_gives_the_same_torque_by_its_arm(forces: CycleForces) -> None:
    """The engine's reaction: side force times height of the pin over the crank (any dynamics text)."""
    for index in range(0, 720, 11):
        height = STROKE / 2 + ROD - piston_position(STROKE, ROD, math.radians(index))
        assert forces.side[index] * height == pytest.approx(forces.torque[index], abs=0.02)


def test_mean_torque_is_the_work_of_the_gas(forces: CycleForces) -> None:
    """Inertia adds nothing over a cycle: mean torque x 4 pi = closed integral of p dV."""
    trace = np.array([*gas_trace(STROKE, ROD, 10.0, 63e5, 98e3)])
    volume = np.array([throw_geometry(STROKE, ROD)[a % 360][0] * AREA for a in ANGLES])
    work = trapezoid(np.append(trace, trace[0]), np.append(volume, volume[0]))
    mean = sum(forces.torque) / 720
    assert mean * 4 * math.pi == pytest.approx(work, rel=2e-3)


def test_inertia_of_two_terms_is_within_two_per_cent() -> None:
    """m r w^2 (cos + lambda cos 2), Heywood ch. 2: within 2 % of the greatest force."""
    trace = tuple(101325.0 for _ in ANGLES)
    speed = 6500 * RPM
    exact = cycle_forces(trace, BORE, STROKE, ROD, 0.605, 0.0, speed)
    top = 0.605 * STROKE / 2 * speed**2 * (1 + STROKE / 2 / ROD)
    for index in range(720):
        angle = math.radians(index)
        series = 0.605 * STROKE / 2 * speed**2 * (math.cos(angle) + STROKE / 2 / ROD * math.cos(2 * angle))
        assert -exact.pin_axial[index] == pytest.approx(series, abs=0.02 * top)
    assert -min(exact.rod) == pytest.approx(top, rel=1e-9)


# Compression ratio, speed, manifold pressure [kPa], half burned [deg after top dead centre].
CYCLES = [(10.0, 4200, 98, 8.5), (9.0, 2500, 200, 8.5), (8.8, 3200, 171, 20.0), (12.5, 3000, 98, 14.0)]


@pytest.mark.parametrize(("ratio", "speed", "manifold", "ca50"), CYCLES)
def test_trace_follows_the_computed_cycle_of_the_same_peak(
    ratio: float, speed: float, manifold: float, ca50: float
) -> None:
    """Against the zero-dimensional cycle of `pressure_trace`, which knows heat loss and burning in detail."""
    exhaust = 105e3 if manifold < 120 else 1.1e3 * manifold
    computed = pressure_trace(
        CycleInput(
            bore=BORE,
            stroke=STROKE,
            rod_length=ROD,
            compression_ratio=ratio,
            speed=speed * RPM,
            manifold_pressure=manifold * 1e3,
            charge_temperature=320.0,
            volumetric_efficiency=0.93,
            octane=98,
            stoichiometric_ratio=14.6,
            heating_value=43e6,
            heat_of_vaporisation=350e3,
            relative_air_fuel_ratio=0.9,
            exhaust_pressure=exhaust,
            ca50=math.radians(ca50),
        )
    )
    degrees = np.arange(-180, 181)
    reference = np.interp(degrees, np.degrees(computed.crank_angle), computed.pressure)
    peak = float(reference.max())
    trace = np.array(gas_trace(STROKE, ROD, ratio, peak, manifold * 1e3, exhaust, math.radians(ca50)))[180:541]
    assert trace.max() == pytest.approx(peak, rel=1e-12)
    assert np.abs(trace - reference).max() < 0.08 * peak
    assert abs(int(trace.argmax()) - int(reference.argmax())) <= 2
    volume = np.array([1 / (ratio - 1) + throw_geometry(STROKE, ROD)[a % 360][0] / STROKE for a in degrees])
    assert trapezoid(trace, volume) == pytest.approx(trapezoid(reference, volume), rel=0.04)


def test_trace_has_no_jump() -> None:
    for trace in (gas_trace(STROKE, ROD, 10.0, 63e5, 98e3), motored_trace(STROKE, ROD, 10.0, 30e3)):
        steps = [abs(b - a) for a, b in zip(trace, trace[1:] + trace[:1], strict=True)]
        assert max(steps) < 0.06 * max(trace)


def test_low_speed_squeezes_the_rod_and_the_overrun_stretches_it() -> None:
    """Common practice, no source: boost at low speed bends rods, the rev limit breaks bolts."""
    loads = crank_train_loads(
        bore=BORE,
        stroke=STROKE,
        centre_length=ROD,
        compression_ratio=8.8,
        reciprocating_mass=0.678,
        rod_rotating_mass=0.422,
        peak_pressure=92e5,
        manifold_pressure=171e3,
        torque_speed=3200 * RPM,
        rev_limit=6500 * RPM,
        power_speed=5600 * RPM,
        power_peak_pressure=87e5,
    )
    assert loads.rod_compression_speed == pytest.approx(3200 * RPM)
    gas = (92e5 - 101325) * AREA
    inertia = 0.678 * STROKE / 2 * (3200 * RPM) ** 2
    # a peak 16 deg after top dead centre: gas less most of the inertia, on a slightly leaning rod
    assert gas - 1.3 * inertia < loads.rod_compression < gas
    assert loads.rod_tension == pytest.approx(
        0.678 * STROKE / 2 * (6500 * RPM) ** 2 * (1 + 0.0435 / 0.148), rel=5e-3
    )


def test_even_firing_smooths_the_torque() -> None:
    """Common practice: more cylinders, less swing; the mean grows with their number."""
    one, four, eight = (
        crank_train_loads(
            **NATURAL | {"torque_speed": 2000 * RPM, "rev_limit": 2000 * RPM},
            cylinders=count,
            main_bearings=count + 1,
            firing_order=order,
        )
        for count, order in ((1, "1"), (4, "1-3-4-2"), (8, "1-6-2-5-8-3-7-4"))
    )
    assert four.mean_torque == pytest.approx(4 * one.mean_torque, rel=1e-9)
    assert (
        eight.crank_torque / eight.mean_torque
        < four.crank_torque / four.mean_torque
        < one.crank_torque / one.mean_torque
    )
    assert one.cylinder_torque == one.crank_torque


def test_counterweights_relieve_the_main_bearing() -> None:
    """Negative net mass of a throw (weights outweigh pin and webs) lowers the load of the centre main."""
    plain, weighted = (crank_train_loads(**NATURAL, net_throw_mass=mass) for mass in (0.0, -0.4))
    assert weighted.main_mean_load < plain.main_mean_load
    assert weighted.big_end_load == plain.big_end_load
