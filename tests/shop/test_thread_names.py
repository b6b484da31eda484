"""A thread's name and numbers on one card. ISO 261, from memory: M11x1.5 is 11 mm across, its pitch 1.5 mm."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from compat.shop.source import Fault, Spot
from compat.shop.stating import typed_specs
from tests.look import demo_shop


def told(**said: str) -> list[Fault]:
    def where(path: Sequence[str | int]) -> Spot:
        return Spot("/".join(map(str, path)))

    faults: list[Fault] = []
    typed_specs(demo_shop().shop, ["head_fastener"], said, where, ["specs"], "maker", faults)
    return faults


@pytest.mark.parametrize(
    ("said", "spec", "stated", "named"),
    [
        ({"thread": "M11x1.5", "pitch": "1 mm"}, "pitch", "1 mm", "1.5 mm"),
        ({"thread": "M11x1.5", "thread_diameter": "10.0 mm"}, "thread_diameter", "10 mm", "11 mm"),
        ({"thread": "M11", "thread_diameter": "0.5 in"}, "thread_diameter", "0.5 in", "11 mm"),
    ],
)
def test_two_bolts_on_one_card_are_a_fault(said: dict[str, str], spec: str, stated: str, named: str) -> None:
    (fault,) = told(**said)
    assert fault.spot.file == f"specs/{spec}"
    assert fault.message == f"'{spec}' is {stated}, and the thread {said['thread']} has {named}"


@pytest.mark.parametrize(
    "said",
    [
        {"thread": "M11x1.5", "thread_diameter": "11 mm", "pitch": "1.50 mm"},
        {"thread": "M11", "pitch": "1.5 mm"},  # the coarse one is not in the name
        {"thread": "7/16-20 UNF", "thread_diameter": "11.1 mm"},
        {"thread": "M11x1.5"},
        {"pitch": "1 mm"},
    ],
)
def test_one_bolt_is_none(said: dict[str, str]) -> None:
    assert told(**said) == []


def test_every_card_of_the_demo_is_of_one_thread() -> None:
    """Both are stated where clamp is worked out; a card that they part on would not be read."""
    shop = demo_shop().shop
    stated = [shop.specs[part] for place in ("head_fastener", "rod_fastener") for part in shop.fillers[place]]
    assert all({"thread", "thread_diameter", "pitch"} <= specs.keys() for specs in stated)
