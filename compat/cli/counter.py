"""The commands of the counter, as they are typed; what they do stands in `counting`."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Optional

import typer

from compat.cli import complete
from compat.cli.options import UnitSystem, choose_folder, stop
from compat.cli.typed import (
    CoresOption,
    DateOption,
    JsonOption,
    KeepOption,
    OutOption,
    ShopOption,
    UnitsOption,
)

__all__ = ["builds", "find", "history", "parts", "quotes"]


def find(
    words: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Argument(
            metavar="WORDS",
            help="Words of names, codes, positions, suppliers and specs, and sizes: piston bore 86..86.5 mm.",
        ),
    ] = None,
    build: Annotated[
        str,
        typer.Option(
            "--for",
            metavar="BUILD",
            help="Only what goes into this build or variant, each part checked in it.",
            autocompletion=complete.builds,
        ),
    ] = "",
    order: Annotated[
        str,
        typer.Option(
            "--order",
            metavar="price|lead|headroom",
            help="What comes first: the cheapest, what is in soonest, or what leaves the build most headroom.",
        ),
    ] = "price",
    supplier: Annotated[
        str,
        typer.Option(
            "--supplier", metavar="ID", help="Only what this one sells.", autocompletion=complete.suppliers
        ),
    ] = "",
    stock: Annotated[bool, typer.Option("--stock", help="Only what is on the shelf.")] = False,
    most: Annotated[int, typer.Option("--most", metavar="N", help="So many at most.", min=1, max=1000)] = 20,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Find parts by words, codes, sizes, supplier and shelf, and by what goes into a build. Slips are forgiven.

    Exit status 0: found. 1: nothing found. 2: bad input.
    """
    from compat.cli.counting import Looked, run_find

    looked = Looked(
        tuple(words or ()), build, order, supplier, stock, most, units.value, day, out or (), as_json
    )
    raise typer.Exit(run_find(choose_folder(shop), not no_cache, looked))


def parts(
    position: Annotated[
        str,
        typer.Argument(
            metavar="POSITION",
            help="Id of a position; with none, all parts go into a workbook to be edited.",
            autocompletion=complete.positions,
        ),
    ] = "",
    of: Annotated[
        str,
        typer.Option(
            "--of",
            metavar="POSITION",
            help="Into the workbook only parts of this one.",
            autocompletion=complete.positions,
        ),
    ] = "",
    shop: ShopOption = None,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """List the parts made for a position: price, lead time, what is here.

    Without a position, `--out parts.xlsx` writes the shop's parts into a workbook, to be edited and brought
    back by `compat bring`.
    """
    folder = choose_folder(shop)
    if position and of:
        stop("--of: goes with the workbook of all parts; a list has its position already")
    if position:
        from compat.cli.counting import run_parts

        run_parts(folder, not no_cache, position, day, out or (), as_json)
        return
    from compat.cli.bringing import give_parts

    if len(out or ()) != 1:
        stop("say which position, or name the workbook: `compat parts rod`, `compat parts --out parts.xlsx`")
    assert out
    give_parts(folder, not no_cache, of, out[0])


def builds(
    priced: Annotated[
        bool,
        typer.Option("--priced", help="Check and price each too: verdict, total, days. Takes a second each."),
    ] = False,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """List the builds: engine, goal, last quote, and if asked what each comes to today."""
    from compat.cli.counting import run_builds

    run_builds(choose_folder(shop), not no_cache, priced, units.value, day, out or (), as_json)


def _day(option: str, text: str, last: bool) -> date:
    """The first or last day of what is typed: a day, a month or a year."""
    from calendar import monthrange

    try:
        match [int(number) for number in text.split("-")]:
            case [year]:
                return date(year, 12, 31) if last else date(year, 1, 1)
            case [year, month]:
                return date(year, month, monthrange(year, month)[1] if last else 1)
        return date.fromisoformat(text)
    except ValueError:
        stop(f"{option}: '{text}' is no day; write year-month-day, like 2026-11-30, or a year or month of it")


def _since(text: str) -> date:
    return _day("--since", text, last=False)


def _until(text: str) -> date:
    return _day("--until", text, last=True)


def quotes(
    build: Annotated[
        str,
        typer.Argument(metavar="BUILD", help="Only of this build.", autocompletion=complete.builds),
    ] = "",
    since: Annotated[
        Optional[date],  # noqa: UP045
        typer.Option(
            "--since",
            metavar="DAY",
            parser=_since,
            help="Only those of this day and later; a year or month will do.",
        ),
    ] = None,
    until: Annotated[
        Optional[date],  # noqa: UP045
        typer.Option("--until", metavar="DAY", parser=_until, help="Only those of this day and before."),
    ] = None,
    again: Annotated[
        bool,
        typer.Option(
            "--again",
            help="Reckon each again with what the shop asks today: which totals change and by which lines, and "
            "which can no longer be quoted.",
        ),
    ] = False,
    cores: CoresOption = 0,
    shop: ShopOption = None,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """List the kept quotes: day, build, total, days, how long they hold; or what they come to today.

    Exit status 0: given; with --again, all come to the same. 1: one comes to something else, cannot be quoted
    or read. 2: bad input.
    """
    from compat.cli.counting import Span, run_quotes, run_quotes_again

    span = Span(build, since, until, day)
    if again:
        raise typer.Exit(run_quotes_again(choose_folder(shop), not no_cache, span, cores, out or (), as_json))
    if cores:
        stop("--cores: goes with --again; a list is made by one")
    run_quotes(choose_folder(shop), not no_cache, span, out or (), as_json)


def history(
    part: Annotated[str, typer.Argument(metavar="PART", help="Id of a part.", autocompletion=complete.parts)],
    shop: ShopOption = None,
    day: DateOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Tell where a part stands: builds, kept quotes, factory variants. Where it fits, `fits PART` says."""
    from compat.cli.counting import run_history

    run_history(choose_folder(shop), not no_cache, part, day, out or (), as_json)
