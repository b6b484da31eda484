"""The commands that plan changes, as they are typed; what they do stands in a module for each."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

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

__all__ = ["compare", "fits", "fix", "ladder"]

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


def fix(
    build: BuildArgument,
    keep: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--keep", metavar="WORD", help="Position, work or word of the setup that stays; again for more."
        ),
    ] = None,
    avoid: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--avoid", metavar="PART", help="Part that is not used, or hg-* for all so called; again for more."
        ),
    ] = None,
    avoid_supplier: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--avoid-supplier", metavar="ID", help="Supplier that nothing is bought from; again for more."
        ),
    ] = None,
    wish: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--wish", metavar="WORD=MONEY", help="What giving up a line of the build counts; again for more."
        ),
    ] = None,
    stock_only: Annotated[
        bool, typer.Option("--stock-only", help="Buy nothing: take what lies on the shelf.")
    ] = False,
    budget: Annotated[
        str, typer.Option("--budget", metavar="MONEY", help="What parts and work may cost together.")
    ] = "",
    aim: Annotated[
        str, typer.Option("--aim", metavar="AIM", help="money, time, changes, or headroom within the budget.")
    ] = "money",
    seconds: Annotated[float, typer.Option("--seconds", metavar="N", help="How long may be searched.")] = 30.0,
    others: Annotated[int, typer.Option("--others", metavar="N", help="Next-best answers.", min=0, max=9)] = 2,
    why_not: Annotated[
        bool,
        typer.Option(
            "--why-not", help="Where none is to be had, say what cannot stand together; takes minutes."
        ),
    ] = False,
    write: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("--write", metavar="FILE", help="Write the build into a new file, comments kept."),
    ] = None,
    shop: ShopOption = None,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Put a build right, or complete one that names a goal alone: the changes that cost least.

    What the build says is kept where that can be. Exit status 0: a build that goes together. 1: none is to be
    had, or none was found in time. 2: bad input.
    """
    from compat.cli.fixing import AskedFix, run_fix

    asked = AskedFix(
        name=build,
        keep=keep or (),
        avoid=avoid or (),
        avoid_suppliers=avoid_supplier or (),
        wishes=wish or (),
        stock_only=stock_only,
        budget=budget,
        aim=aim,
        seconds=seconds,
        others=others,
        write=write,
        on=day,
        outs=out or (),
        as_json=as_json,
        why_not=why_not,
    )
    raise typer.Exit(run_fix(choose_folder(shop), not no_cache, asked))
