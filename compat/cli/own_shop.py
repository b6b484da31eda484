"""The commands that a shop of one's own begins with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from compat.cli import complete
from compat.cli.options import choose_folder
from compat.cli.typed import BuildArgument, JsonOption, KeepOption, ShopOption

__all__ = ["keep", "needs", "start"]


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


def needs(
    position: Annotated[
        str,
        typer.Argument(metavar="POSITION", help="A place in the engine.", autocompletion=complete.positions),
    ],
    shop: ShopOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """List the specs that rules ask of a part, most telling first, with what to measure and how."""
    from compat.cli.needs import run_needs

    run_needs(choose_folder(shop), not no_cache, position, as_json)


def keep(
    build: BuildArgument,
    shop: ShopOption = None,
) -> None:
    """Move the parts that a build carries itself into the catalogue, for every build to use."""
    from compat.cli.shops import run_keep

    run_keep(choose_folder(shop), build)
