"""Run with `python -m compat`."""

from compat.cli import main

main()
