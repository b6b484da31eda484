"""Unit factors against NIST SP 811 and the bench's shorthand."""

from __future__ import annotations

import pytest

from compat.units import unit


@pytest.mark.parametrize(
    ("written", "other", "factor", "digits"),
    [
        # NIST SP 811, appendix B.8 (from memory).
        ("lbf*ft", "N*m", 1.355818, 6),
        ("hp", "W", 745.6999, 4),
        ("metric_horsepower", "W", 735.4988, 4),
        ("psi", "kPa", 6.894757, 6),
        ("in", "mm", 25.4, 9),
        ("in^3", "cm^3", 16.387064, 9),
        ("lb", "kg", 0.45359237, 9),
        ("lbf", "N", 4.448222, 6),
        ("bar", "kPa", 100.0, 9),
        ("atm", "kPa", 101.325, 9),
        ("lbf*in", "N*m", 0.1129848, 7),
        ("kgf*m", "N*m", 9.80665, 9),
        ("oz", "g", 28.34952, 5),
        ("qt", "L", 0.9463529, 7),
        ("gal/min", "m^3/s", 6.309020e-5, 11),
        ("ft^3/min", "m^3/s", 4.719474e-4, 10),
        ("lb/min", "kg/s", 7.559873e-3, 9),
        ("lbf/in", "N/m", 175.1268, 4),
        ("lb/ft^3", "kg/m^3", 16.01846, 5),
        ("thou", "um", 25.4, 9),
        ("deg", "rad", 1.745329e-2, 8),
        ("rpm", "rad/s", 1.047198e-1, 7),
    ],
)
def test_factors_of_nist_sp_811(written: str, other: str, factor: float, digits: int) -> None:
    assert unit(written).dimension == unit(other).dimension
    assert unit(written).factor / unit(other).factor == pytest.approx(factor, abs=0.51 * 10**-digits)


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [(40, (29, 30)), (80, (59, 60)), (115, (84, 85)), (20, (14.5, 15)), (79, (58, 58.5))],
)
def test_bench_shorthand_of_torque(metric: float, imperial: tuple[float, float]) -> None:
    """Common practice, no source: 40 N*m is about 30 lbf*ft, 80 about 60, 115 about 84 to 85, 20 about 15."""
    found = unit("lbf*ft").from_si(metric)
    assert imperial[0] <= found <= imperial[1]


def test_turns_and_temperatures() -> None:
    assert unit("rpm").to_si(6000) == pytest.approx(628.3185307)
    assert unit("degC").to_si(20) == pytest.approx(293.15)
    assert unit("degC").from_si(373.15) == pytest.approx(100)
    assert unit("degF").to_si(212) == pytest.approx(373.15)
    assert unit("cm^3/rev").to_si(10.5) == pytest.approx(10.5e-6 / 6.283185307)
