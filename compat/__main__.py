"""The command `compat`, and `python -m compat`."""

from __future__ import annotations

import gc

__all__ = ["run"]


def run() -> None:
    """Run the command that was typed."""
    # a command lives for a second, and nearly all that it makes it keeps: collecting would only cost, and a
    # twentieth of what imports take
    gc.disable()
    from compat.cli import run as run_typed

    run_typed()


if __name__ == "__main__":
    run()
