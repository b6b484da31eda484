"""The commands of `compat`."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated, NoReturn, Optional

import typer

from compat import __version__
from compat.cli import complete
from compat.cli.counter import builds, find, history, parts, quotes
from compat.cli.help import Command, Group
from compat.cli.listed import bring
from compat.cli.options import UnitSystem, choose_folder, stop, width
from compat.cli.own_shop import keep, needs, start
from compat.cli.papers import order, plot, quote, sheet
from compat.cli.planner import compare, fits, fix, ladder
from compat.cli.serving import serve
from compat.cli.streams import guarded_streams
from compat.cli.sweeping import sweep
from compat.cli.taking import with_what_is_typed
from compat.cli.tidying import tidy
from compat.cli.typed import (
    BuildArgument,
    JsonOption,
    KeepOption,
    MeasuredOption,
    ShopOption,
    UnitsOption,
)

app = typer.Typer(
    name="compat",
    cls=Group,
    help="Checks whether the parts chosen for an engine go together and hold at a power goal.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

DONE = {
    "quote": "quoted",
    "order": "ordered",
    "bring": "brought",
    "start": "written",
    "keep": "moved",
    "tidy": "put in order",
    "sheet": "made",
    "plot": "drawn",
    "find": "looked up",
    "parts": "looked up",
    "builds": "looked up",
    "quotes": "looked up",
    "history": "looked up",
    "sweep": "tried",
}
"""What a command that meets a fault leaves undone, where that is no check."""


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


@app.command(cls=Command)
def check(
    build: BuildArgument,
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    only: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--only",
            metavar="WORD",
            help="Keep to a verdict, rule, position or system of the engine, in full; may be given again.",
        ),
    ] = None,
    brief: Annotated[bool, typer.Option("--brief", help="One line a finding.")] = False,
    notes: Annotated[bool, typer.Option("--notes", help="Show the standing notes too.")] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="Show all in full: what is fine, every reason and remedy.")
    ] = False,
    loads: Annotated[bool, typer.Option("--loads", help="Show the table of loads at the goal.")] = False,
    quick: Annotated[
        bool, typer.Option("--quick", help="Tell remedies as the rules name them, without trying them.")
    ] = False,
    measured: MeasuredOption = None,
    accept_unknown: Annotated[
        bool, typer.Option("--accept-unknown", help="End with 0, not 3, where nothing but unknowns is left.")
    ] = False,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Check a build: conflicts, shortfalls, what is missing, what to measure.

    Exit status 0: goes together. 1: a conflict, a shortfall or something missing. 2: bad input. 3: not proven:
    nothing found wrong, but something is unknown.
    """
    from compat.cli.checks import run_check
    from compat.paper.terminal import View

    view = View(everything=everything, notes=notes, brief=brief, only=tuple(only or ()))
    raise typer.Exit(
        run_check(
            choose_folder(shop), not no_cache, build, units.value, view, loads, as_json, accept_unknown,
            measured or [], quick,
        )
    )  # fmt: skip


def _depth(text: str) -> int | None:
    """How many levels of a chain: None is all."""
    if text == "all":
        return None
    if not text.isdecimal() or not 1 <= int(text) <= 99:
        stop(f"--depth: '{text}' is neither a number of levels, 1 to 99, nor 'all'")
    return int(text)


@app.command(cls=Command)
def why(
    build: BuildArgument,
    rule: Annotated[str, typer.Argument(metavar="RULE", help="Id of a rule.", autocompletion=complete.rules)],
    shop: ShopOption = None,
    units: UnitsOption = UnitSystem.metric,
    depth: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--depth",
            metavar="N|all",
            help="Levels of what decides; all: the whole chain, with what does not. One level in text, all in "
            "JSON where nothing is said.",
        ),
    ] = None,
    measured: MeasuredOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show why a rule comes out as it does: the chain from verdict to specs."""
    from compat.cli.checks import run_why

    levels = _depth(depth or ("all" if as_json else "1"))
    run_why(choose_folder(shop), not no_cache, build, rule, units.value, levels, as_json, measured or [])


app.command(cls=Command)(plot)
app.command(cls=Command)(quote)
app.command(cls=Command)(order)
app.command(cls=Command)(bring)
app.command(cls=Command)(compare)
app.command(cls=Command)(fits)
app.command(cls=Command)(fix)
app.command(cls=Command)(ladder)
for counter in (find, parts, builds, quotes, history):
    app.command(cls=Command)(counter)
app.command(cls=Command)(serve)
app.command(cls=Command)(sweep)
app.command(cls=Command)(tidy)


@app.command(cls=Command)
def lint(
    shop: ShopOption = None,
    deep: Annotated[
        bool,
        typer.Option(
            "--deep",
            help="Change every spec, part, count and place of all builds alone too, and name what nobody "
            "notices. Takes minutes.",
        ),
    ] = False,
    record: Annotated[
        bool, typer.Option("--record", help="Write down the verdicts on all engines, for --since.")
    ] = False,
    since: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--since", metavar="VERSION", help="Tell which verdicts differ from those recorded then."),
    ] = None,
    notes: Annotated[
        bool, typer.Option("--notes", help="Name the rules too that look into sets not taken.")
    ] = False,
    as_sarif: Annotated[
        bool, typer.Option("--sarif", help="Print SARIF 2.1.0, for a page on which changes are reviewed.")
    ] = False,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Check a whole shop's files: faults, and what looks like an oversight.

    Exit status 0: clean. 1: remarks. 2: faults.
    """
    if record or since is not None:
        from compat.cli.since import hold_apart, run_record, run_since

        hold_apart(record, since is not None, deep, as_sarif, as_json)
        if since is not None:
            raise typer.Exit(run_since(choose_folder(shop), not no_cache, since, as_json))
        run_record(choose_folder(shop), not no_cache)
        return
    from compat.cli.shops import run_lint

    raise typer.Exit(run_lint(choose_folder(shop), not no_cache, as_json, deep, as_sarif, notes))


@app.command(cls=Command)
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
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show a part, variant, position, feature, work, joint, supplier, build, rule or figure."""
    from compat.cli.shops import run_show

    run_show(choose_folder(shop), not no_cache, name, units.value, as_json)


@app.command(cls=Command)
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
    find: Annotated[
        str, typer.Option("--find", metavar="WORD", help="List only formulas with this word in them.")
    ] = "",
    units: UnitsOption = UnitSystem.metric,
    as_json: JsonOption = False,
) -> None:
    """Run a formula at the bench. With no values it says what it takes."""
    from compat.cli.calc import run_calc

    run_calc(formula, values or [], find, units.value, as_json)


app.command(cls=Command)(sheet)


@app.command(cls=Command)
def schemas(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write into.")],
    shop: ShopOption = None,
) -> None:
    """Write the JSON Schemas of every kind of file entry, with the ids of the shop, and of the reports."""
    from compat.cli.shops import run_schemas

    run_schemas(folder, choose_folder(shop))


app.command(cls=Command)(start)
app.command(cls=Command)(needs)
app.command(cls=Command)(keep)


def run() -> NoReturn:
    """Run the command line as a process of its own."""
    # matrices of formulas are small: threads would spin beside them, and never be given work
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    status: object = 0
    try:
        main()
    except SystemExit as end:
        status = end.code
    _keep_answers()
    # taking a shop apart object by object takes longer than reading it, and nobody would see it
    os._exit(status if isinstance(status, int) else int(status is not None))


def _keep_answers() -> None:
    """Keep what the command asked of heavy formulas, now that its own answer is out."""
    # not read where no shop was opened: there is nothing to keep then
    if (kept := sys.modules.get("compat.library.kept_answers")) is not None:
        kept.write_answers()


def main() -> None:
    """Run the command line; every known kind of failure is a message and exit status 2."""
    with guarded_streams():
        _run()


def _run() -> None:
    from compat.shop.source import Fault, Faults, Spot

    try:
        try:
            with_what_is_typed(app)(prog_name="compat", terminal_width=width())
        finally:
            sys.stdout.flush()  # here, so that a full disk is told of
    except Faults as found:
        for fault in found.faults:
            print(fault, file=sys.stderr)
        count = len(found.faults)
        print(f"{count} fault{'s' * (count != 1)}; nothing was {_done()}.", file=sys.stderr)
        sys.exit(2)
    except RecursionError:
        stop("the figures of the rulebook rest on one another too deep to be worked out")
    except OSError as error:
        stop(str(Fault(Spot(str(error.filename or "compat"), 0), error.strerror or str(error))))


def _done() -> str:
    """What the command that was typed would have done."""
    typed = next((word for word in sys.argv[1:] if not word.startswith("-")), "")
    return DONE.get(typed, "checked")


__all__ = ["app", "main", "run"]
