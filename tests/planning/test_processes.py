"""Processes that do work end with the one that began them, whether it is stopped by a key or killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from compat.planning.processes import Work, each

ROOT = Path(__file__).parents[2]
PARENT = """
import sys
from pathlib import Path
from compat.planning.processes import Work, each
from tests.planning.test_processes import begin, beat
try:
    list(each(Work(begin, (Path(sys.argv[1]),), beat), ["one", "two"], 2))
except KeyboardInterrupt:
    sys.exit(130)
"""
folder: list[Path] = []


def begin(where: Path) -> None:
    folder[:] = [where]


def beat(name: str) -> int:
    """Show for half a minute that this process is alive."""
    for _ in range(600):
        (folder[0] / name).touch()
        time.sleep(0.05)
    return os.getpid()


def name_of(item: int) -> tuple[int, str]:
    return item * item, folder[0].name


def until(so: object, seconds: float = 60) -> None:
    ends = time.monotonic() + seconds
    while not so():  # type: ignore[operator]
        assert time.monotonic() < ends, "it does not come to it"
        time.sleep(0.05)


def test_each_item_is_done_once(tmp_path: Path) -> None:
    work = Work(begin, (tmp_path,), name_of)
    alone = list(each(work, range(5), 1))
    assert alone == [(item, (item * item, tmp_path.name)) for item in range(5)]
    assert sorted(each(work, range(5), 2)) == alone
    assert list(each(work, [], 2)) == []


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system kills no process that way")
@pytest.mark.parametrize("how", ["SIGINT", "SIGKILL"])
def test_none_is_left_behind(how: str, tmp_path: Path) -> None:
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT, str(tmp_path)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stderr=subprocess.PIPE,
        text=True,
    )
    until(lambda: len(list(tmp_path.iterdir())) == 2)
    parent.send_signal(getattr(signal, how))
    _, said = parent.communicate(timeout=20)
    assert parent.returncode == (130 if how == "SIGINT" else -signal.SIGKILL)
    assert "Traceback" not in said

    def still() -> bool:
        before = [path.stat().st_mtime_ns for path in tmp_path.iterdir()]
        time.sleep(0.5)
        return before == [path.stat().st_mtime_ns for path in tmp_path.iterdir()]

    until(still, 10)
