"""How each kind of rule comes out: at its limits, within tolerance, with a spec not stated, by duty.

Rules are written here and held against the demo's engines, whose specs are then changed one at a time.
"""

from __future__ import annotations

import dataclasses
import shutil
from collections.abc import Callable

import pytest

from compat import Check
from compat.library.library import Library
from compat.rulebook.reading import read_rulebook
from compat.rulebook.rulebook import Rulebook
from compat.shop.models import Build, Goal
from compat.shop.shop import Shop
from compat.shop.source import Fault
from compat.units import read_band
from compat.words.report import Finding
from tests.look import check

Said = dict[str, dict[str, str | None]]
Try = Callable[..., Finding | None]

RULE = """
- rule: mine
  title: A rule of this test
  why: So that something is held against something.
  source: common practice
"""


@pytest.fixture(scope="module")
def write(demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Rulebook]:
    """Read a rule against the demo shop, its figures at hand."""
    kept: dict[str, Rulebook] = {}

    def read(text: str) -> Rulebook:
        if text not in kept:
            folder = tmp_path_factory.mktemp("rules")
            for file in (demo.folder / "rules").glob("figures*.yaml"):
                shutil.copy(file, folder)
            indented = "\n".join("  " + line.strip() for line in text.strip().splitlines())
            (folder / "mine.yaml").write_text(RULE + indented + "\n", encoding="utf-8")
            faults: list[Fault] = []
            kept[text] = read_rulebook(folder, demo.shop, faults)
            assert not faults, faults
        return kept[text]

    return read


@pytest.fixture(scope="module")
def attempt(write: Callable[[str], Rulebook], stating: Callable[[Said], Shop], demo: Library) -> Try:
    """The finding of a rule on the base engine, whose parts state what is said of them."""

    def find(text: str, said: Said | None = None, variant: str = "tarn-20-base", **goal: str) -> Finding | None:
        shop = stating({f"{variant}-{part}": specs for part, specs in (said or {}).items()})
        own = shop.variants[variant].rated
        given = {key: value if key == "duty" else read_band(value) for key, value in goal.items()}
        build = Build(build="try", name="Try", variant=variant, goal=dataclasses.replace(own, **given))
        found = [f for f in check(shop, write(text), build).report.findings if f.rule == "mine"]
        assert len(found) <= 1
        return found[0] if found else None

    return find


def verdict(finding: Finding | None) -> str:
    assert finding is not None
    return finding.verdict


# limits

BORE = "measure: block.bore_diameter"


@pytest.mark.parametrize(
    ("stated", "expected", "where"),
    [
        ("85.40 mm", "conflict", "below"),
        ("85.4999999 mm", "conflict", "below"),
        ("85.50 mm", "ok", ""),
        ("85.60 mm", "ok", ""),
        ("85.70 mm", "ok", ""),
        ("85.7000001 mm", "caution", "above"),
        ("86.00 mm", "caution", "above"),
        # inside at mid-band, and the band crosses a limit
        ("85.51 mm ±0.02", "measure", "below"),
        ("85.50 mm +0.01/-0", "ok", ""),
        ("85.50 mm +0.02/-0.01", "measure", "below"),
        # a side that only earns a caution does not ask for measuring
        ("85.69 mm ±0.02", "ok", ""),
        # outside at mid-band is outside, however wide the band
        ("85.48 mm ±0.10", "conflict", "below"),
        # both sides crossed: the one that matters
        ("85.60 mm ±0.20", "measure", "below"),
    ],
)
def test_limits(attempt: Try, stated: str, expected: str, where: str) -> None:
    rule = f"{BORE}\nat_least: 85.5 mm\nat_most: 85.7 mm\nbelow: conflict\nabove: caution"
    finding = attempt(rule, {"block": {"bore_diameter": stated}})
    assert verdict(finding) == expected
    assert finding is not None
    band = read_band(stated)
    assert finding.value == pytest.approx(band.middle * 1e3)
    assert (finding.low, finding.high) == pytest.approx((band.low * 1e3, band.high * 1e3))
    assert (finding.at_least, finding.at_most, finding.unit) == (pytest.approx(85.5), pytest.approx(85.7), "mm")
    if where:
        assert finding.limit == pytest.approx(85.5 if where == "below" else 85.7)
    assert (finding.contributor == "block.bore_diameter") == (band.low != band.high)


@pytest.mark.parametrize(
    ("named", "expected"), [("shortfall", "shortfall"), ("missing", "missing"), ("", "conflict")]
)
def test_else_names_the_verdict_of_both_sides(attempt: Try, named: str, expected: str) -> None:
    other = f"\nelse: {named}" if named else ""
    low, high = f"{BORE}\nat_least: 90 mm{other}", f"{BORE}\nat_most: 80 mm{other}"
    assert verdict(attempt(low)) == verdict(attempt(high)) == expected


def test_a_limit_may_be_an_expression_with_a_tolerance_of_its_own(attempt: Try) -> None:
    """Skirt 85.47 ±0.02 and bore 85.50 ±0.02: 0.03 smaller at mid-band, and at worst 0.01 too large."""
    rule = "measure: piston.skirt_diameter\nat_most: block.bore_diameter"
    said: Said = {"piston": {"skirt_diameter": "85.47 mm ±0.02"}, "block": {"bore_diameter": "85.50 mm ±0.02"}}
    assert verdict(attempt(rule, said)) == "measure"
    said["block"]["bore_diameter"] = "85.50 mm ±0.009"
    assert verdict(attempt(rule, said)) == "ok"


def test_a_tolerance_on_both_sides_of_a_limit_counts_once(attempt: Try) -> None:
    """1.001 x bore is above the bore, whatever the bore."""
    rule = "measure: 1.001*block.bore_diameter\nat_least: block.bore_diameter"
    assert verdict(attempt(rule, {"block": {"bore_diameter": "85.5 mm ±1"}})) == "ok"


def test_what_the_model_may_be_off_is_no_reason_to_measure(attempt: Try) -> None:
    """The design pressure comes of a model; a limit inside its scatter is worth a word, not a micrometer."""
    rule = "measure: design_pressure\nat_most: 73 bar"
    finding = attempt(rule)
    assert verdict(finding) == "caution"
    assert finding is not None
    assert finding.high is not None
    assert finding.high > 73
    assert "design_pressure" in finding.rests_on_estimate
    assert finding.contributor.startswith("model")


def test_a_broken_limit_decides_though_the_other_is_not_known(attempt: Try) -> None:
    rule = f"{BORE}\nat_least: 86 mm\nat_most: block.bore_diameter_max"
    unstated: Said = {"block": {"bore_diameter_max": None}}
    finding = attempt(rule, unstated)
    assert verdict(finding) == "conflict"
    assert finding is not None
    assert finding.unstated == ("block.bore_diameter_max",)
    holds = attempt(rule.replace("86 mm", "85 mm"), unstated)
    assert verdict(holds) == "unknown"


# load


@pytest.mark.parametrize("duty", ["street", "track", "sprint", "endurance"])
@pytest.mark.parametrize("capacity", [19.9, 20.0, 24.9, 25.0, 29.9, 30.0, 34.9, 35.0])
def test_headroom_by_duty(attempt: Try, duty: str, capacity: float) -> None:
    asked = {"street": 1.0, "track": 1.5, "sprint": 2.0, "endurance": 2.5}
    rule = (
        f"load: 10*kN\ncapacity: {capacity}*kN\nunit: kN\n"
        "headroom: {street: 1.0, track: 1.5, sprint: 2.0, endurance: 2.5}"
    )
    finding = attempt(rule, duty=duty)
    assert finding is not None
    assert finding.headroom == pytest.approx(capacity / 10 - 1)
    assert finding.headroom_asked == asked[duty]
    assert (finding.load, finding.capacity, finding.unit) == (10, pytest.approx(capacity), "kN")
    assert finding.verdict == ("ok" if capacity / 10 - 1 >= asked[duty] - 1e-9 else "shortfall")
    assert duty in finding.because


@pytest.mark.parametrize(
    ("duty", "asked"), [("sprint", 0.4), ("track", 0.4), ("street", 0.2), ("endurance", 0.6)]
)
def test_a_sprint_asks_what_a_track_does(attempt: Try, duty: str, asked: float) -> None:
    finding = attempt(
        "load: 1*kN\ncapacity: 2*kN\nheadroom: {street: 0.2, track: 0.4, endurance: 0.6}", duty=duty
    )
    assert finding is not None
    assert finding.headroom_asked == asked


def test_one_headroom_for_every_duty(attempt: Try) -> None:
    for duty in ("street", "endurance"):
        assert verdict(attempt("load: 1*kN\ncapacity: 1.3*kN\nheadroom: 0.3", duty=duty)) == "ok"
        assert verdict(attempt("load: 1*kN\ncapacity: 1.29*kN\nheadroom: 0.3", duty=duty)) == "shortfall"


def test_capacity_that_may_be_less_than_the_load_earns_a_caution(attempt: Try) -> None:
    rule = "load: 100*bar\ncapacity: 100*bar*block.bore_diameter/(80*mm)\nheadroom: 0.05"
    wide = attempt(rule, {"block": {"bore_diameter": "86 mm ±7"}})
    assert verdict(wide) == "caution"
    assert wide is not None
    assert wide.low == pytest.approx(79 / 80 - 1)
    near = attempt(rule, {"block": {"bore_diameter": "86 mm ±5"}})
    assert verdict(near) == "ok"
    assert near is not None
    assert "uncertainty" in near.because


def test_no_load_is_no_shortfall(attempt: Try) -> None:
    finding = attempt("load: 0*kN\ncapacity: 1*kN\nheadroom: 0.5")
    assert verdict(finding) == "ok"
    assert finding is not None
    assert finding.headroom is None


def test_contributor_of_a_headroom_is_the_wider_side(attempt: Try) -> None:
    rule = "load: piston.skirt_diameter*kN/mm\ncapacity: block.bore_diameter*2*kN/mm\nheadroom: 0.5"
    said: Said = {"piston": {"skirt_diameter": "85.4 mm ±0.1"}, "block": {"bore_diameter": "85.5 mm ±0.2"}}
    finding = attempt(rule, said)
    assert finding is not None
    assert finding.contributor == "block.bore_diameter"
    said["piston"]["skirt_diameter"] = "85.4 mm ±0.3"
    other = attempt(rule, said)
    assert other is not None
    assert other.contributor == "piston.skirt_diameter"


# match


@pytest.mark.parametrize(
    ("skirt", "expected"),
    [("85.5 mm", "ok"), ("85.52 mm", "conflict"), ("85.52 mm ±0.02", "ok"), ("85.53 mm ±0.02", "conflict")],
)
def test_numbers_match_when_their_bands_overlap(attempt: Try, skirt: str, expected: str) -> None:
    said: Said = {"piston": {"skirt_diameter": skirt}, "block": {"bore_diameter": "85.5 mm"}}
    assert verdict(attempt("match: [block.bore_diameter, piston.skirt_diameter]", said)) == expected


@pytest.mark.parametrize(
    ("skirt", "expected"), [("85.45 mm", "ok"), ("85.449 mm", "conflict"), ("85.55 mm ±1", "ok")]
)
def test_numbers_match_within_what_the_rule_says(attempt: Try, skirt: str, expected: str) -> None:
    said: Said = {"piston": {"skirt_diameter": skirt}, "block": {"bore_diameter": "85.5 mm"}}
    rule = "match: [block.bore_diameter, piston.skirt_diameter]\nwithin: 0.05 mm"
    assert verdict(attempt(rule, said)) == expected


def test_words_match_each_other_and_lists_by_what_they_share(attempt: Try, demo: Library) -> None:
    """A word matches itself, or a list that holds it."""
    words = [
        (position, name, kind.words)
        for position, kinds in demo.shop.kinds.items()
        for name, kind in kinds.items()
        if kind.sort == "choice" and (position, name) in stated_by(demo, "tarn-20-base")
    ]
    position, name, known = next(entry for entry in words if len(entry[2]) > 1 and entry[0] == "block")
    own = demo.shop.specs["tarn-20-base-block"][name].value
    other = next(word for word in known if word != own)
    assert verdict(attempt(f"match: [{position}.{name}, '\"{own}\"']")) == "ok"
    finding = attempt(f"match: [{position}.{name}, '\"{other}\"']")
    assert verdict(finding) == "conflict"


def test_one_pair_that_differs_decides_though_another_is_not_known(attempt: Try) -> None:
    pairs = (
        "match: [[block.bore_diameter, block.bore_diameter_max], [block.bore_diameter, piston.skirt_diameter]]"
    )
    said: Said = {"block": {"bore_diameter_max": None}, "piston": {"skirt_diameter": "80 mm"}}
    assert verdict(attempt(pairs, said)) == "conflict"
    said["piston"]["skirt_diameter"] = "85.5 mm"
    assert verdict(attempt(pairs, said)) == "unknown"


def stated_by(demo: Library, variant: str) -> set[tuple[str, str]]:
    parts = demo.shop.variants[variant].parts
    return {(position, name) for position, part in parts.items() for name in demo.shop.specs[part]}


# never, note, where


def test_never_and_note(attempt: Try) -> None:
    assert verdict(attempt("never: block.bore_diameter > 80*mm")) == "conflict"
    assert verdict(attempt("never: block.bore_diameter > 90*mm")) == "ok"
    assert verdict(attempt("never: block.bore_diameter > 80*mm\nelse: caution")) == "caution"
    finding = attempt("note: Mind the gap.")
    assert verdict(finding) == "caution"
    assert finding is not None
    assert finding.because == "Mind the gap."


@pytest.mark.parametrize(
    "rule",
    [
        "measure: piston.skirt_diameter\nat_least: 1 mm",
        "match: [piston.skirt_diameter, block.bore_diameter]",
        "load: piston.skirt_diameter\ncapacity: block.bore_diameter\nheadroom: 0",
        "load: block.bore_diameter\ncapacity: piston.skirt_diameter\nheadroom: 0",
        "never: piston.skirt_diameter > block.bore_diameter",
        "where: piston.skirt_diameter > 1*mm\nnote: Said when it is known.",
        "where: piston.skirt_diameter > 1*mm\nneed: {position: catch_tank}",
        "measure: block.bore_diameter\nat_least: piston.skirt_diameter",
    ],
)
def test_what_is_not_stated_is_unknown_and_says_so(attempt: Try, rule: str) -> None:
    finding = attempt(rule, {"piston": {"skirt_diameter": None}})
    assert verdict(finding) == "unknown"
    assert finding is not None
    assert finding.unstated == ("piston.skirt_diameter",)
    assert "skirt diameter" in finding.because
    assert "tarn-20-base-piston" in finding.because
    assert any("skirt diameter" in remedy for remedy in finding.remedies)


@pytest.mark.parametrize(
    ("where", "expected"),
    [
        # a decisive side settles it even when the other is not known (Kleene's strong three-valued logic)
        ("piston.skirt_diameter > 1*mm and block.bore_diameter > 90*mm", None),
        ("block.bore_diameter > 90*mm and piston.skirt_diameter > 1*mm", None),
        ("piston.skirt_diameter > 1*mm or block.bore_diameter > 80*mm", "caution"),
        ("piston.skirt_diameter > 1*mm and block.bore_diameter > 80*mm", "unknown"),
        ("piston.skirt_diameter > 1*mm or block.bore_diameter > 90*mm", "unknown"),
        ("not piston.skirt_diameter > 1*mm", "unknown"),
        ("stated(piston.skirt_diameter)", None),
        # what stands in is for an empty position, not for a card that is silent
        ("prefer(piston.skirt_diameter, 2*mm) > 1*mm", "unknown"),
        ("prefer(turbocharger.mass, 2*kg) > 1*kg", "caution"),
        ("computed(skirt_clearance)", "unknown"),
        ("1*mm < piston.skirt_diameter < 2*mm", "unknown"),
        ("90*mm < block.bore_diameter < piston.skirt_diameter", None),
    ],
)
def test_condition_with_something_not_stated(attempt: Try, where: str, expected: str | None) -> None:
    finding = attempt(f"where: {where}\nnote: It applies.", {"piston": {"skirt_diameter": None}})
    assert (finding.verdict if finding else None) == expected


@pytest.mark.parametrize(
    "rule",
    [
        "measure: turbocharger.mass\nat_least: 1 kg",
        "match: [turbocharger.mass, block.bore_diameter_max]".replace(
            "block.bore_diameter_max", "supercharger.mass"
        ),
        "where: turbocharger.mass > 1*kg\nnote: Never said of an engine without.",
        "where: turbocharger.mass > 1*kg\nneed: {position: catch_tank}",
    ],
)
def test_a_rule_about_an_empty_position_does_not_apply(attempt: Try, rule: str) -> None:
    assert attempt(rule) is None


@pytest.mark.parametrize(
    "product", ["piston.skirt_diameter*turbocharger.mass", "turbocharger.mass*piston.skirt_diameter"]
)
def test_empty_beats_not_stated(attempt: Try, product: str) -> None:
    """What stands nowhere is no gap in what is known: the question does not arise."""
    assert attempt(f"measure: {product}\nat_least: 1*mm*kg", {"piston": {"skirt_diameter": None}}) is None


# estimates and remedies


def test_an_estimate_is_said(attempt: Try, demo: Library) -> None:
    rule = "measure: skirt_clearance\nat_least: 0.001 mm"
    finding = attempt(rule)
    assert finding is not None
    assert finding.rests_on_estimate == ()
    shop = demo.shop
    own = shop.specs["tarn-20-base-piston"]
    guessed = {**own, "skirt_diameter": dataclasses.replace(own["skirt_diameter"], basis="estimate")}
    other = dataclasses.replace(shop, specs={**shop.specs, "tarn-20-base-piston": guessed})
    found = {f.rule: f for f in check(other, demo.book, "tarn-20-base").report.findings}
    flagged = {name for name, f in found.items() if "piston.skirt_diameter" in f.rests_on_estimate}
    assert flagged
    for name in flagged:
        assert ("piston", "skirt_diameter") in demo.book.rests_on(demo.book.rules[name])[1]


def test_remedies_are_sentences_and_only_where_something_is_wrong(attempt: Try) -> None:
    rule = "\nremedies: [{work: deck-block}, {swap: piston}, {do: Think again.}, {add: catch_tank}]"
    good, bad = attempt(f"{BORE}\nat_least: 1 mm{rule}"), attempt(f"{BORE}\nat_least: 99 mm{rule}")
    assert good is not None
    assert bad is not None
    assert good.remedies == ()
    assert len(bad.remedies) == 4
    assert "deck-block" in bad.remedies[0]
    assert "piston" in bad.remedies[1].lower()
    assert bad.remedies[2] == "Think again."
    assert bad.positions == good.positions == ("block",)
    assert bad.parts == ("tarn-20-base-block",)


def test_goal_out_of_reach_falls_short(demo: Library) -> None:
    """An engine that cannot make the power is no gap in what is known."""
    goal = dataclasses.replace(demo.shop.variants["tarn-20-base"].rated, power=read_band("400 kW"))
    assert isinstance(goal, Goal)
    build = Build(build="too-much", name="Too much", variant="tarn-20-base", goal=goal)
    result: Check = check(demo.shop, demo.book, build)
    found = {f.rule: f for f in result.report.findings}
    assert found["manifold-pressure-for-power"].verdict == "shortfall"
    assert not result.report.unknown
