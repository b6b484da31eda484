"""Sets of words and rules that a shop takes from the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.library.library import Library, load
from compat.library.opening import open_library
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
