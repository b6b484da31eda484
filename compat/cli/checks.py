"""The commands `check` and `why`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from compat.checking.answers import Answers
from compat.checking.check import Checked, check
from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.paper.causes import Choice, background_of
from compat.paper.terminal import View, print_report
from compat.shop.source import nearest
from compat.words.reporting import report

if TYPE_CHECKING:
    from compat.words.remedying import Remedier

__all__ = ["checked_build", "run_check", "run_why"]


def run_check(
    folder: Path,
    keep: bool,
    name: str,
    system: str,
    view: View,
    loads: bool,
    as_json: bool,
    accept_unknown: bool,
    measured: Sequence[Path] = (),
    quick: bool = False,
) -> int:
    """Check a build and print the report; gives the exit status."""
    if as_json and (view.only or view.brief or view.notes):
        stop("--json gives the whole report; --only, --brief and --notes are for the text")
    checked = checked_build(folder, keep, name, measured)
    fine = as_json or loads or view.everything or bool(view.only)
    said = report(checked, system, loads=loads, fine=fine, named=quick)
    background = background_of(checked.world, [entry.spec for entry in said.unknown])
    if checked.world.gauged:
        from compat.bench.results import measured_pieces, results

        said = replace(said, measured=measured_pieces(results(checked)))
    choice = Choice(view.only, said, background)
    if choice.unknown:
        known = [word for words in choice.known.values() for word in words]
        stop(*(
            f"--only: '{word}' is no rule, position, verdict or system{nearest(word, known)}"
            for word in choice.unknown
        ))  # fmt: skip
    thorough = as_json or view.everything or bool(view.only)
    trying = None if quick else _remedier(checked, system, thorough)
    if as_json:
        from compat.paper.schemas import report_json

        print(report_json(trying.report(said) if trying is not None else said))
    else:
        from compat.cli.console import console

        print_report(console(), said, system, view, background, trying)
    if not checked.clean:
        return 1
    return 0 if checked.proven or accept_unknown else 3


def checked_build(folder: Path, keep: bool, name: str, measured: Sequence[Path] = ()) -> Checked:
    """Open the shop and check a build of it, with what was measured."""
    library = open_chosen(folder, keep, [name])
    ready = named_build(library, name)
    if measured:
        ready = ready.measuring(*measured)
    return check(library.shop, library.book, ready, Answers(behind=library.answers))


def _remedier(checked: Checked, system: str, thorough: bool) -> Remedier | None:
    from compat.words.remedying import Remedier

    return Remedier(checked, system, thorough=thorough) if checked.verdict != "ok" else None


def run_why(
    folder: Path,
    keep: bool,
    name: str,
    rule: str,
    system: str,
    depth: int | None,
    as_json: bool,
    measured: Sequence[Path] = (),
) -> None:
    """Print the chain of reasons behind one rule on one build, so many levels of it; None is all."""
    from compat.paper.why import explained, print_why

    checked = checked_build(folder, keep, name, measured)
    said = report(checked, system)
    known = [*checked.world.settled.book.rules, *(finding.rule for finding in said.findings)]
    if rule not in known:
        stop(f"rule '{rule}' is not known{nearest(rule, known)}")
    found = explained(said, checked.world, rule, system, depth)
    if as_json:
        from compat.paper.schemas import why_json

        print(why_json(found))
    else:
        from compat.cli.console import console

        print_why(console(), found, system)
