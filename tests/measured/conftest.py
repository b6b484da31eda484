"""Street builds with measured pieces, and files of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

import compat

HEAD = "what,piece,place,value,unit,uncertainty,gauge,by,date"

Said = Mapping[str, Any]


def pieces(values: Iterable[float], uncertainty: float = 0.002, gauge: str = "bore gauge") -> dict[str, Any]:
    """Pieces in mm, in order, as a build says them."""
    return {
        "pieces": [f"{value:.5f} mm" for value in values],
        "uncertainty": f"{uncertainty:.5f} mm",
        "gauge": gauge,
    }


def bores_and_skirts(bores: Iterable[float], skirts: Iterable[float], u: float = 0.002) -> dict[str, Any]:
    return {
        "block.bore_diameter": pieces(bores, u),
        "piston.skirt_diameter": pieces(skirts, u, "micrometer"),
    }


@pytest.fixture(scope="session")
def shop() -> compat.OpenShop:
    return compat.open_shop(cache=False)


@pytest.fixture(scope="session")
def street(shop: compat.OpenShop) -> compat.Build:
    return shop.build("street-turbo")


@pytest.fixture
def written(tmp_path: Path) -> Callable[..., Path]:
    """Write a CSV of rows below the head, or any text."""

    def write(*rows: str, name: str = "m.csv", head: str = HEAD) -> Path:
        path = tmp_path / name
        path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
        return path

    return write
