"""How long a document of 60 lines takes in each format: another one each time, as typst keeps what it set."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from compat.paper.out import ENDINGS, write_out
from tests.paper.sample import quote


@pytest.mark.parametrize("ending", list(ENDINGS))
def test_write_out(benchmark, ending: str, tmp_path: Path) -> None:
    numbers = count()
    path = tmp_path / f"q{ending}"

    def fresh() -> tuple[tuple[object, Path], dict[str, object]]:
        return (quote(60, number=f"Q-{next(numbers)}"), path), {}

    benchmark.pedantic(write_out, setup=fresh, rounds=5 if benchmark.enabled else 1)
    assert path.stat().st_size > 50
