"""A rulebook read against its shop: what is bound, where it stands, what rests on what."""

from __future__ import annotations

from typing import Any

import pytest

from compat.rulebook.models import Rule
from compat.rulebook.reading import read_rulebook
from compat.shop.forms import reader
from compat.shop.source import Fault, read_tree

RULE: dict[str, Any] = {"rule": "x", "title": "A rule", "why": "Because.", "source": "common practice"}


def test_the_small_rulebook_reads(tiny: Any) -> None:
    book = tiny.load().book
    assert len(book.rules) == 17
    assert {rule.rule.sort for rule in book.rules.values()} == {
        "limits", "match", "load", "need", "renew", "never", "note",
    }  # fmt: skip
    assert str(book.spot("rule", "quench")) == tiny.place("rules/rules.yaml", "rule: quench")
    assert str(book.spot("rule", "quench", "above")) == tiny.place("rules/rules.yaml", "above: caution")


@pytest.mark.parametrize(
    ("rule", "unit"),
    [
        ("quench", "mm"),
        ("rod-strength", "kN"),
        ("squeeze", ""),
        ("pump-flow", "L/h"),
        ("big-end-clearance", "mm"),
    ],
)
def test_unit_in_which_a_rule_is_shown(rule: str, unit: str, tiny: Any) -> None:
    assert tiny.load().book.rules[rule].unit == unit


def test_unit_asked_for_comes_first(tiny: Any) -> None:
    tiny.edit("rules/rules.yaml", "  measure: quench_gap\n", "  measure: quench_gap\n  unit: um\n")
    assert tiny.load().book.rules["quench"].unit == "um"


def test_one_pair_may_stand_without_its_list(tiny: Any) -> None:
    tiny.edit(
        "rules/rules.yaml",
        "match: [[rod.small_end_bore, piston.pin_diameter]]",
        "match: [rod.small_end_bore, piston.pin_diameter]",
    )
    ((left, right),) = tiny.load().book.rules["big-end"].pairs
    assert (left.text, right.text) == ("rod.small_end_bore", "piston.pin_diameter")


def test_what_a_rule_rests_on(tiny: Any) -> None:
    book = tiny.load().book
    found = book.gather(book.rules["quench"].expressions())
    assert found.figures[0] == "quench_gap"
    assert "deck_clearance" in found.figures
    assert ("rod", "centre_length") in found.specs
    assert ("head_gasket", "thickness") in found.specs
    assert book.rests_on(book.rules["rod-strength"])[0] == ("rod_pull",)
    assert set(book.positions_of(book.rules["quench"])) == {
        "block",
        "crankshaft",
        "rod",
        "piston",
        "head_gasket",
    }
    assert book.graph.has_edge(("figure", "quench_gap"), ("figure", "deck_clearance"))
    assert book.graph.has_edge(("figure", "rod_pull"), ("spec", "rod.mass"))
    assert book.graph.has_edge(("figure", "rod_pull"), ("goal", "rev_limit"))


@pytest.mark.parametrize(
    ("duty", "asked"), [("street", 0.5), ("track", 0.7), ("sprint", 0.7), ("endurance", 1.0)]
)
def test_a_sprint_asks_what_a_track_does(duty: str, asked: float) -> None:
    said = {"load": "1", "capacity": "2", "headroom": {"street": "0.5", "track": "0.7", "endurance": "1"}}
    rule = reader(Rule).validate_python({**RULE, **said})
    assert rule.headroom_for(duty) == asked
    sprint = {**said, "headroom": {**rule.headroom, "sprint": "0.3"}}
    assert reader(Rule).validate_python({**RULE, **sprint}).headroom_for("sprint") == 0.3


@pytest.mark.parametrize(
    ("kind", "verdict"),
    [
        ({"measure": "1", "at_least": "0"}, "conflict"),
        ({"match": ["a.b", "c.d"]}, "conflict"),
        ({"load": "1", "capacity": "2", "headroom": "0"}, "shortfall"),
        ({"need": {"feature": "x"}}, "missing"),
        ({"renew": "x"}, "missing"),
        ({"never": "x"}, "conflict"),
        ({"note": "x"}, "caution"),
    ],
)
def test_verdict_when_a_rule_does_not_say(kind: dict[str, Any], verdict: str) -> None:
    assert reader(Rule).validate_python({**RULE, **kind}).fails_as == verdict
    assert reader(Rule).validate_python({**RULE, **kind, "else": "caution"}).fails_as == "caution"


def test_figures_in_a_circle_are_told_and_the_rest_still_read(tiny: Any) -> None:
    tiny.write(
        "rules/more.yaml",
        "".join(f"- {{figure: f{n}, unit: mm, is: f{(n + 1) % 3} + 1*mm}}\n" for n in range(3))
        + "- {figure: alone, unit: mm, is: alone}\n- {figure: good, unit: mm, is: block.bore}\n",
    )
    found = [fault.message for fault in tiny.faults()]
    assert len(found) == 2
    assert any("alone -> alone" in message for message in found)
    assert any("f0" in message and "f1" in message and "f2" in message for message in found)


def test_a_reader_never_raises_on_odd_shapes(tiny: Any) -> None:
    """Put a word, a list and an entry in the place of every value of rules and figures of each kind."""
    shop = tiny.load().shop
    faults: list[Fault] = []
    odd = (
        "word",
        "5 mm",
        "[a, b]",
        "[]",
        "{a: b}",
        "{}",
        "~",
        "-1",
        "[[a]]",
        "[{}]",
        "'1 +'",
        "[[a, b]]",
        "'('",
    )
    for file, joint in (("rules", "-"), ("figures", "_")):
        for entry in read_tree(tiny.folder / f"rules/{file}.yaml", "x").data:
            kind = next(iter(entry))
            for key in entry:
                # all in one file, each under an id of its own
                entries = [
                    {**entry, kind: f"{entry[kind]}{joint}{n}", key: _Raw(raw)} for n, raw in enumerate(odd)
                ]
                lines = ["\n  ".join(f"{k}: {_flow(v)}" for k, v in said.items()) for said in entries]
                tiny.write("odd/odd.yaml", "".join(f"- {text}\n" for text in lines))
                read_rulebook(tiny.folder / "odd", shop, faults)
    assert not any("given twice" in fault.message for fault in faults)
    assert len(faults) > 1000
    assert all(fault.message for fault in faults)


class _Raw(str):
    """Text that stands in the file as it is."""


def _flow(value: Any) -> str:
    if isinstance(value, _Raw):
        return value
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return "~" if value is None else "'" + value.replace("'", "''") + "'"
