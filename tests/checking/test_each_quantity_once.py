"""A report has each quantity once: no two figures or findings of one build that name the same thing differ.

What sentences of one report name alike has one number. No two figures of the rulebook are made of the same. And
a list, kept by hand, of quantities that several systems feel: wherever two of them show one, it is the same.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable, Iterator

import pytest

from compat import Check
from compat.library.library import Library
from compat.rulebook.rulebook import BoundFigure
from compat.rulebook.values import Absent, Number
from compat.units import unit
from compat.words.report import Finding
from tests.look import demo_shop

DEMO = demo_shop()
BUILDS = [*DEMO.shop.variants, *DEMO.shop.builds]

MEASURED = re.compile(
    r"^(?P<name>(?!it ).+?) comes to (?P<value>[^;(,]+?)(?: \([^)]*\))?(?:;|,| and (?:may|could)|$)"
)
PAIRED = re.compile(
    r"^(?P<left>[^()]+?) \((?P<a>[^()]*)\) (?:does not match|matches) (?P<right>[^()]+?) \((?P<b>[^()]*)\)"
)


def told(finding: Finding) -> Iterator[tuple[str, str]]:
    """What a finding's sentence names, and the number or word it gives."""
    if found := MEASURED.match(finding.because):
        yield found["name"], found["value"]
    if found := PAIRED.match(finding.because):
        yield found["left"], found["a"]
        yield found["right"], found["b"]


def number(check: Check, name: str) -> float | None:
    """A figure [SI]; None where it is not known or names an empty position."""
    try:
        value = check.world.figure(name)
    except Absent:
        return None
    return value.x if isinstance(value, Number) else None


def given(check: Check, figure: str) -> dict[str, float | str]:
    """What a figure's formula is given [SI]."""
    return {
        key: value.x if isinstance(value, Number) else value
        for key, value in (
            (key, each.run(check.world)) for key, each in DEMO.book.figures[figure].arguments.items()
        )
        if isinstance(value, Number | str)
    }


def result(check: Check, figure: str, other: str) -> float:
    """Another result of the formula call that a figure is taken from [SI]."""
    formula = DEMO.book.figures[figure].formula
    assert formula is not None
    return check.world.answers.ask(formula, given(check, figure), other)


@pytest.mark.parametrize("name", BUILDS)
def test_what_is_named_alike_has_one_number(name: str, checked: dict[str, Check]) -> None:
    said: defaultdict[str, set[str]] = defaultdict(set)
    for finding in checked[name].report.findings:
        for what, text in told(finding):
            if what != "the depth stated":  # each piece of work has its own
                said[what].add(text)
    assert len(said) > 100
    assert {what: texts for what, texts in said.items() if len(texts) > 1} == {}


@pytest.mark.parametrize("name", BUILDS)
def test_a_finding_shows_a_figure_as_the_table_of_loads_does(name: str, checked: dict[str, Check]) -> None:
    """Where rules measure, load or bear a figure as it stands, all show one number, and the table the same."""
    check = checked[name]
    shown: defaultdict[str, dict[str, float]] = defaultdict(dict)
    for figure, entry in check.reported("metric", loads=True).figures.items():
        if entry.get("value") is not None:
            shown[figure]["table of loads"] = unit(unit_name(entry["unit"])).to_si(entry["value"])
    for finding in check.report.findings:
        rule = DEMO.book.rules.get(finding.rule)
        if rule is None:
            continue
        for expression, value in (
            (rule.measure, finding.value), (rule.load, finding.load), (rule.capacity, finding.capacity)
        ):  # fmt: skip
            if expression is not None and value is not None and expression.text in DEMO.book.figures:
                shown[expression.text][finding.rule] = unit(unit_name(finding.unit)).to_si(value)
    several = {figure: places for figure, places in shown.items() if len(places) > 1}
    assert len(several) > 8
    for figure, places in several.items():
        assert max(places.values()) == pytest.approx(min(places.values()), rel=1e-9, abs=1e-12), (
            figure,
            places,
        )


def unit_name(name: str) -> str:
    return "" if name == "number" else name


def test_no_two_figures_are_made_of_the_same(demo: Library) -> None:
    made: defaultdict[object, list[str]] = defaultdict(list)
    for name, bound in demo.book.figures.items():
        made[_makings(bound)].append(name)
    named: defaultdict[str, list[str]] = defaultdict(list)
    for name, bound in demo.book.figures.items():
        named[bound.figure.name.casefold()].append(name)
    assert [names for names in (*made.values(), *named.values()) if len(names) > 1] == []


def _makings(bound: BoundFigure) -> object:
    """Of what a figure is made, spaces aside."""
    figure = bound.figure
    takes = tuple(sorted((key, "".join(text.split())) for key, text in figure.takes.items()))
    return figure.formula, "".join((figure.is_ or "").split()), takes, figure.unstated


# --- The list ---------------------------------------------------------------------------------


def peak_pressure(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One peak in gasket, clamp, deck, caps and pins."""
    peak = number(check, "design_pressure")
    assert peak is not None
    for rule in (
        "gasket-carries-pressure",
        "head-joint-lifts",
        "deck-pressure-as-stated",
        "deck-pressure-usual",
    ):
        if (finding := of(rule)) and finding.load is not None:
            yield rule, finding.load * 1e5, peak
    if (finding := of("head-clamp-headroom")) and finding.load is not None:
        bore = check.world.spec("head_gasket", "gasket_bore")
        assert isinstance(bore, Number)
        yield "head-clamp-headroom", finding.load * 1e3, peak * math.pi / 4 * bore.x**2
    bore = check.world.spec("block", "bore_diameter")
    assert isinstance(bore, Number)
    lift = number(check, "gas_load")
    assert lift is not None
    yield "gas load on the piston", lift, peak * math.pi / 4 * bore.x**2
    ends = [number(check, f"design_pressure_at_{point}") for point in ("power", "torque")]
    yield "the higher of its two points", max(end for end in ends if end is not None), peak
    for figure in ("rod_tension", "big_end_mean_load"):
        for key, value in given(check, figure).items():
            if key in ("peak_pressure", "power_peak_pressure") and isinstance(value, float):
                yield f"{figure} {key}", value, ends[1 if key == "peak_pressure" else 0] or 0.0


def clamp(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One clamp of the head over one gas load."""
    finding = of("head-clamp-headroom")
    if finding and finding.load and finding.capacity and finding.headroom is not None:
        yield "headroom", finding.headroom + 1, finding.capacity / finding.load
        yield "clamp", finding.capacity * 1e3, number(check, "head_clamp_load") or 0.0
        yield "load", finding.load * 1e3, number(check, "head_lift_load") or 0.0


def coolant_heat(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One heat for radiator, fan and water pump."""
    heat, held = number(check, "coolant_heat"), number(check, "coolant_heat_held")
    assert heat is not None
    assert held is not None
    yield "at the duty", held, heat * {"street": 0.75, "endurance": 1.0}.get(check.world.settled.goal.duty, 0.9)
    if (finding := of("heat-and-radiator")) and finding.load is not None:
        yield "radiator", finding.load * 1e3, held
    yield "water pump", float(given(check, "coolant_flow_needed")["heat"]), held
    standing = check.world.spec("radiator", "standing_capacity")
    if (finding := of("standing-radiator")) and finding.value is not None and isinstance(standing, Number):
        yield "fan", standing.x / finding.value, heat


def idle_pressure(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One gallery pressure at idle for bearings and jets."""
    idle = number(check, "idle_oil_pressure")
    if idle is None:
        return
    if (finding := of("oil-pressure-hot-idle")) and finding.value is not None:
        yield "bearings", finding.value * 1e3, idle
    if (finding := of("jet-opening-over-idle-pressure")) and finding.value is not None:
        opens = check.world.spec("piston_jet", "opening_pressure")
        assert isinstance(opens, Number)
        yield "jets", opens.x - finding.value * 1e3, idle


def gas_before_the_turbine(
    check: Check, of: Callable[[str], Finding | None]
) -> Iterator[tuple[str, float, float]]:
    """One pressure behind the exhaust valves, in cycle, filling, springs and at the turbine."""
    outside, boost, behind = (number(check, name) for name in ("ambient_pressure", "boost", "back_pressure"))
    if outside is None or boost is None or behind is None:
        return
    pressure = number(check, "turbine_pressure") if boost else outside + behind
    if pressure is None:
        return
    yield "filling", float(given(check, "filling_at_power")["exhaust_pressure"]), pressure
    if number(check, "cycle_pressure_at_power") is not None:
        own = result(
            check, "cycle_pressure_at_power", "boost"
        )  # what the cycle wants, not what the goal states
        rise = (pressure - outside - behind) / boost * max(own, 0.0) if boost else 0.0
        yield "cycle", result(check, "cycle_pressure_at_power", "exhaust_pressure"), outside + behind + rise
    if (finding := of("exhaust-back-pressure")) and finding.value is not None:
        yield "pipes", finding.value * 1e3, behind
    if not boost:
        return
    if (finding := of("turbine-pressure")) and finding.value is not None:
        yield "turbine", finding.value * (number(check, "map_absolute") or 0.0), pressure
    if (finding := of("exhaust-spring-under-boost")) and finding.load is not None:
        head, least = (
            check.world.spec("exhaust_valve", "head_diameter"),
            number(check, "exhaust_seat_load_least"),
        )
        assert isinstance(head, Number)
        assert least is not None
        yield "springs", (finding.load - least) / (math.pi / 4 * head.x**2) + outside, pressure


def boost(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One boost, one pressure in the manifold, one charge."""
    outside, over = number(check, "ambient_pressure"), number(check, "boost")
    whole = number(check, "map_absolute")
    assert outside is not None
    assert over is not None
    assert whole is not None
    yield "in the manifold", whole, outside + over
    if (finding := of("manifold-sensor-under-boost")) and finding.load is not None:
        yield "sensor", finding.load * 1e3, whole
    if (finding := of("reachable-boost")) and finding.value and (most := number(check, "most_boost")):
        yield "gate", finding.value * most, over
    warm = number(check, "manifold_temperature")
    for figure in (
        "cycle_pressure_at_power",
        "cycle_pressure_at_torque",
        "filling_at_power",
        "filling_at_torque",
    ):
        yield f"charge in {figure}", float(given(check, figure)["charge_temperature"]), warm or 0.0


def knock(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One knock: the cycle's retard, margin and cost are those that figures and findings show."""
    for point in ("power", "torque"):
        phase = number(check, f"knock_retard_at_{point}")
        if phase is None:
            continue
        cycle = f"cycle_pressure_at_{point}"
        yield "retard", max(phase, 0.0), result(check, cycle, "knock_retard")
        yield "margin", number(check, f"knock_margin_at_{point}") or 0.0, result(check, cycle, "knock_margin")
        if (finding := of(f"knock-limit-at-{point}")) and finding.value is not None:
            yield "finding", math.radians(finding.value), phase
    if (cost := number(check, "knock_boost_cost")) is not None:
        yield "cost", cost, result(check, "cycle_pressure_at_torque", "boost_cost")


def torque(check: Check, of: Callable[[str], Finding | None]) -> Iterator[tuple[str, float, float]]:
    """One torque for clutch, gearbox and half shafts, one ratio for every cycle."""
    own = number(check, "torque")
    assert own is not None
    for rule in ("clutch-torque", "gearbox-torque"):
        if (finding := of(rule)) and finding.load is not None:
            yield rule, finding.load, own
    ratio = number(check, "compression_ratio")
    for figure in ("cycle_pressure_at_power", "quick_peak_at_torque", "filling_at_power", "filling_at_torque"):
        yield f"ratio in {figure}", float(given(check, figure)["compression_ratio"]), ratio or 0.0


LIST = (peak_pressure, clamp, coolant_heat, idle_pressure, gas_before_the_turbine, boost, knock, torque)


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("quantity", LIST, ids=lambda each: each.__name__)
def test_one_quantity_one_value(
    name: str, quantity: Callable[..., Iterator[tuple[str, float, float]]], checked: dict[str, Check]
) -> None:
    check = checked[name]
    findings = {finding.rule: finding for finding in check.report.findings}
    pairs = list(quantity(check, findings.get))
    for where, shown, once in pairs:
        assert shown == pytest.approx(once, rel=1e-4, abs=1e-4), where
    if name != "first-draft":
        assert pairs or quantity is idle_pressure
