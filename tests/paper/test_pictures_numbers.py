"""What pictures are drawn of is what the report says: every number held against `check --json --loads`."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import pytest

from compat import Check
from compat.engineering import find
from compat.paper.pictures import PICTURES, Nothing, computed
from compat.paper.pictures.chain import Chain
from compat.paper.pictures.compressor import Compressor
from compat.paper.pictures.cycle import Cycle
from compat.paper.pictures.headroom import Headroom
from compat.paper.pictures.numbers import Source
from compat.paper.pictures.output import Output
from compat.paper.pictures.tolerance import Stack
from compat.paper.why import explained
from compat.words.report import Finding, Report
from tests.look import checked_once, demo_shop

BUILDS = ("street-turbo", "endurance-ethanol", "first-draft", "fell-30-top-end")
CHARGED = BUILDS[:3]
IMPERIAL = {
    # NIST Special Publication 811 (2008), appendix B.8 (from memory)
    "N*m": ("lbf*ft", 1 / (4.4482216152605 * 0.3048)),
    "kW": ("hp", 1000 / 745.6998715822702),
    "kN": ("lbf", 1000 / 4.4482216152605),
    "bar": ("psi", 1e5 / 6894.757293168361),
    "kPa": ("psi", 1e3 / 6894.757293168361),
    "MPa": ("ksi", 1e6 / 6894757.293168361),
    "kg/s": ("lb/min", 60 / 0.45359237),
    "mm": ("in", 1 / 25.4),
    "g": ("oz", 1 / 28.349523125),
}


@cache
def checked(build: str) -> Check:
    return checked_once(build)


@cache
def said(build: str) -> Report:
    return checked(build).reported("metric", loads=True)


@cache
def source(build: str, system: str) -> Source:
    return Source(checked(build).checked, system)


def numbers(name: str, build: str, system: str = "metric", rule: str = "") -> Any:
    kind = PICTURES[name]
    return kind.rooms.compute(source(build, system), *([rule] if kind.of_a_rule else []))


def finding(build: str, rule: str) -> Finding:
    return next(each for each in said(build).findings if each.rule == rule)


def as_read(metric: str, system: str) -> tuple[str, float]:
    """The reader's unit, and how many of it one metric one is."""
    return IMPERIAL.get(metric, (metric, 1.0)) if system == "imperial" else (metric, 1.0)


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", BUILDS)
def test_every_load_is_a_bar_with_the_numbers_of_its_finding(build: str, system: str) -> None:
    data: Headroom = numbers("headroom", build, system)
    loads = {each.rule: each for each in said(build).findings if each.load is not None}
    assert {bar.rule for bar in data.bars} == set(loads)
    for bar in data.bars:
        found = loads[bar.rule]
        assert (bar.headroom, bar.low, bar.asked) == (found.headroom, found.low, found.headroom_asked)
        assert bar.verdict == found.verdict
        if found.unit in IMPERIAL or system == "metric":
            unit, factor = as_read("" if found.unit == "number" else found.unit, system)
            assert bar.load.unit == unit
            assert bar.load.value == pytest.approx(found.load * factor, rel=1e-9)
            assert bar.capacity.value == pytest.approx(found.capacity * factor, rel=1e-9)
    spares = [bar.spare for bar in data.bars]
    assert spares == sorted(spares)
    kinds = {bar.kind for bar in data.bars if bar.verdict == "shortfall"}
    assert kinds <= {"short"}


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", BUILDS)
def test_power_and_torque_are_those_of_the_goal(build: str, system: str) -> None:
    data: Output = numbers("output", build, system)
    goal = said(build).goal
    at_torque, at_power = data.points

    def stated(entry: str) -> float:
        return float(str(goal[entry]).split()[0])

    assert at_power.power.value == pytest.approx(stated("power") * as_read("kW", system)[1])
    assert at_power.speed.value == pytest.approx(stated("speed"))
    assert at_torque.torque.value == pytest.approx(stated("torque") * as_read("N*m", system)[1])
    assert at_torque.speed.value == pytest.approx(stated("torque_speed"))
    assert data.rev_limit.value == pytest.approx(stated("rev_limit"))
    # power is torque times angular speed, whichever of the two the goal states
    radians = stated("speed") * math.pi / 30
    assert at_power.torque.value == pytest.approx(stated("power") * 1e3 / radians * as_read("N*m", system)[1])
    figures = said(build).figures
    for point, figure in ((at_torque, "cycle_pressure_at_torque"), (at_power, "cycle_pressure_at_power")):
        known = figures[figure].get("value")
        if known is None:
            assert point.wanted.value is None
            assert "knock" in point.wanted.gap
        else:
            assert point.wanted.value == pytest.approx(known * as_read("kPa", system)[1])
            assert point.wanted.half == pytest.approx(figures[figure]["half_width"] * as_read("kPa", system)[1])


@pytest.mark.parametrize("build", BUILDS)
def test_the_ceiling_agrees_with_the_cycle_of_the_check(build: str) -> None:
    """The check asks what pressure a goal wants, the ceiling what one gives: the same model turned round."""
    data: Output = numbers("output", build)
    wanted = [point.wanted.value for point in data.points]
    if None in wanted:
        assert all(step.power is None for step in data.steps)
        assert "knock stands in the way" in data.under
        return
    assert data.had.value is not None
    world = source(build, "metric").world
    for point, pressure, step in zip(data.points, wanted, (data.steps[0], data.steps[-1]), strict=True):
        assert step.speed == pytest.approx(point.speed.value)
        assert step.power is not None
        assert point.power.value is not None
        # the goal lies below the ceiling exactly where it wants less than there is
        had = world.figure(f"full_pressure_at_{point.name.split()[-1]}").x / 1e3  # type: ignore[union-attr]
        assert (step.power > point.power.value) == (pressure < had)


def test_what_the_pressure_wanted_gives_is_the_goal() -> None:
    """At the very pressure that the check says the goal wants, the cycle gives the goal."""
    formula = find("output_at_manifold_pressure")
    assert formula is not None
    given = source("street-turbo", "metric").arguments("cycle_pressure_at_power")
    power = given.pop("power")
    wanted = checked("street-turbo").world.figure("cycle_pressure_at_power").x  # type: ignore[union-attr]
    assert formula.function(manifold_pressure=wanted, **given).power == pytest.approx(power, rel=1e-3)


def test_limits_are_findings_and_what_stands_against_comes_first() -> None:
    for build in BUILDS:
        data: Output = numbers("output", build)
        assert data.limits
        for limit in data.limits:
            found = finding(build, limit.rule)
            assert (limit.title, limit.verdict) == (found.title, found.verdict)
            if limit.used is not None:
                parts = (found.value, found.limit)
                assert limit.used == pytest.approx(
                    parts[1] / parts[0] if found.limit == found.at_least else parts[0] / parts[1]  # type: ignore[operator]
                )
        holding = [limit.holds for limit in data.limits]
        assert holding == sorted(holding)
    assert not numbers("output", "first-draft").limits[0].holds


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", CHARGED)
def test_places_on_the_map_are_the_figures_of_the_check(build: str, system: str) -> None:
    data: Compressor = numbers("compressor", build, system)
    figures = said(build).figures
    at_torque, at_power = data.places
    assert at_power.ratio.value == pytest.approx(figures["pressure_ratio"]["value"])
    assert [each.value for each in at_power.margins] == pytest.approx(
        [figures["compressor_efficiency"]["value"], figures["compressor_choke_margin"]["value"]]
    )
    assert at_torque.margins[1].value == pytest.approx(figures["compressor_surge_margin"]["value"])
    rows = checked(build).world.spec("turbocharger", "compressor_map")
    unit, factor = as_read("kg/s", system)
    assert data.flow_unit == unit
    speeds = sorted({row[0] for row in rows})  # type: ignore[union-attr,index]
    assert [line.speed for line in data.lines] == pytest.approx([speed * 30 / math.pi for speed in speeds])
    for speed, line in zip(speeds, data.lines, strict=True):
        maker = sorted(row for row in rows if row[0] == speed)  # type: ignore[union-attr,index]
        for end in (0, -1):
            assert line.flow[end] == pytest.approx(maker[end][1] * factor, rel=1e-9)  # type: ignore[index]
            assert line.ratio[end] == pytest.approx(maker[end][2], rel=1e-9)  # type: ignore[index]


@pytest.mark.parametrize("build", ["street-turbo", "endurance-ethanol"])
def test_the_operating_line_goes_through_the_point_of_peak_power(build: str) -> None:
    data: Compressor = numbers("compressor", build)
    at_power = data.places[1]
    speed = float(str(said(build).goal["speed"]).split()[0])
    left = max((point for point in data.along if point.speed <= speed), key=lambda point: point.speed)
    right = min((point for point in data.along if point.speed > speed), key=lambda point: point.speed)
    share = (speed - left.speed) / (right.speed - left.speed)
    for name, wanted in (("flow", at_power.flow.value), ("ratio", at_power.ratio.value)):
        between = getattr(left, name) + share * (getattr(right, name) - getattr(left, name))
        assert between == pytest.approx(wanted, rel=2e-3), name
    assert data.along[-1].speed == pytest.approx(float(str(said(build).goal["rev_limit"]).split()[0]))
    assert data.stops == ""


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", BUILDS)
def test_traces_reach_the_loads_of_the_check(build: str, system: str) -> None:
    data: Cycle = numbers("cycle", build, system)
    traces = {trace.name: trace for trace in data.traces}
    assert set(traces) == {"peak torque", "peak power", "overrun"}
    bars = as_read("bar", system)[1]
    highest = max(max(traces[name].pressure) for name in ("peak torque", "peak power"))
    assert highest == pytest.approx(said(build).figures["design_pressure"]["value"] * bars)
    newtons = as_read("kN", system)[1]
    # rules of the rod hold these loads against its capacities
    pressed = max(max(trace.force) for trace in data.traces)
    assert pressed <= finding(build, "rod-buckling").load * newtons * (1 + 1e-9)  # type: ignore[operator]
    assert pressed == pytest.approx(finding(build, "rod-buckling").load * newtons, rel=0.02)  # type: ignore[operator]
    assert -min(traces["overrun"].force) == pytest.approx(finding(build, "rod-tension").load * newtons)  # type: ignore[operator]
    assert len(data.angles) == len(traces["overrun"].pressure) == len(traces["overrun"].force) == 720
    assert data.force_unit == as_read("kN", system)[0]


@pytest.mark.parametrize("build", BUILDS)
def test_a_stack_adds_up_to_its_finding(build: str) -> None:
    tried = 0
    for found in said(build).findings:
        if not found.contributor or found.value is None or found.rule not in demo_shop().book.rules:
            continue
        for system in ("metric", "imperial"):
            data: Stack = numbers("tolerance", build, system, found.rule)
            unit, factor = as_read("" if found.unit == "number" else found.unit, system)
            if unit != data.unit:
                continue  # a unit that is not in the short table above
            tried += 1
            if found.unit not in ("degC", "K"):
                assert data.value == pytest.approx(found.value * factor)
            assert data.worst == pytest.approx((found.high - found.low) / 2 * factor, rel=1e-6)  # type: ignore[operator]
            assert data.likely == pytest.approx(found.likely * factor)  # type: ignore[operator]
            assert math.fsum(abs(share.brings) for share in data.shares) == pytest.approx(data.worst)
            assert math.hypot(*(share.brings for share in data.shares)) == pytest.approx(data.likely)
            assert math.fsum(share.of_worst for share in data.shares) == pytest.approx(1)
            assert math.fsum(share.of_likely for share in data.shares) == pytest.approx(1)
            assert abs(data.shares[0].brings) == pytest.approx(
                max(abs(share.brings) for share in data.shares if share.leaf == found.contributor)
            )
    assert tried > 20


def test_a_stack_of_lengths_by_hand() -> None:
    """Deck clearance: height of the block less half the stroke, rod and compression height (plane geometry)."""
    data: Stack = numbers("tolerance", "street-turbo", "metric", "deck-clearance")
    world = checked("street-turbo").world
    halves = {
        "block.deck_height": 1.0, "crankshaft.stroke": -0.5, "rod.centre_length": -1.0,
        "piston.compression_height": -1.0,
    }  # fmt: skip
    assert {share.leaf for share in data.shares} == set(halves)
    for share in data.shares:
        position, _, spec = share.leaf.partition(".")
        band = world.settled.specs.at(position, spec).value  # type: ignore[union-attr]
        assert share.brings == pytest.approx(halves[share.leaf] * band.half_width * 1e3)  # type: ignore[union-attr]


@pytest.mark.parametrize("rule", ["deck-clearance", "rod-fatigue", "big-end-pressure", "fuel-pump-flow"])
def test_the_graph_holds_the_chain_of_why(rule: str) -> None:
    data: Chain = numbers("reasons", "street-turbo", "metric", rule)
    names = [step.name for step in data.steps]
    assert len(names) == len(set(names)) <= 31
    assert all(below in names for step in data.steps for below in step.rests_on)
    reached, ahead = set(), [data.steps[0].name]
    by_name = {step.name: step for step in data.steps}
    while ahead:
        reached.add(name := ahead.pop())
        ahead += [below for below in by_name[name].rests_on if below not in reached]
    assert reached == set(names)
    whole = explained(said("street-turbo"), checked("street-turbo").world, rule, depth=1).chain
    assert data.steps[0].rests_on == tuple(dict.fromkeys(reason.name for reason in whole))
    assert data.verdict == finding("street-turbo", rule).verdict
    for step in data.steps[1:]:
        assert step.says
        assert step.kind == (
            "figure" if "." not in step.name else "goal" if step.name[:5] == "goal." else "part"
        )


def test_a_picture_is_computed_by_its_name() -> None:
    assert computed("headroom", checked("fell-30-top-end").checked) == numbers("headroom", "fell-30-top-end")
    assert computed("tolerance", checked("fell-30-top-end").checked, "imperial", "deck-clearance") == numbers(
        "tolerance", "fell-30-top-end", "imperial", "deck-clearance"
    )


def test_without_a_rule_the_weightiest_finding_is_drawn() -> None:
    assert numbers("reasons", "first-draft").verdict == "conflict"
    assert numbers("tolerance", "first-draft").verdict == "conflict"
    assert numbers("reasons", "street-turbo").verdict == "caution"


@pytest.mark.parametrize(
    ("name", "build", "rule", "says"),
    [
        ("compressor", "fell-30-top-end", "", "no turbocharger is fitted"),
        ("tolerance", "street-turbo", "rod-fatigue", "holds a load against a capacity"),
        ("tolerance", "street-turbo", "turbo-flange", "comes to no number"),
        ("tolerance", "fell-30-top-end", "turbo-flange", "does not apply"),
        ("reasons", "fell-30-top-end", "turbo-flange", "does not apply"),
    ],
)
def test_nothing_to_draw_says_why(name: str, build: str, rule: str, says: str) -> None:
    with pytest.raises(Nothing, match=says):
        numbers(name, build, "metric", rule)


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_says_in_words_what_it_shows(name: str) -> None:
    for system in ("metric", "imperial"):
        data = numbers(name, "street-turbo", system)
        assert data.shows.endswith(".")
        assert "Street turbo" in data.shows
        assert any(letter.isdigit() for letter in data.shows)
        assert 60 < len(data.shows) < 900
        for listing in data.listings():
            assert all(len(row) == len(listing.titles) for row in listing.rows)
