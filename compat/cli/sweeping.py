"""The command `sweep`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli import complete
from compat.cli.counted import STOPPED, Counted
from compat.cli.options import choose_folder, open_chosen, stop
from compat.cli.typed import CoresOption, JsonOption, KeepOption, OutOption, ShopOption
from compat.record import record

__all__ = ["sweep"]


def sweep(
    builds: Annotated[
        list[str],
        typer.Argument(
            metavar="FAMILY|BUILD",
            help="Families, which stand for all their variants, variants and builds.",
            autocompletion=complete.builds,
        ),
    ],
    over: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--over",
            metavar="POSITION",
            help="Where every part of the shop is tried; may be given again.",
            autocompletion=complete.positions,
        ),
    ] = None,
    power: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            "--power", metavar="POWER", help='A goal, like "250 kW"; may be given again. Else each one\'s own.'
        ),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Tell also what does not go together.")] = False,
    resume: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option(
            "--resume",
            metavar="DIR",
            parser=Path,
            help="Keep what is done in this folder, and go on with what is there from before.",
        ),
    ] = None,
    cores: CoresOption = 0,
    scheduler: Annotated[
        str,
        typer.Option(
            "--scheduler",
            metavar="ADDRESS",
            help="Let the workers of this Dask scheduler do it, like tcp://10.0.0.5:8786. It runs what it is "
            "sent: use one that you trust, on a network that you trust.",
        ),
    ] = "",
    shop: ShopOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Try parts in many engines at many goals: which rods stand 250 kW in which variants.

    Every combination is judged by all rules but needs and renewals; `check` looks at those.

    Exit status 0: done. 2: bad input, or nobody to do it. 130: stopped; what is done is kept with --resume.
    """
    if scheduler and cores:
        stop("--cores: with --scheduler the work is done by its workers; leave one of the two out")
    asked = AskedSweep(tuple(builds), tuple(over or ()), tuple(power or ()), everything)
    hands = Hands(cores, scheduler, resume)
    raise typer.Exit(_run_sweep(choose_folder(shop), not no_cache, asked, hands, out or (), as_json))


@record
class AskedSweep:
    """What is to be tried, as it was typed."""

    builds: tuple[str, ...]
    over: tuple[str, ...]
    powers: tuple[str, ...]
    everything: bool


@record
class Hands:
    """Who does it, and where what is done is kept."""

    cores: int
    scheduler: str
    resume: Path | None


def _run_sweep(
    folder: Path, keep: bool, asked: AskedSweep, hands: Hands, out: Sequence[Path], as_json: bool
) -> int:
    """Sweep; gives the exit status."""
    from contextlib import ExitStack
    from tempfile import TemporaryDirectory

    from compat.cli.outs import check_outs, give
    from compat.paper.many import PARQUET, sweep_document
    from compat.planning.jobs import jobs_of
    from compat.planning.many import on_cores, run
    from compat.planning.processes import worth_beginning
    from compat.shop.source import Faults

    paths = check_outs(out, PARQUET)
    over = tuple(dict.fromkeys(asked.over))  # as the jobs have them
    jobs = jobs_of(open_chosen(folder, keep).shop, asked.builds, over, asked.powers)
    if hands.scheduler:
        from compat.planning.over_scheduler import on_scheduler

        spread = on_scheduler(folder, hands.scheduler)
    else:
        spread = on_cores(folder, hands.cores or worth_beginning(len(jobs)), keep)
    counted = Counted()
    with ExitStack() as stack:
        place = hands.resume or Path(stack.enter_context(TemporaryDirectory(prefix="compat-sweep-")))
        then = "what is done is kept, and the same command goes on from there"
        if not hands.resume:
            then = "nothing is kept; --resume DIR keeps what is done"
        try:
            found = counted.unless_stopped(lambda: run(folder, jobs, place, spread, counted), then)
        except Faults as faults:
            if not hands.resume or not counted.done:
                raise
            stop(*map(str, faults.faults), f"{counted.done} of {counted.of} are done; {then}.")
    if found is None:
        return STOPPED
    give(sweep_document(found, over, asked.everything), paths, as_json, PARQUET)
    return 0
