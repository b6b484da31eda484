"""Properties of cylinder volumes, heights and room: round trips, order, no jumps."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.cylinder.compression import clearance_volume_for_ratio, compression_ratio_of_volumes
from compat.engineering.cylinder.deck import cam_retard, deck_clearance, pin_top_margin, quench_gap, skim_volume
from compat.engineering.cylinder.envelope import big_end_swing, rod_to_bore_gap
from compat.engineering.cylinder.geometry import (
    clearance_volume,
    deck_volume,
    engine_displacement,
    gasket_volume,
    swept_volume,
)

BORES = st.floats(0.05, 0.15)
STROKES = st.floats(0.04, 0.16)
VOLUMES = st.floats(5e-6, 200e-6)


@given(bore=BORES, stroke=STROKES, cylinders=st.integers(1, 16))
def test_displacement_is_the_sum_of_the_cylinders(bore: float, stroke: float, cylinders: int) -> None:
    assert engine_displacement(bore, stroke, cylinders) == pytest.approx(cylinders * swept_volume(bore, stroke))


@given(bore=BORES, stroke=STROKES, factor=st.floats(1.001, 1.5))
def test_swept_volume_grows_with_bore_squared_and_stroke(bore: float, stroke: float, factor: float) -> None:
    here = swept_volume(bore, stroke)
    assert swept_volume(bore * factor, stroke) == pytest.approx(here * factor**2)
    assert swept_volume(bore, stroke * factor) == pytest.approx(here * factor)


@given(swept=st.floats(50e-6, 2e-3), ratio=st.floats(1.5, 25))
def test_ratio_and_clearance_volume_undo_each_other(swept: float, ratio: float) -> None:
    assert compression_ratio_of_volumes(swept, clearance_volume_for_ratio(swept, ratio)) == pytest.approx(ratio)


@given(
    chamber=VOLUMES,
    dish=st.floats(0, 30e-6),
    bore=BORES,
    below=st.floats(0, 2e-3),
    more=st.floats(1e-9, 5e-6),
)
def test_each_volume_above_the_piston_lowers_the_ratio(
    chamber: float, dish: float, bore: float, below: float, more: float
) -> None:
    swept = swept_volume(bore, 0.087)

    def ratio(chamber: float, dish: float, below: float, crevice: float = 0.0) -> float:
        left = clearance_volume(chamber, dish, bore, 1e-3, bore, below, crevice)
        return compression_ratio_of_volumes(swept, left)

    here = ratio(chamber, dish, below)
    assert ratio(chamber + more, dish, below) < here
    assert ratio(chamber, dish + more, below) == pytest.approx(ratio(chamber + more, dish, below))
    assert ratio(chamber, dish, below, more) == pytest.approx(ratio(chamber + more, dish, below))
    assert ratio(chamber, dish, below + 1e-5) < here


@given(bore=BORES, below=st.floats(-1e-3, 1e-3), thickness=st.floats(0.3e-3, 3e-3))
def test_a_gasket_of_the_bore_counts_as_deck_clearance(bore: float, below: float, thickness: float) -> None:
    together = gasket_volume(bore, thickness) + deck_volume(bore, below)
    assert together == pytest.approx(deck_volume(bore, quench_gap(below, thickness)), abs=1e-15)


@given(stroke=STROKES, longer=st.floats(1e-4, 0.02))
def test_half_the_stroke_difference_comes_off_the_compression_height(stroke: float, longer: float) -> None:
    here = deck_clearance(0.25, stroke, 0.15, 0.031)
    assert deck_clearance(0.25, stroke + longer, 0.15, 0.031 - longer / 2) == pytest.approx(here, abs=1e-12)
    assert deck_clearance(0.25, stroke + longer, 0.15, 0.031) == pytest.approx(here - longer / 2, abs=1e-12)


@given(teeth=st.integers(15, 60), pitch=st.floats(0.005, 0.012))
def test_a_whole_turn_of_belt_is_a_whole_turn_of_cam(teeth: int, pitch: float) -> None:
    assert cam_retard(teeth * pitch, teeth, pitch) == pytest.approx(2 * math.pi)
    assert cam_retard(-1e-3, teeth, pitch) == -cam_retard(1e-3, teeth, pitch)
    # Crank sprocket: half the teeth, twice the angle.
    assert cam_retard(1e-3, teeth / 2, pitch) == pytest.approx(2 * cam_retard(1e-3, teeth, pitch))


def test_support_rail_is_a_negative_margin_not_a_refusal() -> None:
    assert pin_top_margin(0.026, 0.021, 0.0166) == pytest.approx(-1.1e-3)


@given(
    stroke=st.floats(0.06, 0.1),
    ratio=st.floats(1.45, 2.0),
    half_width=st.floats(0.01, 0.04),
    height=st.floats(-0.01, 0.08),
    bottom=st.floats(0.05, 0.12),
)
def test_rod_gap_has_no_jump_and_follows_the_bore(
    stroke: float, ratio: float, half_width: float, height: float, bottom: float
) -> None:
    def gap(bore: float = 0.0855, up: float = 0.0) -> float:
        return rod_to_bore_gap(stroke, stroke * ratio, half_width, height, bore, bottom + up)

    here = gap()
    # A corner moves no further than what moves it.
    for shift in (1e-6, 1e-4, 1e-3):
        assert abs(gap(up=shift) - here) <= shift + 1e-9
        assert -1e-9 <= gap(bore=0.0855 + 2 * shift) - here <= shift + 1e-9
    # The corner never leaves the circle that it sweeps about the crank.
    reach = big_end_swing(stroke, math.hypot(half_width, height))
    assert here >= bottom - reach - 1e-9 or here >= 0.0855 / 2 - reach - 1e-9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: swept_volume(-0.086, 0.086), "bore must be above zero"),
        (lambda: swept_volume(math.nan, 0.086), "bore must be a finite number"),
        (lambda: compression_ratio_of_volumes(5e-4, 0.0), "clearance_volume must be above zero"),
        (lambda: clearance_volume_for_ratio(5e-4, 1.0), "compression_ratio must be above 1"),
        (lambda: clearance_volume(30e-6, -40e-6, 0.086, 1e-3, 0.086, 0.0), "check the signs of crown_volume"),
        (lambda: skim_volume(48e-4, -1e-4), "depth must not be below zero"),
        (lambda: quench_gap(1e-4, 0.0), "gasket_thickness must be above zero"),
    ],
)
def test_nonsense_is_refused_in_words(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRange, match=words):
        call()
