"""Start programs from a small process, and tell what each took: seconds, and memory at its peak.

A process that starts another one lends it its own peak (the system counts what a child held before it became
another program), and a test run holds much. So a process that imports next to nothing starts what is measured.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

__all__ = ["Launcher", "Spent"]

ROOT = Path(__file__).parents[2]

_SERVE = """
import json, os, sys, time
unit = 1 if sys.platform == "darwin" else 1024
for line in sys.stdin:
    words, settings, folder, out = json.loads(line)
    os.chdir(folder)
    file = [(os.POSIX_SPAWN_OPEN, 0, os.devnull, os.O_RDONLY, 0)]
    file.append((os.POSIX_SPAWN_OPEN, 1, out, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600))
    file.append((os.POSIX_SPAWN_DUP2, 1, 2))
    started = time.perf_counter()
    child = os.posix_spawn(words[0], words, settings, file_actions=file)
    _, status, used = os.wait4(child, 0)
    spent = time.perf_counter() - started
    worked, held = used.ru_utime + used.ru_stime, used.ru_maxrss * unit / 1e6
    print(json.dumps([spent, worked, held, os.waitstatus_to_exitcode(status)]), flush=True)
"""


@dataclass(frozen=True)
class Spent:
    """What a program took, and what it left."""

    seconds: float
    worked: float
    """Seconds of a processor: what is left of `seconds` where others want the machine too."""
    peak: float
    """Megabytes of memory that it held at most."""
    status: int
    text: str


class Launcher:
    """A small process that starts others in a folder, one at a time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.server = subprocess.Popen(
            [sys.executable, "-I", "-S", "-c", _SERVE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )

    def __enter__(self) -> Launcher:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self.server.stdin is not None
        self.server.stdin.close()
        self.server.wait()

    def python(self, *words: str, **settings: str) -> Spent:
        """Run this Python with words and further settings of the environment; byte code is kept and used."""
        return self.run([sys.executable, *words], {**_plain(), **settings})

    def run(self, words: Sequence[str], settings: Mapping[str, str]) -> Spent:
        """Run a program, its path first."""
        assert self.server.stdin is not None
        assert self.server.stdout is not None
        out = self.folder / "printed"
        self.server.stdin.write(json.dumps([words, dict(settings), str(self.folder), str(out)]) + "\n")
        self.server.stdin.flush()
        seconds, worked, peak, status = json.loads(self.server.stdout.readline())
        return Spent(seconds, worked, peak, status, out.read_text("utf-8"))


def _plain() -> dict[str, str]:
    """The environment without what would change a run; this checkout is what is imported."""
    away = ("PYTHONDONTWRITEBYTECODE", "PYTHONUNBUFFERED", "COLUMNS", "COMPAT_SHOP", "COMPAT_CACHE")
    return {key: value for key, value in os.environ.items() if key not in away} | {"PYTHONPATH": str(ROOT)}
