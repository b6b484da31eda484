"""Loads of main bearings, in line and in a V, against the balance of known engines and limiting cases."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from compat.engineering import find
from compat.engineering.formula import OutOfRange
from compat.engineering.running_gear.cycle_forces import CycleForces, cycle_forces
from compat.engineering.running_gear.main_loads import (
    Throw,
    main_bearing_forces,
    throws_along_crank,
    throws_beside_mains,
)

crank_train_loads = find("crank_train_loads").function  # by keyword, as figures call it

RPM = math.pi / 30
SPEED = 6000 * RPM
STROKE, MASS = 0.087, 0.6
ENGINE: dict[str, Any] = {
    "bore": 0.0855,
    "stroke": STROKE,
    "centre_length": 0.148,
    "compression_ratio": 10.0,
    "reciprocating_mass": MASS,
    "rod_rotating_mass": 0.36,
    "peak_pressure": 63e5,
    "manifold_pressure": 98e3,
    "torque_speed": 4200 * RPM,
    "rev_limit": 6500 * RPM,
}
FIRST_ORDER = MASS * STROKE / 2 * SPEED**2


def _inertia(rod: float = 0.148, rotating: float = 0.0) -> CycleForces:
    """Forces of a cylinder with no gas in it."""
    return cycle_forces(np.full(720, 101325.0), 0.0855, STROKE, rod, MASS, rotating, SPEED)


def _throws(
    order: str, numbering: str = "in_line", bank_angle: float = 0.0, firing: str = "even"
) -> list[Throw]:
    return throws_along_crank(order.count("-") + 1, order, numbering, math.radians(bank_angle), firing)


def _pins(throws: list[Throw]) -> list[int]:
    """Where the crankpins stand, [deg]."""
    return [round(math.degrees(throw.lean) - throw.fires) % 360 for throw in throws]


def _shaking(throws: list[Throw], **made: float) -> NDArray[Any]:
    """What all rods of an engine together pull on it, down, and sideways as imaginary part.

    Pistons press on their walls what the rods' lean takes sideways off the crank: the engine feels neither.
    """
    forces = _inertia(**made)
    down, across = main_bearing_forces(
        forces._replace(pin_lateral=forces.pin_lateral - forces.side), 0.0, throws
    )
    # one main would carry half of what the rods beside it pull, were they all
    return 2 * (down + 1j * across)


def test_four_in_line_shakes_in_the_second_order_alone() -> None:
    """Taylor vol. 2 ch. 8 (from memory): primary forces balance, the rest is 4 m r w^2 r/l cos 2a."""
    total = _shaking(_throws("1-3-4-2"))
    waves = np.fft.rfft(total.real[:360]) / 180
    second = 4 * FIRST_ORDER * STROKE / 2 / 0.148
    assert abs(waves[1]) < 1e-6 * FIRST_ORDER
    assert abs(waves[2]) == pytest.approx(second, rel=0.03)  # the exact rod has higher terms
    assert waves[2].real < 0  # up at top dead centre
    assert np.abs(total.imag).max() < 1e-6 * FIRST_ORDER


def test_six_in_line_does_not_shake() -> None:
    """Taylor vol. 2 ch. 8 (from memory): first, second and fourth order balance in the in-line six."""
    assert np.abs(_shaking(_throws("1-5-3-6-2-4"))).max() < 0.01 * FIRST_ORDER


def test_v6_of_60_degrees_with_split_pins_balances_its_forces() -> None:
    """Common knowledge of engine balance (from memory): forces of both orders balance, couples stay."""
    throws = _throws("1-4-2-5-3-6", "by_bank", 60)
    total = _shaking(throws, rotating=0.36)
    waves = np.fft.fft(total[:360]) / 360
    for order in (1, 2, -1, -2):
        assert abs(waves[order]) < 1e-6 * FIRST_ORDER
    assert sorted(_pins(throws)) == [0 + 30, 60 + 30, 120 + 30, 180 + 30, 240 + 30, 300 + 30]


def test_v8_of_90_degrees_has_common_pins_and_balances() -> None:
    """Taylor vol. 2 ch. 8 (from memory): the two-plane V8 balances both orders, two rods on one pin."""
    throws = _throws("1-8-4-3-6-5-7-2", "across", 90)
    total = _shaking(throws)
    waves = np.fft.fft(total[:360]) / 360
    for wave in (2, -2):
        assert abs(waves[wave]) < 1e-6 * FIRST_ORDER
    # first order leaves no force, only a couple that counterweights take
    for wave in (1, -1):
        assert abs(waves[wave]) < 1e-6 * FIRST_ORDER
    pins = _pins(throws)
    assert pins[::2] == pins[1::2]
    assert len(set(pins)) == 4


def test_v_twin_of_90_degrees_pulls_evenly_all_round() -> None:
    """Den Hartog, Mechanical Vibrations, ch. 5 (from memory): first order of one size, m r w^2, all round."""
    twin = _throws("1-2", "by_bank", 90, "uneven")
    assert len(set(_pins(twin))) == 1
    # so long a rod has no second order
    assert np.abs(_shaking(twin, rod=50.0)) == pytest.approx(np.full(720, FIRST_ORDER), rel=0.005)
    # one that fires evenly stands on two pins, and pulls harder
    assert np.abs(_shaking(_throws("1-2", "by_bank", 90), rod=50.0)).max() > 1.2 * FIRST_ORDER


def test_uneven_v6_of_90_degrees_fires_at_150_and_90() -> None:
    """Common knowledge (from memory): common pins at 120 deg in a V of 90 give intervals of 150 and 90 deg."""
    fires = sorted(throw.fires for throw in _throws("1-4-2-5-3-6", "by_bank", 90, "uneven"))
    assert {later - sooner for sooner, later in pairwise([*fires, fires[0] + 720])} == {90, 150}


def test_v_without_an_angle_is_an_engine_in_line() -> None:
    """Limiting case: rods side by side in each bay, banks upright."""
    vee = crank_train_loads(
        **ENGINE, cylinders=6, main_bearings=4, firing_order="1-4-2-5-3-6", numbering="by_bank", bank_angle=0.0
    )
    line = crank_train_loads(**ENGINE, cylinders=6, main_bearings=4, firing_order="1-2-3-4-5-6")
    assert vee == pytest.approx(line)


def test_a_lone_throw_is_carried_half_and_half() -> None:
    """Limiting case: a beam on two supports, loaded in the middle."""
    one = crank_train_loads(**ENGINE, cylinders=1, main_bearings=2, firing_order="1")
    assert one.main_load == pytest.approx(one.big_end_load / 2)
    assert one.main_mean_load == pytest.approx(one.big_end_mean_load / 2)


def test_centre_main_of_a_four_carries_a_whole_throw_of_inertia() -> None:
    """Both neighbours reach top dead centre together: half of each is the whole of one (plain statics)."""
    beside = throws_beside_mains(4, 5, "1-3-4-2")
    down, across = main_bearing_forces(_inertia(rotating=0.36), 0.0, beside[2])
    forces = _inertia(rotating=0.36)
    whole = np.hypot(forces.pin_axial, forces.pin_lateral)
    assert np.hypot(down, across) == pytest.approx(np.roll(whole, beside[2][0].fires), rel=1e-6)


def test_gas_and_inertia_add_where_throws_stand_half_a_turn_apart() -> None:
    """Gas at top, the neighbour's piston thrown down at the bottom: the second main, not the centre one."""
    assert crank_train_loads(**ENGINE).main_cap_load > 63e5 * math.pi / 4 * 0.0855**2 / 2 * 0.85
    heavy, light = (crank_train_loads(**ENGINE | {"reciprocating_mass": mass}) for mass in (0.8, 0.5))
    assert heavy.rod_compression < light.rod_compression
    assert heavy.main_cap_load > light.main_cap_load


def test_a_v_loads_its_mains_more_than_a_row_of_as_many_bays() -> None:
    """Two rods in each bay: what an in-line model of one rod gives is not to be used for a V."""
    vee = crank_train_loads(
        **ENGINE,
        cylinders=6,
        main_bearings=4,
        firing_order="1-4-2-5-3-6",
        numbering="by_bank",
        bank_angle=math.radians(60),
    )
    row = crank_train_loads(**ENGINE, cylinders=3, main_bearings=4, firing_order="1-3-2")
    assert vee.main_load > 1.15 * row.main_load
    assert vee.main_cap_side_force > row.main_cap_side_force
    assert vee.big_end_load == pytest.approx(row.big_end_load)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"firing_order": "1-2-3"}, "each of 4 cylinders once"),
        ({"firing_order": "1-2-2-4"}, "each of 4 cylinders once"),
        ({"firing_order": "one-two"}, "each of 4 cylinders once"),
        ({"main_bearings": 4}, "evenly"),
        ({"main_bearings": 4.5}, "whole number"),
        ({"bank_angle": 1.0}, "numbering of a V"),
        ({"firing": "uneven"}, "in line that fires unevenly"),
        ({"cylinders": 5, "main_bearings": 6, "firing_order": "1-2-4-5-3", "numbering": "across"}, "as many"),
    ],
)
def test_what_is_no_engine_is_refused_in_words(changed: dict[str, Any], said: str) -> None:
    with pytest.raises(OutOfRange, match=said):
        crank_train_loads(**ENGINE | changed)
