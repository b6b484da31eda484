"""The commands of `compat`."""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat import __version__
from compat.cli import complete
from compat.cli.options import UnitSystem, choose_folder, console, ready_streams, stop

app = typer.Typer(
    name="compat",
    help="Checks whether the parts chosen for an engine go together and hold at a power goal.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

ShopOption = Annotated[
    Optional[Path],  # noqa: UP045  typer reads the annotation at run time
    typer.Option(
        "--shop",
        metavar="DIR",
        envvar="COMPAT_SHOP",
        help="Shop folder, with catalog and rules in it. Default: the working folder, else the demo.",
    ),
]
UnitsOption = Annotated[UnitSystem, typer.Option("--units", help="Units of the output.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
BuildArgument = Annotated[
    str,
    typer.Argument(
        metavar="BUILD", help="Id of a build or variant, or a build file.", autocompletion=complete.builds
    ),
]


def _version(value: bool) -> None:
    if value:
        typer.echo(f"compat {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Check a performance engine build before the first bolt is bought."""


@app.command()
def check(
    build: BuildArgument,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    everything: Annotated[bool, typer.Option("--all", help="Show also what is fine.")] = False,
    loads: Annotated[bool, typer.Option("--loads", help="Show the table of loads at the goal.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Check a build: conflicts, shortfalls, what is missing, what to measure.

    Exit status 0: goes together. 1: a conflict, a shortfall or something missing. 2: bad input.
    """
    from compat.cli.checks import run_check

    raise typer.Exit(run_check(choose_folder(shop), build, units.value, everything, loads, as_json))


@app.command()
def why(
    build: BuildArgument,
    rule: Annotated[str, typer.Argument(metavar="RULE", help="Id of a rule.", autocompletion=complete.rules)],
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
) -> None:
    """Show why a rule comes out as it does: the chain from specs to verdict."""
    from compat.cli.checks import run_why

    run_why(choose_folder(shop), build, rule, units.value)


@app.command()
def lint(shop: ShopOption = None, as_json: JsonOption = False) -> None:
    """Check a whole shop's files: faults, and what looks like an oversight.

    Exit status 0: clean. 1: remarks. 2: faults.
    """
    from compat.cli.shops import run_lint

    raise typer.Exit(run_lint(choose_folder(shop), as_json))


@app.command()
def show(
    name: Annotated[
        str,
        typer.Argument(
            metavar="ID",
            help="Id of anything in the shop; or parts, builds, rules ... for a list.",
            autocompletion=complete.ids,
        ),
    ],
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
) -> None:
    """Show a part, variant, position, feature, work, joint, supplier, build, rule or figure."""
    from compat.cli.shops import run_show

    run_show(choose_folder(shop), name, units.value)


@app.command()
def calc(
    formula: Annotated[
        Optional[str],  # noqa: UP045
        typer.Argument(
            metavar="FORMULA", help="Name of a formula; none: list them.", autocompletion=complete.formulas
        ),
    ] = None,
    values: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Argument(metavar="NAME=VALUE", help='What it takes, like bore="86 mm".'),
    ] = None,
    find: Annotated[str, typer.Option("--find", help="List only formulas with this word in them.")] = "",
    units: UnitsOption = UnitSystem.metric,
    as_json: JsonOption = False,
) -> None:
    """Run a formula at the bench. With no values it says what it takes."""
    from compat.cli.calc import run_calc

    run_calc(formula, values or [], find, units.value, as_json)


@app.command()
def schemas(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write into.")],
) -> None:
    """Write the JSON Schemas of every kind of file entry and of the reports."""
    from compat.cli.shops import run_schemas

    run_schemas(folder)


def main() -> None:
    """Run the command line; every known kind of failure is a message and exit status 2."""
    from compat.shop.source import Fault, Faults, Spot

    # a command lives for a second, and nearly everything it reads it keeps: collecting would only cost
    gc.disable()
    ready_streams()
    try:
        app()
    except Faults as found:
        for fault in found.faults:
            print(fault, file=sys.stderr)
        count = len(found.faults)
        print(f"{count} fault{'s' * (count != 1)}; nothing was checked.", file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        # the reader of a pipe has gone; keep Python from complaining at exit
        sys.stderr.close()
        sys.exit(0)
    except RecursionError:
        stop("the figures of the rulebook rest on one another too deep to be worked out")
    except OSError as error:
        stop(str(Fault(Spot(str(error.filename or "compat"), 0), error.strerror or str(error))))


__all__ = ["app", "console", "main"]
