"""The commands that plan changes, as they are typed; what they do stands in a module for each."""

from __future__ import annotations

from typing import Annotated

import typer

from compat.cli import complete
from compat.cli.options import UnitSystem, choose_folder
from compat.cli.typed import (
    BuildArgument,
    DateOption,
    JsonOption,
    KeepOption,
    OutOption,
    ShopOption,
    UnitsOption,
)

__all__ = ["compare", "fits", "ladder"]

Other = Annotated[
    str,
    typer.Argument(
        metavar="BUILD", help="The build or variant to compare it with.", autocompletion=complete.builds
    ),
]


def compare(
    build: BuildArgument,
    other: Other,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Put two builds side by side: parts, work, findings, loads, price, hours."""
    from compat.cli.comparing import run_compare

    run_compare(choose_folder(shop), not no_cache, (build, other), units.value, day, out or (), as_json)


def fits(
    name: Annotated[
        str,
        typer.Argument(
            metavar="POSITION|PART",
            help="A position, to see what goes in there; or a part, to see where it goes in.",
            autocompletion=complete.ids,
        ),
    ],
    build: Annotated[
        str,
        typer.Argument(
            metavar="BUILD",
            help="The build or variant that the position is of; not with a part.",
            autocompletion=complete.builds,
        ),
    ] = "",
    reasons: Annotated[
        bool, typer.Option("--reasons", help="Tell every reason in full, with its figures.")
    ] = False,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Tell what goes into a position: directly, with more beside it, or not and why; or where a part goes in.

    Each part is checked in the whole build.
    """
    from compat.cli.fits import run_fits

    run_fits(choose_folder(shop), not no_cache, name, build, units.value, reasons, out or (), as_json)


def ladder(
    build: BuildArgument,
    to: Annotated[
        str, typer.Option("--to", metavar="POWER", help="Power up to which to look; else twice the goal's.")
    ] = "",
    most: Annotated[
        int, typer.Option("--most", metavar="N", help="So many rungs at most.", min=1, max=99)
    ] = 12,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Raise the goal until one part after the other runs out: at what power, and what passing it costs.

    A file .svg or .png holds the picture alone.
    """
    from compat.cli.ladders import run_ladder

    run_ladder(choose_folder(shop), not no_cache, build, to, most, units.value, day, out or (), as_json)
