"""What speed, stroke and reciprocating mass do to loads, and what parts bear: each direction with its reason.

Directions are those of mechanics: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise

import pytest

import compat
from compat.rulebook.values import Number
from compat.shop.shop import Shop
from compat.units import unit
from tests.checking.moving_loads import ENGINES, SAME, borne, falling, goal_of, loads, steps_of
from tests.look import demo_shop, settle

FIRING = (
    "rod-buckling",
    "big-end-pressure",
    "main-pressure",
    "main-cap-clamp",
    "pin-bending",
    "pin-shear",
    "pin-boss-pressure",
    "small-end-pressure",
)
"""Loads of the firing stroke that inertia takes from: gas speeds the piston up before it loads the rod."""

PULLING = ("rod-tension", "rod-bolt-headroom", "rod-joint-opens", "rod-bolt-fatigue")
"""Loads of the overrun, where nothing but inertia pulls."""

PRESSURE = (
    "gasket-carries-pressure",
    "head-clamp-headroom",
    "head-joint-lifts",
    "head-joint-lifts-inside",
    "deck-pressure-as-stated",
)
"""Loads of the gas alone."""

FILLETS = ("crank-pin-fillet", "crank-main-fillet")
"""Bending by the gas load and twist by the greatest torque, in which inertia of the pistons has its part."""

# what else may move the other way, by what changes: why
FASTER: Mapping[str, str] = {
    **dict.fromkeys(FIRING, "inertia rises with the square of speed and takes off the gas load, which stays"),
    **dict.fromkeys(PRESSURE, "end gas has less time to ignite, so that light knock adds less"),
    **dict.fromkeys(FILLETS, "the gas load in them is that of the head joint"),
}
LONGER: Mapping[str, str] = {
    **dict.fromkeys(
        FIRING, "the same torque on a longer arm is less gas load, and inertia takes off more of it"
    ),
    **dict.fromkeys(PRESSURE, "the same torque from more displacement is less pressure"),
    "piston-alloy-under-load": "the same torque from more displacement is less mean pressure",
    "forged-piston-within-its-card": "as the cast piston",
}
HEAVIER: Mapping[str, str] = dict.fromkeys(FIRING, "a heavier piston takes more off the gas load")

# capacities that may rise as things get worse, and those that fall with load: why
RISES: Mapping[str, Mapping[str, str]] = {
    "torque_at": {"rod-fatigue": "the push that falls with speed leaves less mean stress in the shank"},
    "at": {"coolant-flow": "the engine turns its water pump"},
}


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    demo = demo_shop()
    return compat.OpenShop(demo.shop, demo.book)


def _rpm(shop: compat.OpenShop, name: str, entry: str) -> float:
    return settle(shop.things, shop.book, name).goal(entry).x * 30 / math.pi  # type: ignore[union-attr]


@pytest.mark.parametrize("name", ENGINES)
def test_inertia_rises_with_speed(name: str, shop: compat.OpenShop) -> None:
    """The overrun at the rev limit is borne by rod, cap and bolts alone, and goes with the square of speed."""
    limit = _rpm(shop, name, "rev_limit")
    steps = steps_of(shop, name, "rev_limit", [f"{limit * share:.0f} rpm" for share in (1.0, 1.1, 1.2)])
    assert not falling(steps, {})
    for before, after in pairwise(steps):
        for rule in ("rod-tension", "rod-bolt-headroom", "rod-joint-opens"):
            assert after[rule] > before[rule] * 1.15, rule


@pytest.mark.parametrize("name", ENGINES)
def test_torque_at_a_higher_speed_eases_the_firing_stroke_alone(name: str, shop: compat.OpenShop) -> None:
    """At a lower speed the firing stroke is never less load: inertia takes less off, knock has more time."""
    world = settle(shop.things, shop.book, name)
    speed, torque = world.figure("torque_speed").x * 30 / math.pi, goal_of(shop, name)[1]  # type: ignore[union-attr]
    values = [f"{speed * share:.0f} rpm" for share in (0.8, 0.9, 1.0, 1.1)]
    steps = steps_of(shop, name, "torque_at", values, torque=f"{torque:.2f} N*m")
    assert not falling(steps, FASTER)
    mains = {"main-pressure", "main-cap-clamp"}  # these follow what inertia is greatest at
    assert not (set(FIRING) - mains) & falling(steps[::-1], {}).keys()


@pytest.mark.parametrize("name", ENGINES)
def test_power_at_a_higher_speed(name: str, shop: compat.OpenShop) -> None:
    """Speed of peak power moves inertia in the firing stroke alone; the rev limit stays."""
    speed, torque = _rpm(shop, name, "speed"), goal_of(shop, name)[1]
    fixed = {
        "torque": f"{1.2 * torque:.2f} N*m",
        "torque_at": f"{0.6 * speed:.0f} rpm",
        "rev_limit": f"{1.3 * speed:.0f} rpm",
    }
    steps = steps_of(shop, name, "at", [f"{speed * share:.0f} rpm" for share in (0.9, 1.0, 1.1)], **fixed)
    assert not falling(steps, FASTER)


Said = Callable[[Mapping[str, Mapping[str, str | None]]], Shop]


def _heavier(shop: compat.OpenShop, name: str, stating: Said) -> compat.OpenShop:
    """The shop with this engine's piston a fifth heavier."""
    world = settle(shop.things, shop.book, name)
    piston = world.settled.fitted["piston"].part.part
    mass = 1.2e3 * world.spec("piston", "mass").x  # type: ignore[union-attr]
    return compat.OpenShop(stating({piston: {"mass": f"{mass:.2f} g"}}), shop.book)


def _longer(shop: compat.OpenShop, name: str, stating: Said, more: float = 2e-3) -> compat.OpenShop:
    """The shop with a longer stroke of this engine's crank; piston at its height and ratio as before."""
    world = settle(shop.things, shop.book, name)

    def spec(position: str, name: str) -> float:
        return float(world.spec(position, name).x)  # type: ignore[union-attr]

    ratio = world.figure("compression_ratio").x  # type: ignore[union-attr]
    dish = spec("piston", "crown_volume") + math.pi / 4 * spec("block", "bore_diameter") ** 2 * more / (
        ratio - 1
    )
    fitted = world.settled.fitted
    longer = stating(
        {
            fitted["crankshaft"].part.part: {"stroke": f"{1e3 * (spec('crankshaft', 'stroke') + more):.3f} mm"},
            fitted["piston"].part.part: {
                "compression_height": f"{1e3 * (spec('piston', 'compression_height') - more / 2):.3f} mm",
                "crown_volume": f"{1e6 * dish:.3f} cm^3",
            },
        }
    )
    other = compat.OpenShop(longer, shop.book)
    assert settle(longer, shop.book, name).figure("compression_ratio").x == pytest.approx(ratio, rel=1e-4)  # type: ignore[union-attr]
    return other


@pytest.mark.parametrize("name", ENGINES)
def test_a_heavier_piston_pulls_more_and_presses_less(name: str, shop: compat.OpenShop, stating: Said) -> None:
    """Reciprocating mass is inertia: it pulls on rod and mains and twists the crank, and that is all."""
    steps = [loads(each, each.build(name)) for each in (shop, _heavier(shop, name, stating))]
    assert not falling(steps, HEAVIER)
    rising = {rule for rule in steps[0] if steps[1][rule] > steps[0][rule] * (1 + SAME)}
    assert set(PULLING) <= rising <= {*PULLING, *FILLETS, "main-pressure", "main-cap-clamp"}


@pytest.mark.parametrize("name", ENGINES)
def test_a_longer_stroke_pulls_more_and_presses_less(name: str, shop: compat.OpenShop, stating: Said) -> None:
    """At the same torque, power and ratio inertia goes with the stroke, pressure against it."""
    steps = [loads(each, each.build(name)) for each in (shop, _longer(shop, name, stating))]
    assert not falling(steps, LONGER)
    assert 1.02 < steps[1]["rod-tension"] / steps[0]["rod-tension"] < 1.04
    assert all(steps[1][rule] < steps[0][rule] for rule in PRESSURE if rule in steps[0])


def _capacities(shop: compat.OpenShop, build: compat.Build) -> dict[str, float]:
    return {rule: one.capacity for rule, one in borne(shop, build).items()}


@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize(
    ("entry", "values"),
    [
        ("torque", (1.0, 1.1, 1.3)),
        ("power", (1.0, 1.05, 1.15)),
        ("rev_limit", (1.0, 1.1, 1.2)),
        ("torque_at", (0.8, 1.0, 1.1)),
        ("at", (0.9, 1.0, 1.1)),
        ("air_temperature", ("-10 degC", "25 degC", "40 degC")),
        ("altitude", ("0 m", "1000 m", "3000 m")),
        ("fuel", ("ethanol-85", "race-102", "pump-98", "pump-95")),
    ],
)
def test_what_parts_bear_never_rises_as_more_is_asked(
    name: str, entry: str, values: tuple[float | str, ...], shop: compat.OpenShop
) -> None:
    """Capacity is the part's own; what load, heat and thin air take from it they never give."""
    power, torque = goal_of(shop, name)
    speed = _rpm(shop, name, "speed")
    fixed = {
        "torque": f"{1.5 * torque:.2f} N*m",
        "torque_at": f"{0.6 * speed:.0f} rpm",
        "rev_limit": f"{1.3 * speed:.0f} rpm",
    }
    own = {
        "torque": (torque, "N*m"),
        "power": (power, "kW"),
        "rev_limit": (1.3 * speed, "rpm"),
        "torque_at": (0.6 * speed, "rpm"),
        "at": (speed, "rpm"),
    }

    def written(value: float | str) -> str:
        if isinstance(value, str):
            return value
        size, unit = own[entry]
        return f"{value * size:.2f} {unit}"

    build = shop.build(name)
    steps = [_capacities(shop, build.aiming(**{**fixed, entry: written(value)})) for value in values]
    rising = {
        rule: (before[rule], after[rule])
        for before, after in pairwise(steps)
        for rule in before.keys() & after.keys()
        if after[rule] > before[rule] * (1 + SAME) and rule not in RISES.get(entry, {})
    }
    assert not rising


@pytest.mark.parametrize("name", ENGINES)
def test_more_and_less_of_what_a_part_states_is_more_and_less_capacity(
    name: str, shop: compat.OpenShop, stating: Said
) -> None:
    """Where a card states the very capacity, a tenth more bears a tenth more and a tenth less as much less."""
    checked = shop.check(name)
    fitted = checked.world.settled.fitted
    stated: dict[str, tuple[str, str, str]] = {}
    for finding in checked.report.findings:
        bound = shop.book.rules.get(finding.rule)
        if finding.capacity is None or bound is None or bound.capacity is None:
            continue
        names = bound.capacity.names
        if len(names.specs) == 1 and not names.figures:
            ((position, spec),) = names.specs
            if isinstance(checked.world.spec(position, spec), Number):
                stated[finding.rule] = (position, fitted[position].part.part, spec)
    assert len(stated) >= 5
    steps = []
    for share in (0.9, 1.0, 1.1):
        said: dict[str, dict[str, str | None]] = {}
        for position, part, spec in stated.values():
            middle = checked.world.spec(position, spec).x  # type: ignore[union-attr]
            own = shop.things.kinds[position][spec].unit
            said.setdefault(part, {})[spec] = f"{share * middle / unit(own).factor:.9g} {own}"
        other = compat.OpenShop(stating(said), shop.book)
        steps.append(_capacities(other, other.build(name)))
    for rule in stated:
        less, same, more = (step[rule] for step in steps)
        assert less == pytest.approx(0.9 * same, rel=1e-3), rule
        assert more == pytest.approx(1.1 * same, rel=1e-3), rule
