"""What benchmarks share: a launcher of programs, and extra figures printed below the table of times."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from compat.shop import source
from tests.bench.launcher import Launcher

PROGRAMS = ("test_bench_shop.py", "test_bench_quote.py", "test_bench_page_large.py")
NOTED = pytest.StashKey[list[tuple[str, dict[str, Any]]]]()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Processes by the hundred and shops of thousands of parts are only for measuring."""
    measuring = config.getoption("benchmark_enable") or not config.getoption("benchmark_disable")
    programs = collection_path.name in PROGRAMS
    return True if programs and not measuring else None


@pytest.fixture(scope="session")
def launcher(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Launcher]:
    with Launcher(tmp_path_factory.mktemp("launched")) as found:
        yield found


@pytest.fixture(autouse=True)
def _read_anew(monkeypatch: pytest.MonkeyPatch, formulas_run_anew: None, cards_read_anew: None) -> None:
    """What is measured is measured whole: trees, cards and answers that other tests share are none of it."""
    monkeypatch.setattr(source, "_build", inspect.unwrap(source._build))


@pytest.fixture(autouse=True)
def noting(request: pytest.FixtureRequest) -> Iterator[None]:
    """Note the extra figures of a benchmark once it is through."""
    benchmark = request.getfixturevalue("benchmark") if "benchmark" in request.fixturenames else None
    yield
    if benchmark is not None and benchmark.enabled and benchmark.extra_info:
        request.config.stash.setdefault(NOTED, []).append((request.node.name, benchmark.extra_info))


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    for name, extra in config.stash.get(NOTED, []):
        figures = ", ".join(f"{key} {value}" for key, value in extra.items())
        terminalreporter.write_line(f"{name}: {figures}")
