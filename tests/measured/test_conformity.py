"""The decision rule of ISO 14253-1 against worked examples, the normal law and a Monte Carlo run."""

from __future__ import annotations

import math
import random
from statistics import NormalDist

import pytest

from compat.checking.conformity import decide, doubt_of, gauge_leaf

NORMAL = NormalDist()


def test_the_diode_of_jcgm_106() -> None:
    """JCGM 106:2012, 7.2.2 (from memory): -5.47 V, u 0.05 V, at most -5.40 V: 92 % sure to conform."""
    u, margin = 0.05, -5.40 - -5.47
    assert NORMAL.cdf(margin / u) == pytest.approx(0.92, abs=0.005)
    assert decide(margin, 2 * u) == "undecided"
    assert decide(margin, 2 * 0.034) == "in"  # a gauge of two thirds of the error would have proven it


@pytest.mark.parametrize(
    ("value", "decision"),
    [
        (9.975, "out"),
        (9.985, "undecided"),
        (10.015, "undecided"),
        (10.025, "in"),
        (10.02, "in"),
        (9.98, "undecided"),
    ],
)
def test_the_zones_of_iso_14253(value: float, decision: str) -> None:
    """Figure 3 of ISO 14253-1 (from memory): conformity, uncertainty and nonconformity about one limit."""
    assert decide(round(value - 10.0, 9), 0.02) == decision


def test_what_is_accepted_at_the_edge_is_wrong_once_in_forty_four() -> None:
    """JCGM 106:2012, 8.3.2: a guard band of U = 2u leaves at most 2.3 % of a single wrong acceptance."""
    chance, u, draws = random.Random(14253), 1e-6, 40_000
    wrong = sum(decide(chance.gauss(-1e-12, u), 2 * u) == "in" for _ in range(draws))
    expected = NORMAL.cdf(-2)
    assert wrong / draws == pytest.approx(expected, abs=4 * math.sqrt(expected / draws))
    right = sum(decide(chance.gauss(5 * u, u), 2 * u) == "in" for _ in range(2000))
    assert right / 2000 > 0.99


def test_two_gauges_spread_as_their_root_sum_square() -> None:
    """JCGM 100:2008, 5.1.2 held against JCGM 101: 95 % of errors lie within the combined uncertainty."""
    chance, bore, outside = random.Random(101), 2e-6, 3e-6
    g = {gauge_leaf("bore", "block.bore_diameter", 1): 1.0, gauge_leaf("micrometer", "piston.skirt", 1): -1.0}
    half = dict(zip(g, (bore, outside), strict=True))
    guard = doubt_of(g, half).gauge
    errors = [chance.gauss(0, bore / 2) - chance.gauss(0, outside / 2) for _ in range(20_000)]
    assert sum(abs(error) <= guard for error in errors) / len(errors) == pytest.approx(0.9545, abs=0.006)


def test_one_gauge_errs_the_same_way_on_all_it_measured() -> None:
    one = {gauge_leaf("bore", "block.bore_diameter", 1): 1.0, gauge_leaf("bore", "rod.big_end_bore", 2): 1.0}
    unnamed = {gauge_leaf("", "block.bore_diameter", 1): 1.0, gauge_leaf("", "rod.big_end_bore", 2): 1.0}
    for g in (one, unnamed):
        assert doubt_of(g, dict.fromkeys(g, 2e-6)).gauge == pytest.approx(4e-6)


def test_tolerance_of_what_was_not_measured_excuses_nothing() -> None:
    assert decide(-0.003, 0.002, tolerance=0.01) == "out"
    assert decide(0.005, 0.002, tolerance=0.01) == "undecided"
    assert decide(0.012, 0.002, tolerance=0.01) == "in"
