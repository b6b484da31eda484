"""The command line, run in this process, for tests of planning."""

from __future__ import annotations

from tests.cli.conftest import run

__all__ = ["run"]
