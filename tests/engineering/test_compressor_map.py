"""The compressor map: it gives back its own points, and never jumps."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.interpolate import CloughTocher2DInterpolator

from compat.engineering.air.charge import pressure_ratio
from compat.engineering.air.charge_heat import AIR_EXPONENT, AIR_GAS_CONSTANT, compressor_power
from compat.engineering.air.compressor_map import compressor_point, read_point
from compat.engineering.air.full_load import full_load_line, full_load_point
from compat.engineering.formula import GoalOutOfReach, OutOfRange

RPM = math.pi / 30

# an invented compressor for a two-litre engine of 220 kW
_LINES = {
    100e3: ((0.045, 1.46, 0.66), (0.070, 1.45, 0.73), (0.090, 1.41, 0.75),
            (0.115, 1.33, 0.70), (0.135, 1.20, 0.60)),
    120e3: ((0.065, 1.75, 0.66), (0.090, 1.75, 0.74), (0.120, 1.68, 0.77),
            (0.145, 1.54, 0.72), (0.165, 1.35, 0.60)),
    140e3: ((0.090, 2.12, 0.66), (0.120, 2.12, 0.74), (0.150, 2.02, 0.77),
            (0.175, 1.84, 0.72), (0.195, 1.55, 0.60)),
    160e3: ((0.120, 2.58, 0.65), (0.150, 2.56, 0.73), (0.180, 2.44, 0.76),
            (0.205, 2.20, 0.71), (0.225, 1.80, 0.60)),
    180e3: ((0.155, 3.10, 0.63), (0.185, 3.05, 0.70), (0.210, 2.90, 0.73),
            (0.235, 2.60, 0.68), (0.250, 2.10, 0.58)),
}  # fmt: skip
MAP = tuple((n * RPM, *point) for n, line in _LINES.items() for point in line)


def _head(ratio: float) -> float:
    return ratio**AIR_EXPONENT - 1


@pytest.mark.parametrize("row", MAP)
def test_gives_back_its_own_points(row):
    speed, flow, ratio, efficiency = row
    point = compressor_point(MAP, flow, ratio)
    # 17 stations a line, straight between them: the corner of a line is cut by less than this
    assert point.corrected_speed == pytest.approx(speed, rel=4e-3)
    assert point.efficiency == pytest.approx(efficiency, abs=6e-3)


@pytest.mark.parametrize("line", _LINES.values(), ids=[f"{n:.0f}" for n in _LINES])
def test_edges_are_the_ends_of_the_lines(line):
    (surge_flow, surge_ratio, _), (choke_flow, choke_ratio, _) = line[0], line[-1]
    assert compressor_point(MAP, surge_flow, surge_ratio).surge_margin == pytest.approx(0, abs=1e-9)
    assert compressor_point(MAP, choke_flow, choke_ratio).choke_margin == pytest.approx(0, abs=1e-9)
    assert compressor_point(MAP, 0.8 * surge_flow, surge_ratio).surge_margin == pytest.approx(-0.2)
    assert compressor_point(MAP, 1.1 * choke_flow, choke_ratio).choke_margin == pytest.approx(1 / 1.1 - 1)


def test_agrees_with_scattered_interpolation():
    # scipy's smooth interpolation knows nothing of speed lines: an independent reading
    flows = np.array([row[1] for row in MAP])
    heads = np.array([_head(row[2]) for row in MAP])
    other = CloughTocher2DInterpolator(np.column_stack([flows / 0.25, heads / 0.4]), [row[3] for row in MAP])
    generator = np.random.default_rng(7)
    tried = 0
    for _ in range(200):
        flow, ratio = generator.uniform(0.07, 0.22), generator.uniform(1.5, 2.8)
        try:
            point = compressor_point(MAP, flow, ratio)
        except OutOfRange:
            continue
        if point.surge_margin > 0.08 and point.choke_margin > 0.05 and point.corrected_speed < 175e3 * RPM:
            tried += 1
            assert point.efficiency == pytest.approx(float(other(flow / 0.25, _head(ratio) / 0.4)), abs=0.02)
    assert tried > 40


def test_fan_law_below_the_lowest_line():
    point = compressor_point(MAP, 0.090, 1.40)
    for scale in (0.9, 0.7, 0.4, 0.1):
        at_one = compressor_point(MAP, 0.060, 1.30)
        lower_ratio = (1 + scale**2 * _head(1.30)) ** (1 / AIR_EXPONENT)
        lower = compressor_point(MAP, 0.060 * scale, lower_ratio)
        assert lower.corrected_speed == pytest.approx(scale * at_one.corrected_speed)
        assert lower.efficiency == pytest.approx(at_one.efficiency)
        assert lower.surge_margin == pytest.approx(at_one.surge_margin)
    assert point.corrected_speed < 100e3 * RPM


def test_work_is_held_beyond_choke():
    # straight down from the choke end of a line: same speed, same work, less head
    _, edge_efficiency, edge_work = read_point(MAP, 0.195, 1.55)
    speed, efficiency, work = read_point(MAP, 0.195, 1.30)
    assert speed == pytest.approx(140e3 * RPM)
    assert work == pytest.approx(edge_work)
    assert efficiency == pytest.approx(edge_efficiency * _head(1.30) / _head(1.55))


@pytest.mark.parametrize(
    "path",
    [
        [(0.02 + 0.0004 * i, 1.9) for i in range(560)],  # surge to beyond choke
        [(0.16, 1.01 + 0.004 * i) for i in range(560)],  # choke to beyond the top line
        [(0.01 + 0.0005 * i, 1.005 + 0.004 * i) for i in range(480)],  # corner to corner
    ],
)
def test_no_jump_along_a_path(path):
    readings = np.array([compressor_point(MAP, flow, ratio) for flow, ratio in path])
    readings[:, 1] /= 180e3 * RPM
    readings[:, 4:] = 1 / (1 + readings[:, 4:])  # bounded form of the margins
    readings[:, 2:4] /= 0.25
    assert np.isfinite(readings).all()
    steps = np.abs(np.diff(readings[:, :4], axis=0)).max(axis=0)
    assert (steps < 0.06).all(), steps
    # halving the step halves what is left: nothing sits behind it
    fine = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in itertools.pairwise(path)]
    halves = np.array([compressor_point(MAP, flow, ratio) for flow, ratio in fine])
    halves[:, 1] /= 180e3 * RPM
    halves[:, 2:4] /= 0.25
    finer = np.abs(halves[:, :4] - readings[:-1, :4]).max(axis=0)
    assert (finer < 0.75 * steps + 1e-9).all(), (finer, steps)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (MAP[:5], "two speed lines"),
        (MAP[:2] + MAP[5:7], "three points"),
        (((*MAP[0][:3], 1.4), *MAP[1:]), "efficiency"),
        ((MAP[0][:3], *MAP[1:]), "four columns"),
        (tuple((row[0], row[1], 5 - row[2], row[3]) for row in MAP), "compressor_map"),
        (((math.nan, *MAP[0][1:]), *MAP[1:]), "finite"),
        ((), "two speed lines"),
    ],
)
def test_refuses_what_is_no_map(rows, says):
    with pytest.raises(OutOfRange, match=says):
        compressor_point(rows, 0.15, 2.0)


@pytest.mark.parametrize(
    ("flow", "ratio", "says"),
    [
        (0.15, 4.4, "rpm"),
        (0.40, 2.0, "rpm"),
        (-0.1, 2.0, "flow"),
        (0.15, 0.9, "pressure_ratio"),
        (math.inf, 2, "finite"),
    ],
)
def test_refuses_points_out_of_reach(flow, ratio, says):
    """A point past the map is asked too much of; a point that is none is nonsense."""
    with pytest.raises(OutOfRange, match=says) as caught:
        compressor_point(MAP, flow, ratio)
    assert isinstance(caught.value, GoalOutOfReach) == (says == "rpm")


_ENGINE = {
    "displacement": 1.998e-3,
    "volumetric_efficiency": 0.95,
    "ambient_pressure": 100e3,
    "ambient_temperature": 293.15,
    "effectiveness": 0.72,
    "rated_flow": 0.2,
    "charge_loss": 6e3,
    "filter_loss": 2e3,
}


def _line(**changes):
    arguments = {
        **_ENGINE,
        "boost": 100e3,
        "full_boost_speed": 3200 * RPM,
        "rev_limit": 6500 * RPM,
        **changes,
    }
    return full_load_line(MAP, **arguments)


def test_full_load_point_closes():
    """Mass, pressure and heat balance of the settled point, worked out again from its own figures."""
    point = full_load_point(MAP, boost=100e3, speed=6000 * RPM, **_ENGINE)
    density = 200e3 / (AIR_GAS_CONSTANT * point.charge_temperature)
    assert point.mass_flow == pytest.approx(0.95 * 1.998e-3 * 6000 / 60 / 2 * density, rel=1e-8)
    squared = (point.mass_flow / 0.2) ** 2
    assert point.pressure_ratio == pytest.approx(pressure_ratio(200e3, 100e3, 6e3 * squared, 2e3 * squared))
    heated = compressor_power(point.mass_flow, 293.15, point.pressure_ratio, point.efficiency)
    outlet = 293.15 + heated / point.mass_flow / 1005.0
    kept = (point.charge_temperature - 293.15) / (outlet - 293.15)
    assert kept == pytest.approx((1 - 0.72) ** math.sqrt(0.2 / point.mass_flow), rel=1e-6)


def test_full_load_line_moves_the_right_way():
    sea = _line()
    high = _line(ambient_pressure=80e3)  # about 1900 m: the same gauge boost asks a higher ratio
    assert high.shaft_speed > sea.shaft_speed
    assert high.surge_margin < sea.surge_margin
    early = _line(full_boost_speed=2200 * RPM)
    assert early.surge_margin < sea.surge_margin
    assert 1499 * RPM < early.surge_speed < 2201 * RPM
    higher_revs = _line(rev_limit=7200 * RPM)
    assert higher_revs.choke_margin < sea.choke_margin
    assert higher_revs.choke_speed == pytest.approx(7200 * RPM)


@pytest.mark.parametrize("name", ["boost", "full_boost_speed", "rev_limit", "ambient_pressure", "charge_loss"])
def test_full_load_line_does_not_jump(name):
    base = {"boost": 100e3, "full_boost_speed": 3200 * RPM, "rev_limit": 6500 * RPM, **_ENGINE}[name]
    values = [_line(**{name: base * (1 + 0.002 * i)}) for i in range(-4, 5)]
    for field in ("surge_margin", "choke_margin", "shaft_speed", "mass_flow", "charge_temperature"):
        series = np.array([getattr(v, field) for v in values])
        assert np.abs(np.diff(series)).max() < 0.012 * max(1.0, abs(series).max())


def test_surge_is_not_sought_below_the_map():
    """A compressor far too large idles below its lowest line at low speed: no surge is reported there."""
    large = tuple((n, 1.6 * flow, ratio, efficiency) for n, flow, ratio, efficiency in MAP)
    arguments = {**_ENGINE, "boost": 70e3, "full_boost_speed": 3800 * RPM, "rev_limit": 6500 * RPM}
    line = full_load_line(large, **arguments)
    lowest = (1.46 - 1) * 100e3
    assert line.surge_speed >= 3800 * RPM * math.sqrt(lowest / 70e3) * (1 - 1e-9)
    # one that is truly too large at full boost is found out
    assert full_load_line(large, **{**arguments, "full_boost_speed": 2400 * RPM}).surge_margin < 0


def test_full_load_refuses():
    with pytest.raises(OutOfRange, match="full_boost_speed"):
        _line(full_boost_speed=7000 * RPM)
    with pytest.raises(OutOfRange, match="rpm"):
        _line(boost=300e3)
