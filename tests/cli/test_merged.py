"""Marks that a merge left in a file are told as that: where, which lines are whose."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from compat.shop.merged import left_by_a_merge
from compat.shop.source import Faults, tree_of

Run = Callable[..., Any]
OURS, THEIRS = "  name: Old\n", "  name: New\n  note: two\n"


def merged(base: str = "") -> str:
    return f"- part: a\n<<<<<<< HEAD\n{OURS}{base}=======\n{THEIRS}>>>>>>> prices of May\n  fills: rod\n"


def test_each_side_is_told_by_its_lines() -> None:
    with pytest.raises(Faults) as caught:
        tree_of(merged().encode(), "catalog/x.yaml")
    assert [str(fault) for fault in caught.value.faults] == [
        "catalog/x.yaml:2:1: a merge left two versions here: line 3 is of HEAD, lines 5 to 6 of prices of May; "
        "keep one and take out the three marks"
    ]


def test_what_was_before_may_stand_between() -> None:
    (line, says), = left_by_a_merge(merged("||||||| 3f2a\n  name: Older\n"))  # fmt: skip
    assert line == 2
    assert "line 3 is of HEAD" in says
    assert "lines 7 to 8 of prices of May" in says
    assert "four marks" in says


def test_every_place_is_told_at_once() -> None:
    places = list(left_by_a_merge(merged() + merged().replace("\n", "\r\n")))
    assert [line for line, _ in places] == [2, 10]


@pytest.mark.parametrize("mark", ["<<<<<<< HEAD", ">>>>>>> other"])
def test_a_mark_alone_is_told(mark: str) -> None:
    (line, says), = left_by_a_merge(f"- part: a\n{mark}\n  name: x\n")  # fmt: skip
    assert line == 2
    assert "without its" in says


@pytest.mark.parametrize(
    "text",
    [
        "- part: a\n  note: |\n    <<<<<<< HEAD\n    =======\n    >>>>>>> b\n",
        "- part: a\n  # =======\n  name: x\n",
        "- part: a\n  note: a <<<<<<< b >>>>>>> c\n",
        "=======\n",
    ],
)
def test_what_only_looks_like_it_is_left_alone(text: str) -> None:
    assert list(left_by_a_merge(text)) == []


def test_nothing_else_is_said_of_such_a_file(tiny: Any, run: Run) -> None:
    """No YAML noise, and no name of the file that others would miss."""
    text = tiny.text("catalog/parts/extra.yaml")
    first, rest = text.split("\n", 1)
    tiny.write("catalog/parts/extra.yaml", f"<<<<<<< HEAD\n{first}\n=======\n{first}x\n>>>>>>> other\n{rest}")
    ran = run("lint", "--shop", tiny.folder)
    assert ran.status == 2
    assert ran.err.splitlines() == [
        "catalog/parts/extra.yaml:1:1: a merge left two versions here: line 2 is of HEAD, line 4 of other; "
        "keep one and take out the three marks",
        "1 fault; nothing was checked.",
    ]
