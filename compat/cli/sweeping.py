"""The command `sweep`."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli import complete
from compat.cli.options import choose_folder, open_chosen
from compat.cli.outs import check_outs, give
from compat.cli.typed import JsonOption, KeepOption, OutOption, ShopOption

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
    cores: Annotated[
        int, typer.Option("--cores", metavar="N", help="So many processes; else one a core.", min=0, max=256)
    ] = 0,
    shop: ShopOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Try parts in many engines at many goals: which rods stand 250 kW in which variants.

    Every combination is judged by all rules but needs and renewals; `check` looks at those.
    """
    _run_sweep(
        choose_folder(shop), not no_cache, builds, over or (), power or (), everything, resume,
        cores or os.cpu_count() or 1, out or (), as_json,
    )  # fmt: skip


def _run_sweep(
    folder: Path,
    keep: bool,
    builds: Sequence[str],
    over: Sequence[str],
    powers: Sequence[str],
    everything: bool,
    resume: Path | None,
    cores: int,
    out: Sequence[Path],
    as_json: bool,
) -> None:
    from contextlib import ExitStack
    from tempfile import TemporaryDirectory

    from compat.paper.many import PARQUET, sweep_document
    from compat.planning.many import jobs_of, run

    paths = check_outs(out, PARQUET)
    jobs = jobs_of(open_chosen(folder, keep).shop, builds, over, powers)

    def progress(done: int, of: int) -> None:
        if sys.stderr.isatty():
            print(f"\r{done} of {of} done ", end="\n" if done == of else "", file=sys.stderr, flush=True)

    with ExitStack() as stack:
        place = resume or Path(stack.enter_context(TemporaryDirectory(prefix="compat-sweep-")))
        found = run(folder, jobs, place, cores, keep, progress)
    give(sweep_document(found, over, everything), paths, as_json, PARQUET)
