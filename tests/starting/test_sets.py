"""Sets of words and rules that a shop takes from the program."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.library import sources
from compat.library.library import Library, load
from compat.library.opening import open_library
from compat.library.sources import demo_folder
from compat.shop.source import Faults
from compat.shop.words import SETS

BARE = """\
- family: hob
  name: Orrin Hob
  numbers: {cylinders: 4, banks: 1, main_journals: 5, cams: 2, inlet_valves: 8, exhaust_valves: 8, valves: 16}
  firing_order: 1-3-4-2
- variant: hob-13
  name: Orrin Hob 1.3
  family: hob
  rated: {power: 48 kW, at: 5600 rpm, rev_limit: 6200 rpm}
  parts: {}
"""


def bare(folder: Path, uses: str, more: str = "", rules: str = "") -> Path:
    """A shop that holds nothing of its own but an engine."""
    (folder / "catalog").mkdir(parents=True, exist_ok=True)
    (folder / "rules").mkdir(exist_ok=True)
    shop = f"- shop: bare\n  name: Bare\n  currency: GBP\n  labour_rate: 50 GBP\n  uses: [{uses}]\n"
    (folder / "catalog" / "shop.yaml").write_text(shop + more, encoding="utf-8")
    (folder / "catalog" / "engine.yaml").write_text(BARE, encoding="utf-8")
    (folder / "rules" / "own.yaml").write_text(rules, encoding="utf-8")
    return folder


def faults(folder: Path) -> list[str]:
    """What is wrong, told the same by both ways to read a shop."""
    with pytest.raises(Faults) as caught:
        load(folder)
    with pytest.raises(Faults) as kept:
        open_library(folder)
    assert kept.value.faults == caught.value.faults
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("name", SETS)
def test_every_set_stands_by_itself(tmp_path: Path, name: str) -> None:
    library = load(bare(tmp_path, name))
    assert library.book.rules
    assert library.shop.positions


@given(st.sets(st.sampled_from(SETS), min_size=2))
@settings(max_examples=8)
def test_sets_go_together_as_they_are_taken(tmp_path_factory: pytest.TempPathFactory, uses: set[str]) -> None:
    library = load(bare(tmp_path_factory.mktemp("shop"), ", ".join(sorted(uses))))
    for rule in library.book.rules.values():
        for expression in rule.expressions():
            assert {position for position, _ in expression.names.specs} <= library.shop.positions.keys()


def test_all_sets_are_all_that_the_program_has(tmp_path: Path, demo: Library) -> None:
    library = load(bare(tmp_path, ", ".join(SETS)))
    assert library.shop.positions.keys() == demo.shop.positions.keys()
    assert library.shop.kinds == demo.shop.kinds
    assert library.shop.features.keys() == demo.shop.features.keys()
    assert library.shop.joints == demo.shop.joints
    assert library.shop.works.keys() == demo.shop.works.keys()
    assert library.book.rules == demo.book.rules
    assert library.book.figures.keys() == demo.book.figures.keys()
    assert not library.shop.beyond


OWN = """\
- rule: our-ratio
  title: Long strokes are our trade
  measure: rod.centre_length/crankshaft.stroke
  at_least: 1.5
  why: We know what they wear.
  source: own experience
"""


def test_a_rule_of_the_shop_stands_instead_of_one_of_the_program(tmp_path: Path) -> None:
    rules = OWN + "  instead_of: rod-to-stroke-ratio\n  reason: our long strokes live with less\n"
    library = load(bare(tmp_path, "rotating_assembly", rules=rules))
    assert "rod-to-stroke-ratio" not in library.book.rules
    assert library.book.rules["our-ratio"].rule.instead_of == "rod-to-stroke-ratio"
    kept = open_library(tmp_path)
    assert kept.book.rules.keys() == library.book.rules.keys()
    assert kept.shop.beyond == library.shop.beyond


def test_a_rule_is_switched_off_with_a_reason(tmp_path: Path) -> None:
    more = "  leave_out: {rod-to-stroke-ratio: our long strokes live with less}\n"
    library = load(bare(tmp_path, "rotating_assembly", more))
    assert "rod-to-stroke-ratio" not in library.book.rules
    assert "rod-to-stroke-ratio" not in library.shop.beyond


@pytest.mark.parametrize(
    ("more", "rules", "says"),
    [
        ("  leave_out: {rod-to-stroke-ratio: ''}\n", "", "gives no reason"),
        ("  leave_out: {rod-to-stroke-ratio: no}\n", "", "wanted are two words"),
        ("  leave_out: {rod-to-stroke-ration: far too long}\n", "", "did you mean 'rod-to-stroke-ratio'?"),
        ("", OWN + "  instead_of: rod-to-stroke-ratio\n", "wants a 'reason'"),
        ("", OWN + "  reason: because of that\n", "nothing does"),
        ("", OWN + "  instead_of: rod-to-stroke\n  reason: because of that\n", "is no rule of the program's"),
        (
            "",
            OWN.replace("our-ratio", "rod-to-stroke-ratio"),
            "is given twice; first at compat/rules/rotating_assembly.yaml",
        ),
        (
            "",
            "- figure: our_torque\n  unit: N*m\n  is: goal.torque\n"
            "  instead_of: torque\n  reason: it is stated\n",
            "what stands instead of it keeps the name",
        ),
        (
            "- more_specs: rods\n  specs: {colour: text}\n",
            "",
            "position 'rods' is not known; did you mean 'rod'?",
        ),
        ("- more_specs: rod\n  specs: {mass: g}\n", "", "spec 'mass' of 'rod' is declared already"),
    ],
)
def test_what_is_wrong_with_it_is_told(tmp_path: Path, more: str, rules: str, says: str) -> None:
    found = faults(bare(tmp_path, "rotating_assembly", more, rules))
    assert len(found) == 1
    assert says in found[0]


def test_a_set_that_is_none_is_told(tmp_path: Path) -> None:
    found = faults(bare(tmp_path, "rotating_assemblies"))
    assert any("did you mean rotating_assembly" in f or "did you mean 'rotating_assembly'" in f for f in found)


def test_specs_of_its_own_stand_beside_those_of_the_set(tmp_path: Path) -> None:
    more = '- more_specs: rod\n  specs: {shot_peened: {unit: flag, is: "all over"}}\n'
    rule = "- rule: peened\n  title: Rods are peened\n  never: not rod.shot_peened\n"
    rule += "  why: They crack else.\n  source: own experience\n"
    library = load(bare(tmp_path, "rotating_assembly", more, rule))
    assert {"shot_peened", "mass"} <= library.shop.kinds["rod"].keys()
    assert "peened" in library.book.rules
    kept = open_library(tmp_path)
    assert kept.shop.kinds == library.shop.kinds


def test_rules_that_look_beyond_are_named_with_the_sets_they_look_into(tmp_path: Path) -> None:
    library = load(bare(tmp_path, "short_block, rotating_assembly"))
    assert library.shop.beyond["quench-gap-least"] == ("sealing",)
    assert "lubrication" in library.shop.beyond["main-film"]
    assert library.shop.beyond.keys().isdisjoint(library.book.rules)
    assert "wastegate-flow" not in library.shop.beyond


def test_a_kept_shop_sees_what_the_program_lends_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "program"
    for name in ("catalog", "rules"):
        shutil.copytree(demo_folder() / name, program / name)
    monkeypatch.setattr(sources, "demo_folder", lambda: program)
    folder = bare(tmp_path / "shop", "rotating_assembly")
    before = open_library(folder).book.rules["rod-to-stroke-ratio"].rule.title
    file = program / "rules" / "rotating_assembly.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace(f"title: {before}", "title: A better title"), encoding="utf-8")
    assert open_library(folder).book.rules["rod-to-stroke-ratio"].rule.title == "A better title"


def test_a_set_that_is_not_there_is_told_and_nothing_that_comes_of_it(tmp_path: Path) -> None:
    shop = bare(tmp_path / "shop", "short_blok, sealing, lubrication, cooling, oill")
    with pytest.raises(Faults) as told:
        load(shop)
    assert [str(fault).split(" is not one of ")[0] for fault in told.value.faults] == [
        "catalog/shop.yaml:5:10: 'short_blok'",
        "catalog/shop.yaml:5:53: 'oill'",
    ]
    assert str(told.value.faults[0]).endswith("did you mean 'short_block'?")
