"""Tolerances of derived figures against a Monte Carlo run with numpy, and against exhausted corners.

Method of the comparison: JCGM 101:2008 (propagation of distributions by a Monte Carlo method) against
JCGM 100:2008, 4.3.7 and 5.1.2 (clauses from memory): a quantity known to lie within ±a, equally likely
anywhere, has the standard uncertainty a/sqrt(3). So the root-sum-square of half widths, over sqrt(3), must
be the standard deviation of the sampled figure, and the worst case must be its furthest reach.

The tolerances are the demo's own. What is sampled is every toleranced spec of a settled build, each
uniformly within its band and independently of the others.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from compat.checking.settle import Specs
from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.rulebook.values import Absent, Number
from compat.shop.builds import as_build
from compat.shop.models import Build
from compat.shop.specs import Spec
from compat.units import Band, read_band
from tests.look import demo_shop, settle

DEMO = demo_shop()
BUILDS = ["tarn-20-base", "tarn-20-turbo", "fell-30-base", "long-stroke-20", "first-draft"]
SAMPLES = 900

# sums and differences of dimensions, by how the trade adds them up
LINEAR = {
    "deck_clearance", "quench_gap", "main_clearance", "main_clearance_cold", "big_end_clearance",
    "big_end_clearance_cold", "crank_end_float",
    "rod_side_clearance", "main_edge_to_fillet", "rod_edge_to_fillet", "skirt_clearance", "wall_left",
    "oversize", "ring_pack_depth", "pin_top_margin", "ring_back_clearance", "skirt_to_counterweight",
    "big_end_swing", "big_end_to_block", "bore_overhang", "oil_ring_in_bore", "head_grip",
    "head_thread_engagement", "head_thread_room", "front_cover_step", "piston_speed",
}  # fmt: skip

# how far the truth may lie from the straight line, as a share of the worst case: the curvature of the figure
# over a tolerance. Ratios with the small clearance volume below them are the most curved.
CURVED = {
    "compression_ratio": 0.03,
    "clearance_volume": 1e-3,
    "swept_volume": 1e-3,
    "displacement": 1e-3,
    "rod_ratio": 2e-3,
    "bmep": 2e-3,
    "reciprocating_load": 1e-3,
    "rod_bolt_load": 1e-3,
    "gas_load": 2e-3,
    "rod_buckling_load": 1e-3,
    "rod_to_bore_gap": 1e-3,
    "knock_frequency": 1e-3,
    "piston_valve_gap_inlet": 1e-3,
    "piston_valve_gap_exhaust": 1e-3,
}
LOOSEST = 0.05


def build_of(name: str) -> Build:
    shop = DEMO.shop
    return shop.builds[name] if name in shop.builds else as_build(shop.variants[name])


class Exact(BuildWorld):
    """A world in which nothing has a tolerance, so that no slope is asked for."""

    def worst(self, value: Number) -> float:
        return 0.0


def with_specs(world: BuildWorld, values: dict[str, float], kind: type[BuildWorld] = BuildWorld) -> BuildWorld:
    """The same settled build with some specs at exact values."""
    specs = Specs(dict(world.settled.specs.by_position))
    for leaf, value in values.items():
        position, _, name = leaf.partition(".")
        spec = specs[position, name]
        assert isinstance(spec.value, Band)
        exact = Band(value, value, value, spec.value.dimension, spec.value.unit)
        specs.set(position, name, Spec(exact))
    other = kind(dataclasses.replace(world.settled, specs=specs))
    other.joints = world.joints
    return other


def rests_on_heavy(name: str) -> bool:
    """Heavy formulas pass tolerances on through few of their arguments, and cost too much to sample."""
    book = DEMO.book
    figures = [book.figures[figure] for figure in (name, *book.reach(name).figures)]
    return any(figure.formula is not None and figure.formula.heavy for figure in figures)


@dataclass
class Run:
    """A Monte Carlo run on one build."""

    world: BuildWorld
    leaves: list[str]
    unit_draws: np.ndarray
    figures: dict[str, Number]
    sampled: dict[str, np.ndarray]

    def share(self, name: str) -> np.ndarray:
        """Signed contribution of each toleranced spec to the worst case of a figure."""
        slopes = self.figures[name].g or {}
        return np.array([slopes.get(leaf, 0.0) * self.world.half.get(leaf, 0.0) for leaf in self.leaves])


@cache
def run(name: str) -> Run:
    world = settle(DEMO.shop, DEMO.book, build_of(name))
    figures: dict[str, Number] = {}
    for figure in DEMO.book.figures:
        if rests_on_heavy(figure):
            continue
        try:
            value = world.figure(figure)
        except Absent:
            continue
        if isinstance(value, Number) and any(not leaf.startswith("model") for leaf in value.g or ()):
            figures[figure] = value
    leaves = sorted(
        {leaf for value in figures.values() for leaf in value.g or () if not leaf.startswith("model")}
    )
    draws = np.random.default_rng(20080901).uniform(-1.0, 1.0, (SAMPLES, len(leaves)))
    middles = [band(world, leaf).middle for leaf in leaves]
    halves = [band(world, leaf).half_width for leaf in leaves]
    sampled: dict[str, list[float]] = {figure: [] for figure in figures}
    for row in draws:
        at = {leaf: m + x * h for leaf, m, h, x in zip(leaves, middles, halves, row, strict=True)}
        trial = with_specs(world, at, Exact)
        for figure, values in sampled.items():
            value = trial.figure(figure)
            assert isinstance(value, Number)
            values.append(value.x)
    return Run(world, leaves, draws, figures, {figure: np.array(values) for figure, values in sampled.items()})


def band(world: BuildWorld, leaf: str) -> Band:
    position, _, name = leaf.partition(".")
    value = world.settled.specs[position, name].value
    assert isinstance(value, Band)
    return value


def real(draw: Run) -> list[str]:
    """Figures whose tolerance is more than float noise."""
    return [name for name in draw.figures if np.abs(draw.share(name)).sum() > 1e-12 * abs(draw.figures[name].x)]


@pytest.mark.parametrize("build", BUILDS)
def test_the_run_is_worth_the_name(build: str) -> None:
    draw = run(build)
    assert len(draw.leaves) >= 15
    assert len(real(draw)) >= 40
    assert len(LINEAR & set(real(draw))) >= 15
    assert {"compression_ratio", "clearance_volume", "reciprocating_load"} <= set(real(draw))


@pytest.mark.parametrize("build", BUILDS)
def test_root_sum_square_is_the_standard_deviation(build: str) -> None:
    """JCGM 101, 7.6 against JCGM 100, 5.1.2 (clauses from memory): both give one standard uncertainty."""
    draw = run(build)
    # standard error of a standard deviation of SAMPLES draws is 1/sqrt(2*SAMPLES) for a normal distribution and
    # less for uniform ones; four of them, and no more, may lie between
    most = 4 / math.sqrt(2 * SAMPLES)
    for name in real(draw):
        expected = float(np.sqrt((draw.share(name) ** 2).sum())) / math.sqrt(3)
        assert draw.sampled[name].std(ddof=1) == pytest.approx(expected, rel=most), name
        own = {leaf for leaf in draw.figures[name].g or () if not leaf.startswith("model")}
        if own == set(draw.figures[name].g or ()):
            assert draw.world.likely(draw.figures[name]) / math.sqrt(3) == pytest.approx(expected, rel=1e-9), (
                name
            )


@pytest.mark.parametrize("build", BUILDS)
def test_middle_of_the_bands_is_the_mean(build: str) -> None:
    """With asymmetric tolerances the value is taken at mid-band (mean size of ISO 286-1), not at nominal."""
    draw = run(build)
    for name in real(draw):
        deviation = float(np.sqrt((draw.share(name) ** 2).sum())) / math.sqrt(3)
        off = abs(draw.sampled[name].mean() - draw.figures[name].x)
        assert off < 4 * deviation / math.sqrt(SAMPLES) + LOOSEST * deviation, name


@pytest.mark.parametrize("build", BUILDS)
def test_every_sample_lies_on_the_straight_line(build: str) -> None:
    """Draw for draw: middle + sum of slope x deviation, exactly for stacks and closely for the rest."""
    draw = run(build)
    for name in real(draw):
        share = draw.share(name)
        straight = draw.figures[name].x + draw.unit_draws @ share
        off = float(np.abs(draw.sampled[name] - straight).max() / np.abs(share).sum())
        assert off < (1e-9 if name in LINEAR else CURVED.get(name, LOOSEST)), (name, off)


@pytest.mark.parametrize("build", BUILDS)
def test_no_sample_reaches_beyond_the_worst_case(build: str) -> None:
    draw = run(build)
    for name in real(draw):
        worst = float(np.abs(draw.share(name)).sum())
        reach = float(np.abs(draw.sampled[name] - draw.figures[name].x).max())
        assert reach <= worst * (1 + (1e-9 if name in LINEAR else CURVED.get(name, LOOSEST))), name
        assert reach > 0.4 * worst, name  # and it is no idle bound


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("name", sorted(LINEAR))
def test_corners_reach_the_worst_case_and_no_further(build: str, name: str) -> None:
    """All combinations of limit sizes (the worst-case stack of the trade), least and greatest of them."""
    draw = run(build)
    if name not in real(draw):
        pytest.skip(f"{name} carries no tolerance in {build}")
    value = draw.figures[name]
    leaves = [leaf for leaf in value.g or () if abs(draw.world.half[leaf]) > 0]
    assert len(leaves) <= 8
    limits = [(band(draw.world, leaf).low, band(draw.world, leaf).high) for leaf in leaves]
    found = []
    for corner in itertools.product(*limits):
        at = with_specs(draw.world, dict(zip(leaves, corner, strict=True)), Exact).figure(name)
        assert isinstance(at, Number)
        found.append(at.x)
    worst = draw.world.worst(value)
    scale = max(abs(value.x), worst)
    assert max(found) == pytest.approx(value.x + worst, abs=1e-12 * scale + 1e-9 * worst)
    assert min(found) == pytest.approx(value.x - worst, abs=1e-12 * scale + 1e-9 * worst)


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("name", sorted(CURVED))
def test_corners_of_curved_figures(build: str, name: str) -> None:
    """The corner that the slopes point at lies where the worst case says, within the curvature."""
    draw = run(build)
    if name not in real(draw):
        pytest.skip(f"{name} carries no tolerance in {build}")
    share = draw.share(name)
    worst = float(np.abs(share).sum())
    for side in (1.0, -1.0):
        at = {}
        for leaf, part in zip(draw.leaves, share, strict=True):
            own = band(draw.world, leaf)
            at[leaf] = own.middle + side * math.copysign(own.half_width, part) if part else own.middle
        reached = with_specs(draw.world, at, Exact).figure(name)
        assert isinstance(reached, Number)
        limit = 2 * CURVED[name] * worst  # a corner lies about twice as far out as a draw ever comes
        assert reached.x == pytest.approx(draw.figures[name].x + side * worst, abs=limit)


@pytest.mark.parametrize("build", BUILDS)
def test_main_contributor_by_knocking_out_each_tolerance(build: str) -> None:
    """The tolerance named as the greatest is the one whose removal narrows the band most."""
    draw = run(build)
    for name in real(draw):
        value = draw.figures[name]
        leaves = [leaf for leaf in value.g or () if not leaf.startswith("model")]
        if len(leaves) != len(value.g or ()) or len(leaves) < 2:
            continue
        left = {}
        for leaf in leaves:
            fixed = with_specs(draw.world, {leaf: band(draw.world, leaf).middle})
            narrowed = fixed.figure(name)
            assert isinstance(narrowed, Number)
            left[leaf] = fixed.worst(narrowed)
        named = draw.world.contributor(value)
        least = min(left.values())
        # two equal tolerances: either may be named
        assert left[named] <= least + 1e-6 * draw.world.worst(value), (name, named, left)


@pytest.mark.parametrize("build", BUILDS)
def test_the_order_of_asking_makes_no_difference(build: str) -> None:
    """Figures that rest on one model share its scatter, each by its own size, whichever is asked first."""

    def widths(names: list[str]) -> dict[str, tuple[float, float]]:
        world = settle(DEMO.shop, DEMO.book, build_of(build))
        found = {}
        for name in names:
            try:
                found[name] = world.figure(name)
            except Absent:
                continue
        return {n: (world.worst(v), world.likely(v)) for n, v in found.items() if isinstance(v, Number)}

    names = list(DEMO.book.figures)
    forwards, backwards = widths(names), widths(names[::-1])
    assert forwards.keys() == backwards.keys()
    for name, both in forwards.items():
        assert both == pytest.approx(backwards[name], rel=1e-9), name


# section by hand


def test_deck_stack_by_hand(demo: Library) -> None:
    """Deck ±0.08, half of stroke ±0.05, rod ±0.03, compression height ±0.04: sums by hand."""
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    value = world.figure("deck_clearance")
    assert isinstance(value, Number)
    assert value.x * 1e3 == pytest.approx(222.50 - 87.00 / 2 - 148.00 - 30.80, abs=1e-9)
    assert world.worst(value) * 1e3 == pytest.approx(0.08 + 0.025 + 0.03 + 0.04, abs=1e-9)
    assert world.likely(value) * 1e3 == pytest.approx(
        math.sqrt(0.08**2 + 0.025**2 + 0.03**2 + 0.04**2), abs=1e-9
    )
    assert world.contributor(value) == "block.deck_height"


def test_compression_ratio_by_hand(demo: Library) -> None:
    """10.00 ±0.35 worst case, ±0.14 root-sum-square, chamber first and deck height next; worked from the sheet.

    The sheet holds the bore at 85.500; the band of +0.008/-0 adds less than a unit in the last digit.
    """
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    value = world.figure("compression_ratio")
    assert isinstance(value, Number)
    assert value.x == pytest.approx(10.00, abs=0.005)
    assert world.worst(value) == pytest.approx(0.35, abs=0.005)
    assert world.likely(value) == pytest.approx(0.14, abs=0.005)
    by_size = sorted(value.g or {}, key=lambda leaf: -abs((value.g or {})[leaf]) * world.half[leaf])
    assert by_size[:2] == ["cylinder_head.chamber_volume", "block.deck_height"]


@pytest.mark.parametrize(
    ("text", "middle", "half"),
    [
        ("51.000 mm +0.013/-0", 51.0065, 0.0065),
        ("58.000 mm +0/-0.016", 57.992, 0.008),
        ("2.4..2.6 mm", 2.5, 0.1),
        ("85.5 mm +0.02/+0.01", 85.515, 0.005),
        ("80 mm -0.01/-0.03", 79.98, 0.01),
    ],
)
def test_asymmetric_band_is_taken_about_its_middle(
    demo: Library, text: str, middle: float, half: float
) -> None:
    """Mean size of ISO 286-1: limits of size put symmetrically about their middle."""
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    own = world.settled.specs["rod", "big_end_bore"]
    world.settled.specs.set("rod", "big_end_bore", dataclasses.replace(own, value=read_band(text)))
    value = world.spec("rod", "big_end_bore")
    assert isinstance(value, Number)
    assert (value.x * 1e3, world.worst(value) * 1e3) == pytest.approx((middle, half), abs=1e-9)


def test_shell_clearance_by_hand(demo: Library) -> None:
    """Housing 62.000 +0.012/-0, shells 1.988 +0/-0.006, journal 58.000 +0/-0.016: 0.024 to 0.064."""
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    value = world.figure("main_clearance")
    assert isinstance(value, Number)
    half = world.worst(value)
    assert ((value.x - half) * 1e3, (value.x + half) * 1e3) == pytest.approx((0.024, 0.064), abs=1e-9)


def test_one_dimension_in_two_places_counts_once(demo: Library) -> None:
    """The bore is in the swept volume and in the clearance volume: its tolerance must not be added twice.

    Correlation through a shared input, JCGM 100, 5.2.
    """
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    own = world.settled.specs["block", "bore_diameter"]
    wide = dataclasses.replace(own, value=read_band("85.5 mm ±0.2"))
    world.settled.specs.set("block", "bore_diameter", wide)
    value = world.figure("compression_ratio")
    assert isinstance(value, Number)
    assert value.g is not None
    ends = []
    for text in ("85.7 mm", "85.3 mm"):
        moved = with_specs(world, {"block.bore_diameter": read_band(text).nominal}).figure("compression_ratio")
        assert isinstance(moved, Number)
        ends.append(moved.x)
    slope = value.g["block.bore_diameter"] * world.half["block.bore_diameter"]
    assert slope == pytest.approx((ends[0] - ends[1]) / 2, rel=1e-3)


@pytest.mark.parametrize("variant", ["tarn-20-base", "tarn-20-turbo"])
def test_heavy_formula_passes_on_what_it_says(demo: Library, variant: str) -> None:
    """Oil pressure by its circuit: tolerances of both clearances, each by a difference over its band."""
    world = settle(demo.shop, demo.book, as_build(demo.shop.variants[variant]))
    formula = demo.book.figures["idle_oil_pressure"].formula
    assert formula is not None
    assert formula.heavy
    assert set(formula.sensitive_to) == {"main_clearance", "rod_clearance"}
    pressure = world.figure("idle_oil_pressure")
    assert isinstance(pressure, Number)
    expected = 0.0
    for clearance, housing in (
        ("main_clearance_warm", "block.main_housing_bore"),
        ("big_end_clearance_warm", "rod.big_end_bore"),
    ):
        value = world.figure(clearance)
        assert isinstance(value, Number)
        ends = []
        for sign in (1, -1):
            moved = with_specs(world, {housing: band(world, housing).middle + sign * world.worst(value)})
            found = moved.figure("idle_oil_pressure")
            assert isinstance(found, Number)
            ends.append(found.x)
        expected += abs(ends[0] - ends[1]) / 2
    assert world.spread(pressure).pieces == pytest.approx(expected, rel=1e-6)
    # and its own scatter on top
    own = formula.scatter["gallery_pressure"] * pressure.x
    assert world.worst(pressure) == pytest.approx(expected + own, rel=1e-6)
