"""A need rule that lets a spec say what must agree: the thread of a sensor and its boss."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from compat.library.library import Library
from compat.shop.shop import Shop
from compat.words.report import Finding
from tests.look import check

RULE = "coolant-sensor-thread"
SENSOR = "tarn-coolant-sensor"


def of(shop: Shop, demo: Library) -> Finding:
    (finding,) = (f for f in check(shop, demo.book, "tarn-20-base").report.findings if f.rule == RULE)
    return finding


def test_the_spec_of_the_part_decides(demo: Library, stating: Callable[..., Shop]) -> None:
    """The head takes an M12x1.5; what the sensor's card itself needs is not asked."""
    assert of(demo.shop, demo).verdict == "ok"
    found = of(stating({SENSOR: {"thread": "M14x1.5"}}), demo)
    assert found.verdict == "conflict"
    assert "thread M14x1.5" in found.because


def test_a_spec_that_nobody_stated_is_not_known(demo: Library, stating: Callable[..., Shop]) -> None:
    found = of(stating({SENSOR: {"thread": None}}), demo)
    assert found.verdict == "unknown"
    assert found.unstated == ("coolant_sensor.thread",)


@pytest.mark.parametrize(
    ("word", "message"),
    [
        ("rod.small_ends", "is a list of words, not a word"),
        ("rod.centre_length", "is a length, not a word"),
        ("rod.smal_ends", "did you mean"),
        ("rot.small_ends", "did you mean"),
    ],
)
def test_what_cannot_agree_is_a_fault(word: str, message: str, tiny: Any) -> None:
    tiny.rule(f"need: {{feature: analogue_input, with: {{kind: {word}}}}}")
    (fault,) = tiny.faults()
    assert message in str(fault)
    assert str(fault).startswith(tiny.place("rules/mine.yaml", word))


def test_a_plain_word_stands_for_itself(tiny: Any) -> None:
    assert tiny.finds("need: {feature: analogue_input, with: {kind: M8x1.25}}").verdict == "ok"
