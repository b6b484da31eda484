"""The real command line, run in this process."""

from __future__ import annotations

import gc
import io
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from compat.cli import main
from compat.library.kept_answers import write_answers


@dataclass(frozen=True)
class Ran:
    """What a command left: its exit status and what it printed."""

    status: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run `compat` with the given words, and what is piped into it."""
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.delenv("COMPAT_SHOP", raising=False)

    def command(*words: object, typed: str | bytes = b"") -> Ran:
        raw = typed.encode() if isinstance(typed, str) else typed
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(raw)))
        monkeypatch.setattr("sys.argv", ["compat", *map(str, words)])
        capsys.readouterr()
        try:
            with pytest.raises(SystemExit) as stopped:
                main()
        finally:  # a program of its own leaves no rubbish behind: many in one test would heap it up
            gc.enable()
        write_answers()  # as the program does at its end
        status = int(stopped.value.code or 0)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.out + printed.err
        return Ran(status, printed.out, printed.err)

    return command
