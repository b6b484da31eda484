"""Sizes on cards that are nothing like those of their like, as a slip of the unit makes them."""

from __future__ import annotations

import dataclasses

import pytest

from compat.checking.outlying import outlying
from compat.shop.shop import Shop
from compat.shop.specs import state
from tests.look import demo_shop

ROD = "sf-rod-1480-h-22"


def saying(part: str, position: str, **specs: str) -> Shop:
    """The demo shop with other sizes on one card."""
    shop = demo_shop().shop
    kinds = shop.kinds[position]
    said = {name: state(kinds[name], text) for name, text in specs.items()}
    return dataclasses.replace(shop, specs={**shop.specs, part: {**shop.specs[part], **said}})


def test_the_demo_shop_has_none() -> None:
    assert list(outlying(demo_shop().shop)) == []


@pytest.mark.parametrize(
    ("part", "position", "spec", "text"),
    [
        (ROD, "rod", "yield_strength", "930 GPa"),  # a thousandfold
        (ROD, "rod", "mass", "548 kg"),
        (ROD, "rod", "centre_length", "5.83 mm"),  # inches
    ],
)
def test_another_unit_is_told(part: str, position: str, spec: str, text: str) -> None:
    found = [message for _, message in outlying(saying(part, position, **{spec: text}))]
    assert len(found) == 1
    assert found[0].startswith(f"'{part}' states {spec} {text}, and its like about ")


def test_the_middle_of_its_like_is_told_in_the_unit_of_the_spec() -> None:
    [(spot, message)] = outlying(saying(ROD, "rod", mass="548 kg"))
    assert "g: another unit?" in message
    assert "rods" in str(spot)
