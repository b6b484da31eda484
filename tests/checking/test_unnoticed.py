"""What could be wrong in a shop's builds without a finding: planted on the small shop, and all of the demo."""

from __future__ import annotations

from typing import Any

import pytest

from compat.checking.single_changes import other_values
from compat.checking.unnoticed import try_all, unnoticed
from compat.library.library import Library
from compat.shop.specs import declare, state


def test_every_spec_of_the_demo_is_noticed_or_says_why_not(demo: Library) -> None:
    """Half, twice and a tenth either way, every other word: a verdict or a margin moves on some build."""
    remarks = unnoticed(demo, kinds=["spec", "setup"])
    assert [str(remark) for remark in remarks] == []


def test_every_place_count_and_stranger_of_the_draft_and_the_v6_is_noticed(demo: Library) -> None:
    tried = try_all(demo, ["first-draft", "fell-30-base"], ["part", "empty", "count"])
    assert tried.changes > 800
    assert tried.silent == []


def remarks(shop: Any) -> list[str]:
    return [remark.message for remark in unnoticed(shop.load())]


def test_a_spec_that_nothing_looks_at_is_named_unless_it_says_why(tiny: Any) -> None:
    before = remarks(tiny)
    tiny.edit("catalog/vocabulary.yaml", "    mass: g\n", "    mass: g\n    paint: [red, blue]\n")
    tiny.edit(
        "catalog/parts/extra.yaml", "    tensile_limit: 60 kN\n", "    tensile_limit: 60 kN\n    paint: red\n"
    )
    (said,) = [text for text in remarks(tiny) if text not in before]
    assert said.startswith("spec 'rod.paint' may be anything: no value of it moves a verdict or a margin on ")
    tiny.edit(
        "catalog/vocabulary.yaml", "paint: [red, blue]", "paint: {one_of: [red, blue], unnoticed: for looks}"
    )
    assert remarks(tiny) == before
    tiny.edit("catalog/vocabulary.yaml", "unnoticed: for looks", "sheet: yes")
    assert remarks(tiny) == before


def test_a_reason_for_what_is_noticed_is_named(tiny: Any) -> None:
    before = remarks(tiny)
    tiny.edit(
        "catalog/vocabulary.yaml",
        "    tensile_limit: kN\n",
        "    tensile_limit: {unit: kN, unnoticed: no idea}\n",
    )
    (said,) = [text for text in remarks(tiny) if text not in before]
    assert said == "spec 'rod.tensile_limit' is noticed, and says why it is not: no idea"


@pytest.mark.parametrize(
    ("declared", "stated", "expected"),
    [
        ("mm", "10 mm +0.2/-0.1", ["x 0.5", "x 2", "x 0.9", "x 1.1"]),
        ({"unit": "mm", "zero": "no key"}, "0 mm", ["1 mm"]),
        ("flag", "yes", ["no"]),
        (["a", "b", "c"], "b", ["a", "c"]),
        ("text", "m10", ["not m10"]),
        ("list", ["a"], ["another word"]),
        ("list", ["a", "b"], ["another word", "without a", "without b"]),
        ({"table": {"speed": "rpm", "flow": "L/min"}}, [["1000 rpm", "8 L/min"]], [
            "speed x 0.5", "speed x 2", "speed x 0.9", "speed x 1.1",
            "flow x 0.5", "flow x 2", "flow x 0.9", "flow x 1.1",
        ]),
    ],
)  # fmt: skip
def test_other_values_of_each_kind(declared: Any, stated: Any, expected: list[str]) -> None:
    kind = declare("any", declared)
    value = state(kind, stated).value
    found = list(other_values(kind, value))
    assert [told for told, _ in found] == expected
    assert all(other != value for _, other in found)
    assert len({str(other) for _, other in found}) == len(found)
