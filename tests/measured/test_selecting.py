"""Which piece goes where: against brute force, against scipy, and on the demo's own fits."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

import compat
from compat.bench.assigning import Assignment, Bond, Cost, assign, seat_pieces
from compat.bench.fits import fits_of
from compat.bench.grading import grades_for
from compat.bench.results import measured_pieces, results
from compat.bench.selecting import select
from tests.measured.conftest import bores_and_skirts, pieces

Table = Sequence[Sequence[Cost]]


def best_of_all(table: Table) -> tuple[int, float]:
    """Fewest barred, then the least sum, over every order there is."""
    seats = range(len(table))
    return min(
        (sum(table[s][order[s]].barred for s in seats), sum(table[s][order[s]].cost for s in seats))
        for order in itertools.permutations(seats)
    )


def value_of(table: Table, found: Assignment) -> tuple[int, float]:
    assert sorted(found.order) == list(range(len(table)))
    return len(found.barred), sum(table[seat][piece].cost for seat, piece in enumerate(found.order))


@given(st.integers(1, 6), st.randoms(use_true_random=False))
def test_no_order_is_better(size: int, chance: random.Random) -> None:
    scale = 10.0 ** chance.randint(-9, 3)
    table = [[Cost(chance.random() * scale, chance.random() < 0.3) for _ in range(size)] for _ in range(size)]
    found = assign(table)
    barred, cost = best_of_all(table)
    assert value_of(table, found)[0] == barred
    assert found.cost == pytest.approx(cost, rel=1e-9)


@given(st.integers(2, 40), st.randoms(use_true_random=False))
def test_equal_to_scipy(size: int, chance: random.Random) -> None:
    """scipy.optimize.linear_sum_assignment (shortest augmenting paths, Crouse 2016)."""
    costs = [[chance.random() for _ in range(size)] for _ in range(size)]
    seats, order = linear_sum_assignment(costs)
    found = assign([[Cost(cost) for cost in row] for row in costs])
    assert found.cost == pytest.approx(sum(costs[s][p] for s, p in zip(seats, order, strict=True)), rel=1e-9)


def test_barred_pairings_stand_before_any_cost() -> None:
    table = [[Cost(0, barred=True), Cost(1e6)], [Cost(1e6), Cost(0, barred=True)]]
    assert assign(table) == Assignment((1, 0), 2e6, ())
    assert assign([[Cost(3, barred=True)]]).barred == (0,)
    assert assign([]) == Assignment((), 0.0, ())


@pytest.mark.parametrize("cost", [-1.0, float("nan"), float("inf")])
def test_a_cost_is_a_number(cost: float) -> None:
    with pytest.raises(ValueError, match="a cost is a number and not below zero"):
        assign([[Cost(cost)]])
    with pytest.raises(ValueError, match="as many pieces as seats"):
        assign([[Cost(1.0), Cost(2.0)]])


@pytest.mark.parametrize("seed", range(30))
def test_kinds_that_meet_are_seated_together(seed: int) -> None:
    """Rods and shells meet in one clearance, and each in others: no two orders are better."""
    chance = random.Random(seed)
    size = chance.choice([2, 3, 3, 4])
    kinds = [("rod",), ("rod", "shell"), ("shell",)][chance.randint(0, 1) :]
    bonds = [
        Bond(
            names,
            {
                key: Cost(chance.random(), chance.random() < 0.25)
                for key in itertools.product(range(size), repeat=len(names) + 1)
            },
        )
        for names in kinds
    ]

    def worth(orders: Mapping[str, Sequence[int]]) -> tuple[int, float]:
        costs = [b.costs[s, *(orders[n][s] for n in b.positions)] for b in bonds for s in range(size)]
        return sum(c.barred for c in costs), sum(c.cost for c in costs)

    every = list(itertools.permutations(range(size)))
    barred, cost = min(worth({"rod": a, "shell": b}) for a in every for b in every)
    found = worth(seat_pieces(size, ["rod", "shell"], bonds))
    assert found[0] == barred
    assert found[1] == pytest.approx(cost, rel=1e-9)


# on the demo's own rules


def test_fits_follow_from_the_rules(shop: compat.OpenShop, street: compat.Build) -> None:
    """No list names them: sizes a gauge takes, one a cylinder or journal, of two positions at the least."""
    said = bores_and_skirts([86.0] * 4, [85.95] * 4) | {
        "crankshaft.rod_journal_diameter": pieces([47.992] * 4),
        "crankshaft.main_journal_diameter": pieces([57.992] * 5),
        "piston_pin.diameter": pieces([21.999] * 4),
        "cylinder_head.chamber_volume": {"value": "46 cc", "uncertainty": "0.2 cc"},
    }
    said.pop("cylinder_head.chamber_volume")
    world = shop.check(street.measuring(said)).world
    found = {fit.rule.rule.rule: fit.axis for fit in fits_of(world)}
    assert (
        found.items()
        >= {
            "piston-skirt-clearance": "cylinders",
            "big-end-clearance": "cylinders",
            "main-bearing-clearance": "main_journals",
            "pin-in-piston": "cylinders",
            "pin-running-clearance": "cylinders",
        }.items()
    )
    assert not {"compression-ratio-believable", "bore-within-limit", "piston-of-this-bore"} & found.keys()


@pytest.mark.parametrize("seed", range(12))
def test_pistons_go_where_every_clearance_is_nearest_its_middle(
    seed: int, shop: compat.OpenShop, street: compat.Build
) -> None:
    """The card asks for 0.040 to 0.070: 24 orders worked out here, none out of them if any has none out."""
    chance = random.Random(seed)
    bores = [round(86 + chance.uniform(-0.012, 0.012), 4) for _ in range(4)]
    skirts = [round(85.952 + chance.uniform(-0.012, 0.012), 4) for _ in range(4)]
    (selection,) = select(shop.check(street.measuring(bores_and_skirts(bores, skirts, 0.001))).world)
    guard = (2 * 0.001**2) ** 0.5

    def worth(order: Sequence[int]) -> tuple[int, float]:
        gaps = [bore - skirts[piece - 1] for bore, piece in zip(bores, order, strict=True)]
        return sum(gap - 0.040 < -guard - 1e-9 for gap in gaps), sum((gap - 0.055) ** 2 for gap in gaps)

    out, cost = min(worth(order) for order in itertools.permutations(range(1, 5)))
    found = worth(selection.order["piston"])
    assert found[0] == out
    assert found[1] == pytest.approx(cost, rel=1e-6)
    assert len({seat for rule, seat in selection.lost if rule == "piston-skirt-clearance"}) == out


def test_rods_and_pistons_are_seated_by_weight(shop: compat.OpenShop, street: compat.Build) -> None:
    rods, pistons = [545, 548, 541, 546], [347, 345, 344, 349]

    def grams(values: Sequence[float]) -> dict[str, Any]:
        return {"pieces": [f"{value} g" for value in values], "uncertainty": "0.2 g", "gauge": "scales"}

    said = {"rod.mass": grams(rods), "piston.mass": grams(pistons)}
    (selection,) = select(shop.check(street.measuring(said)).world)
    weights = selection.weights
    assert weights is not None
    mean = (sum(rods) + sum(pistons)) / 4
    best = min(
        sum((rod + piston - mean) ** 2 for rod, piston in zip(rods, order, strict=True))
        for order in itertools.permutations(pistons)
    )
    assert sum((each * 1e3 - mean) ** 2 for each in weights.by_seat) == pytest.approx(best)
    by_order = [
        rods[r - 1] + pistons[p - 1]
        for r, p in zip(selection.order["rod"], selection.order["piston"], strict=True)
    ]
    assert [each * 1e3 for each in weights.by_seat] == pytest.approx(by_order)


def test_a_fit_comes_before_weight(shop: compat.OpenShop, street: compat.Build) -> None:
    """Pistons go by their clearance, and rods by weight to where the pistons went."""
    said = bores_and_skirts([86.000, 86.004, 86.008, 86.012], [85.957, 85.953, 85.949, 85.945])
    said["piston.mass"] = {"pieces": ["340 g", "344 g", "348 g", "352 g"], "uncertainty": "0.2 g"}
    said["rod.mass"] = {"pieces": ["552 g", "548 g", "544 g", "540 g"], "uncertainty": "0.2 g"}
    (selection,) = select(shop.check(street.measuring(said)).world)
    assert selection.order == {"piston": (4, 3, 2, 1), "rod": (4, 3, 2, 1)}
    assert selection.weights is not None
    assert selection.weights.apart == pytest.approx(0.0, abs=1e-9)


def test_what_no_order_saves_is_told(shop: compat.OpenShop, street: compat.Build) -> None:
    """The second bore is too tight for each of the pistons."""
    said = bores_and_skirts([86.000, 85.975, 86.000, 86.000], [85.950, 85.949, 85.951, 85.950])
    check = shop.check(street.measuring(said))
    (selection,) = select(check.world)
    assert selection.lost == (("piston-skirt-clearance", 2),)
    assert check.verdict == "conflict"


def test_grades_are_of_parts_that_their_other_rules_allow(shop: compat.OpenShop, street: compat.Build) -> None:
    """Wide mains want the thinner shell, worn ones none of the undersize that asks for a ground journal."""
    said = {
        "block.main_housing_bore": pieces([62.001, 62.004, 62.012, 62.012, 62.002]),
        "crankshaft.main_journal_diameter": pieces(
            [57.999, 57.996, 57.985, 57.985, 57.998], gauge="micrometer"
        ),
    }
    (grades,) = grades_for(shop.check(street.measuring(said)).world)
    assert grades.rule == "main-bearing-clearance"
    assert [grade.part for grade in grades.seats] == [
        "tarn-main-bearing", "tarn-main-bearing", "hd-main-025x", "hd-main-025x", "tarn-main-bearing",
    ]  # fmt: skip
    assert grades.order == {"tarn-main-bearing": 3, "hd-main-025x": 2}
    for grade in grades.seats:  # the very rule, asked with that part in place
        low, high = (0.020, 0.066) if grade.part == "tarn-main-bearing" else (0.044, 0.092)
        assert (grade.pairing.least, grade.pairing.most) == pytest.approx((low / 1e3, high / 1e3))


def test_seats_that_no_part_of_the_shop_suits(shop: compat.OpenShop, street: compat.Build) -> None:
    said = {
        "block.main_housing_bore": pieces([62.001, 62.001, 62.060, 62.001, 62.001]),
        "crankshaft.main_journal_diameter": pieces([57.990] * 5, gauge="micrometer"),
    }
    (grades,) = grades_for(shop.check(street.measuring(said)).world)
    assert grades.none_for == (3,)


SHELLS = {
    "hd-rod-std": (1.485, 0.022, 0.068),
    "hd-rod-025x": (1.473, 0.044, 0.092),
    "tarn-20-rod-bearing": (1.485, 0.020, 0.068),
}
"""Thickness at the middle and limits on the card, mm."""


def test_shells_are_graded_where_the_rods_go(shop: compat.OpenShop, street: compat.Build) -> None:
    """Rods go to journals first; then each takes the shell to the middle of whose band it comes nearest."""
    journals, rods = [47.994, 47.985, 47.990, 47.92], [51.004, 51.008, 51.016, 51.000]
    said = {
        "crankshaft.rod_journal_diameter": pieces(journals, gauge="micrometer"),
        "rod.big_end_bore": pieces(rods),
    }
    world = shop.check(street.measuring(said)).world
    selections = select(world)
    (selection,) = selections
    (grades,) = grades_for(world, selections)
    assert grades.position == "rod_bearing"
    assert grades.none_for == (4,)  # worn beyond any shell of the shop
    for grade in grades.seats:
        gap = rods[selection.order["rod"][grade.seat - 1] - 1] - journals[grade.seat - 1]
        off = {
            part: abs(gap - 2 * thick - (least + most) / 2) / ((most - least) / 2)
            for part, (thick, least, most) in SHELLS.items()
        }
        assert off[grade.part] == pytest.approx(min(off.values()), abs=1e-6)
    assert tuple(grades_for(world)) == ()  # nobody says where the rods go


def test_nothing_measured_gives_nothing(shop: compat.OpenShop, street: compat.Build) -> None:
    found = results(shop.check(street).checked)
    assert (found.measured, found.fits, found.selections, found.grades) == ((), (), (), ())


def test_results_hold_every_reading_and_fit(shop: compat.OpenShop, street: compat.Build) -> None:
    said = bores_and_skirts([86.002, 85.999, 86.001, 86.000], [85.950, 85.947, 85.951, 85.949])
    found = results(shop.check(street.measuring(said)).checked)
    assert len(found.measured) == 8
    assert [fit.seat for fit in found.fits if fit.rule == "piston-skirt-clearance"] == [
        ("cylinders", number) for number in range(1, 5)
    ]
    report = measured_pieces(found)
    assert {fit.decision for fit in report.fits} == {"in"}
    assert report.selected[0].lost == ()
