"""The commands that make papers, as they are typed; what they do stands in a module for each."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli import complete
from compat.cli.options import UnitSystem, choose_folder
from compat.cli.typed import (
    BuildArgument,
    DateOption,
    DraftOption,
    JsonOption,
    KeepOption,
    MeasuredOption,
    OutOption,
    ShopOption,
    UnitsOption,
)

__all__ = ["order", "plot", "quote", "sheet"]


def order(
    builds: Annotated[
        list[str],
        typer.Argument(
            metavar="BUILD|NUMBER",
            help="Ids of builds, build files, or - for standard input; what several want is bought together. "
            "Or the number of an order, to print it again as it was.",
            autocompletion=complete.builds,
        ),
    ],
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    soonest: Annotated[
        bool,
        typer.Option("--soonest", help="Choose for the earliest day that everything is in, not the cost."),
    ] = False,
    supplier: Annotated[
        str,
        typer.Option(
            "--supplier",
            metavar="ID",
            help="The letter to this supplier alone.",
            autocompletion=complete.suppliers,
        ),
    ] = "",
    despite_findings: Annotated[
        bool, typer.Option("--despite-findings", help="Order all the same, but for what is held back.")
    ] = False,
    accept_unknown: Annotated[
        bool, typer.Option("--accept-unknown", help="Order all the same where nothing but unknowns is left.")
    ] = False,
    old_prices: Annotated[
        bool, typer.Option("--old-prices", help="Reckon with prices of lists that have expired, and say so.")
    ] = False,
    draft: DraftOption = False,
    measured: MeasuredOption = None,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Order what builds buy: shelf first, then the suppliers that cost least with carriage.

    A file .xml is an Order-X for the system of one supplier; {supplier} in its name gives each one of its own.
    Exit status 0: ordered. 1: something stands against a build. 2: bad input. 3: a build is not proven.
    """
    from compat.cli.orders import AskedOrder, run_order

    asked = AskedOrder(
        names=builds,
        soonest=soonest,
        despite_findings=despite_findings,
        accept_unknown=accept_unknown,
        old_prices=old_prices,
        draft=draft,
        measured=measured or (),
        supplier=supplier,
        on=day,
        outs=out or (),
        as_json=as_json,
        system=units.value,
    )
    raise typer.Exit(run_order(choose_folder(shop), not no_cache, asked))


def quote(
    build: Annotated[
        str,
        typer.Argument(
            metavar="BUILD|NUMBER",
            help="Id of a build or variant, a build file, - to read one from standard input; or the number of "
            "a quote, to print it again as it was.",
            autocompletion=complete.builds,
        ),
    ],
    out: OutOption = None,
    own: Annotated[bool, typer.Option("--own", help="The shop's own copy: cost, supplier, findings.")] = False,
    draft: DraftOption = False,
    despite_findings: Annotated[
        bool,
        typer.Option("--despite-findings", help="Quote what does not go together; the findings stand on it."),
    ] = False,
    against: Annotated[
        str, typer.Option("--against", metavar="NUMBER", help="Say what has changed since that quote.")
    ] = "",
    day: DateOption = None,
    shop: ShopOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Quote a build: parts, work, tax, lead time, what is measured first. It is kept under a number.

    Exit status 0: quoted. 1: something stands against the build. 2: bad input.
    """
    from compat.cli.quotes import Asked, run_quote

    asked = Asked(build, own, despite_findings, draft, against, day, out or (), as_json)
    raise typer.Exit(run_quote(choose_folder(shop), not no_cache, asked))


def sheet(
    build: BuildArgument,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    whole: Annotated[
        bool, typer.Option("--whole", help="The whole engine, not only what this build opens.")
    ] = False,
    despite_findings: Annotated[
        bool,
        typer.Option("--despite-findings", help="Of a build with findings against it, with them on its face."),
    ] = False,
    measured: MeasuredOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Make the bench sheet: order of assembly, torques, clearances to measure, boxes to fill in and sign.

    Into .xlsx or .csv goes the table of what is measured, to be filled in.

    Exit status 0: given. 1: something stands against the build. 2: bad input.
    """
    from compat.cli.sheets import run_sheet

    folder = choose_folder(shop)
    asked = (build, units.value, whole, despite_findings, out, as_json, measured or [])
    raise typer.Exit(run_sheet(folder, not no_cache, *asked))


def plot(
    build: BuildArgument,
    picture: Annotated[
        str,
        typer.Argument(
            metavar="PICTURE",
            help="headroom, output, compressor, cycle, tolerance or reasons.",
            autocompletion=complete.pictures,
        ),
    ],
    out: Annotated[
        Optional[list[Path]],  # noqa: UP045  typer reads the annotation at run time
        typer.Option(
            "--out",
            metavar="FILE",
            help="Draw it into a file, .svg, .png or .pdf; may be given again. Without it its numbers.",
        ),
    ] = None,
    rule: Annotated[
        str,
        typer.Option(
            "--rule",
            metavar="RULE",
            help="Rule that tolerance and reasons are about; else the finding that weighs most.",
            autocompletion=complete.rules,
        ),
    ] = "",
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Draw what a check found: headroom, power and torque, compressor, cycle, a tolerance stack, reasons."""
    from compat.cli.plots import run_plot

    run_plot(choose_folder(shop), not no_cache, build, picture, rule, units.value, out or [], as_json)
