"""How long a document of 60 lines takes in each format: another one each time, as typst keeps what it set."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from compat.paper.document import Document, Table
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


@pytest.mark.parametrize("tables", [40, 160])
def test_many_tables_alike(benchmark, tables: int, tmp_path: Path) -> None:
    """A sheet has some 150 tables: four times as many take about four times as long."""
    numbers = count()
    path = tmp_path / "s.pdf"

    def fresh() -> tuple[tuple[Document, Path], dict[str, object]]:
        table = quote(3).blocks
        blocks = [block for _ in range(tables) for block in table if isinstance(block, Table)]
        return (Document("Sheet", blocks, number=f"S-{next(numbers)}"), path), {}

    benchmark.pedantic(write_out, setup=fresh, rounds=3 if benchmark.enabled else 1)
    assert path.stat().st_size > 50
