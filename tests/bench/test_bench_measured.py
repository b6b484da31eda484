"""Selecting measured pieces, at the size of an engine and of a shop."""

from __future__ import annotations

import itertools
import random

import compat
from compat.bench.assigning import Bond, Cost, assign, seat_pieces
from compat.bench.results import results

MOST_SECONDS = 2.0


def hold(benchmark) -> None:
    """Where it is measured, and not only run once, it keeps to the time."""
    if benchmark.enabled:
        assert benchmark.stats.stats.min < MOST_SECONDS


def test_assign_sixty(benchmark) -> None:
    """Sixty pieces to sixty seats."""
    chance = random.Random(60)
    table = [[Cost(chance.random(), chance.random() < 0.2) for _ in range(60)] for _ in range(60)]
    benchmark(assign, table)
    hold(benchmark)


def test_two_kinds_to_eight_seats(benchmark) -> None:
    """Rods and shells of a V8, which meet in one clearance."""
    chance = random.Random(8)
    costs = {key: Cost(chance.random()) for key in itertools.product(range(8), repeat=3)}
    benchmark(seat_pieces, 8, ["rod", "rod_bearing"], [Bond(("rod", "rod_bearing"), costs)])
    hold(benchmark)


def test_measured_engine(benchmark) -> None:
    """All that came of four bores, pistons and rods, of a check that is there."""
    shop = compat.open_shop(cache=False)
    said = {
        spec: {"pieces": [f"{value + n / 1000:.3f} mm" for n in range(4)], "uncertainty": "0.002 mm"}
        for spec, value in {
            "block.bore_diameter": 85.998,
            "piston.skirt_diameter": 85.948,
            "crankshaft.rod_journal_diameter": 47.990,
            "rod.big_end_bore": 51.004,
            "rod_bearing.shell_thickness": 1.484,
        }.items()
    }
    checked = shop.check(shop.build("street-turbo").measuring(said)).checked
    benchmark(results, checked)
    hold(benchmark)
