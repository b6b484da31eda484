"""Run with `python -m compat`."""

from compat.cli import run

run()
