"""The command line: thin commands over the floors below."""

from __future__ import annotations

from compat.cli.app import main, run

__all__ = ["main", "run"]
