"""The commands that a shop of one's own begins with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["start"]


def start(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A new folder, or an empty one.")],
    like: Annotated[
        str,
        typer.Option(
            "--like",
            metavar="short-block|long-block|whole",
            help="How much of an engine the shop looks after.",
        ),
    ] = "short-block",
) -> None:
    """Start a shop of your own: one engine, its parts and two builds to be written over. Overwrites nothing."""
    from compat.cli.shops import run_start

    run_start(folder, like)
