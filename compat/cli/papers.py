"""The commands that make papers, as they are typed; what they do stands in a module for each."""

from __future__ import annotations

from typing import Annotated

import typer

from compat.cli import complete
from compat.cli.options import UnitSystem, choose_folder
from compat.cli.typed import (
    DateOption,
    JsonOption,
    KeepOption,
    MeasuredOption,
    OutOption,
    ShopOption,
    UnitsOption,
)

__all__ = ["order"]


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
    draft: Annotated[
        bool, typer.Option("--draft", help="Only look: take no number, keep nothing, mark every page.")
    ] = False,
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
