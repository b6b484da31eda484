"""Properties of threads, tightening, clamp and fits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.bolts.joint_load import preload_for_clamp_ratio
from compat.engineering.bolts.threads import (
    bolt_strength,
    engagement_needed,
    minor_diameter,
    pitch_diameter,
    stress_area,
    stress_diameter,
)
from compat.engineering.bolts.tightening import (
    head_friction_diameter,
    preload_at_yield_share,
    preload_from_torque,
    tightening_torque,
    yield_share_at_preload,
)
from compat.engineering.cylinder.ring_gap import ring_end_gap_hot, ring_gap_in_bore
from compat.engineering.lubrication.fits import (
    bearing_clearance,
    bearing_crush,
    bearing_seat_pressure,
    hole_basis_fit,
    tolerance_grade,
)

DIAMETERS = st.floats(0.005, 0.030)
PITCHES = st.floats(0.0004, 0.0020)
FRICTIONS = st.floats(0.04, 0.30)
YIELDS = st.floats(200e6, 2000e6)
GRADES = [f"IT{number}" for number in range(4, 12)]


@given(diameter=DIAMETERS, pitch=PITCHES)
def test_diameters_are_in_order(diameter: float, pitch: float) -> None:
    minor, stress = minor_diameter(diameter, pitch), stress_diameter(diameter, pitch)
    assert minor < stress < pitch_diameter(diameter, pitch) < diameter
    # A finer pitch leaves more metal.
    assert stress_area(diameter, pitch * 0.9) > stress_area(diameter, pitch)


@given(diameter=DIAMETERS, pitch=PITCHES, strength=YIELDS, friction=FRICTIONS, share=st.floats(0.1, 1.0))
def test_share_and_preload_undo_each_other(
    diameter: float, pitch: float, strength: float, friction: float, share: float
) -> None:
    force = preload_at_yield_share(diameter, pitch, strength, friction, share)
    assert yield_share_at_preload(force, diameter, pitch, strength, friction) == pytest.approx(share)
    # Twist always costs something, and more with a dry thread.
    assert force < share * strength * stress_area(diameter, pitch)
    assert preload_at_yield_share(diameter, pitch, strength, friction + 0.02, share) < force


@given(diameter=DIAMETERS, pitch=PITCHES, thread=FRICTIONS, head=FRICTIONS, force=st.floats(1e3, 2e5))
def test_torque_and_preload_undo_each_other(
    diameter: float, pitch: float, thread: float, head: float, force: float
) -> None:
    under_head = head_friction_diameter(1.5 * diameter, 1.1 * diameter)
    torque = tightening_torque(force, diameter, pitch, under_head, thread, head)
    assert preload_from_torque(torque, diameter, pitch, under_head, thread, head) == pytest.approx(force)
    assert tightening_torque(force, diameter, pitch, under_head, thread + 0.01, head) > torque
    assert tightening_torque(force, diameter, pitch, under_head, thread, head + 0.01) > torque


def test_without_friction_all_work_goes_into_stretch() -> None:
    """A frictionless turn: torque x 2 pi = preload x pitch."""
    assert tightening_torque(40e3, 0.010, 0.0015, 0.0128, 0.0, 0.0) == pytest.approx(
        40e3 * 0.0015 / 6.283185307
    )


def test_a_torque_card_of_another_lubricant_changes_preload_by_a_quarter() -> None:
    """Common practice, no source: moly for oil adds about a quarter at the same torque."""
    oil = preload_from_torque(70, 0.010, 0.0015, 0.0128, 0.125, 0.125)
    moly = preload_from_torque(70, 0.010, 0.0015, 0.0128, 0.095, 0.095)
    assert moly / oil == pytest.approx(1.25, abs=0.06)


@given(ratio=st.floats(0.5, 5), bolts=st.integers(4, 20), cylinders=st.integers(1, 6), lift=st.floats(1e4, 2e5))
def test_preload_for_a_clamp_ratio_gives_it(ratio: float, bolts: int, cylinders: int, lift: float) -> None:
    preload = preload_for_clamp_ratio(ratio, bolts, cylinders, lift)
    assert bolts / cylinders * preload / lift == pytest.approx(ratio)


@given(size=st.floats(0.0005, 0.5), grade=st.integers(0, len(GRADES) - 2))
def test_coarser_grades_and_larger_sizes_are_wider(size: float, grade: int) -> None:
    here = tolerance_grade(size, GRADES[grade])
    assert tolerance_grade(size, GRADES[grade + 1]) > here
    assert tolerance_grade(min(0.5, size * 1.5), GRADES[grade]) >= here


@given(size=st.floats(0.0031, 0.5))
def test_shaft_letters_close_the_fit_in_order(size: float) -> None:
    least = [hole_basis_fit(size, "IT7", letter, "IT6").least for letter in "efgh"]
    least += [hole_basis_fit(size, "IT7", letter, "IT6").least for letter in ("js", "k", "m", "n", "p")]
    assert least == sorted(least, reverse=True)
    assert hole_basis_fit(size, "IT7", "h", "IT6").least == 0
    assert hole_basis_fit(size, "IT7", "p", "IT6").most <= 1e-9


def test_a_step_of_sizes_ends_with_its_upper_size() -> None:
    assert tolerance_grade(0.018, "IT7") == pytest.approx(18e-6)
    assert tolerance_grade(0.01801, "IT7") == pytest.approx(21e-6)
    assert tolerance_grade(18 * 0.001, "IT7") == pytest.approx(18e-6)


@given(wear=st.floats(0, 1e-4))
def test_clearance_takes_shells_twice_and_the_rest_once(wear: float) -> None:
    here = bearing_clearance(0.062, 0.0019855, 0.058)
    assert bearing_clearance(0.062, 0.0019855 - wear, 0.058) - here == pytest.approx(2 * wear, abs=1e-12)
    assert bearing_clearance(0.062, 0.0019855, 0.058 - wear) - here == pytest.approx(wear, abs=1e-12)
    # An undersize shell makes up for a ground journal: 0.25 mm on diameter, half of it on each shell.
    assert bearing_clearance(0.062, 0.0019855 + 0.000125, 0.05775) == pytest.approx(here)


@given(crush=st.floats(0, 1e-4))
def test_crush_is_measured_and_felt(crush: float) -> None:
    bore = 0.051
    assert bearing_crush(3.141592653589793 / 2 * bore + crush, bore) == pytest.approx(crush, abs=1e-12)
    assert bearing_seat_pressure(2 * crush, 1.5e-3, bore) == pytest.approx(
        2 * bearing_seat_pressure(crush, 1.5e-3, bore)
    )


@given(gap=st.floats(1e-4, 1e-3), bore=st.floats(0.06, 0.12), other=st.floats(0.06, 0.12))
def test_ring_gap_goes_there_and_back(gap: float, bore: float, other: float) -> None:
    assert ring_gap_in_bore(ring_gap_in_bore(gap, bore, other), other, bore) == pytest.approx(gap, abs=1e-12)
    assert ring_end_gap_hot(gap, bore, 293.15, 293.15) == pytest.approx(gap)
    assert ring_end_gap_hot(gap, bore, 523.15, 423.15) < gap


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: stress_area(0.00125, 0.010), "are the two swapped"),
        (lambda: bolt_strength("11.9", 0.010), "property_class must be one of 8.8, 10.9, 12.9, 13.9, 15.9"),
        (lambda: bolt_strength("8.8", 0.050), "diameter must lie between 1.6 and 39 mm, got 50 mm"),
        (lambda: engagement_needed(0.010, 0.0015, 1e9, 0.0), "hole_shear_strength must be above zero"),
        (
            lambda: preload_at_yield_share(0.010, 0.0015, 9e8, 0.9),
            "thread_friction must lie between 0 and 0.5",
        ),
        (
            lambda: preload_at_yield_share(0.010, 0.0015, 9e8, 0.1, 1.4),
            "yield_share must lie between 0 and 100 %",
        ),
        (lambda: head_friction_diameter(0.011, 0.012), "hole_diameter must be less than face_diameter"),
        (lambda: preload_for_clamp_ratio(2.0, 10, 4, 0.0), "gas_load must be above zero"),
        (lambda: tolerance_grade(0.6, "IT7"), "size must be no more than 500 mm, got 600 mm"),
        (lambda: tolerance_grade(0.05, "IT3"), "grade must be one of"),
        (lambda: hole_basis_fit(0.05, "IT7", "z", "IT6"), "shaft_letter must be one of"),
        (lambda: bearing_seat_pressure(1e-3, 1.5e-3, 0.051), "where the shell yields"),
    ],
)
def test_nonsense_is_refused_in_words(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRange, match=words):
        call()
