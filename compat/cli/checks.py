"""The commands `check` and `why`."""

from __future__ import annotations

from pathlib import Path

from compat.checking.check import Checked, check
from compat.checking.library import find_build, load
from compat.checking.reasons import reasons
from compat.cli.options import console, stop
from compat.shop.source import nearest

__all__ = ["run_check", "run_why"]


def run_check(folder: Path, name: str, system: str, everything: bool, loads: bool, as_json: bool) -> int:
    """Check a build and print the report; gives the exit status."""
    checked = _checked(folder, name)
    if loads:
        from compat.checking.loads import loads_table

        checked.report.figures = loads_table(checked.world)
    if as_json:
        from compat.paper.schemas import report_json

        print(report_json(checked.report))
    else:
        from compat.paper.terminal import print_report

        print_report(console(), checked.report, system, everything)
        if loads:
            from compat.paper.loads import print_loads

            print_loads(console(), checked.report, system)
    return 0 if checked.report.clean else 1


def _checked(folder: Path, name: str) -> Checked:
    library = load(folder)
    return check(library.shop, library.book, find_build(library, name))


def run_why(folder: Path, name: str, rule: str, system: str) -> None:
    """Print the chain of reasons behind one rule on one build."""
    from rich.padding import Padding
    from rich.text import Text

    from compat.paper.sentences import chain
    from compat.paper.terminal import STYLES, sentence

    checked = _checked(folder, name)
    book = checked.world.settled.book
    findings = [finding for finding in checked.report.findings if finding.rule == rule]
    bound = book.rules.get(rule)
    if bound is None and not findings:
        known = [*book.rules, *(finding.rule for finding in checked.report.findings)]
        stop(f"rule '{rule}' is not known{nearest(rule, known)}")
    out = console()
    for finding in findings:
        out.print(Text(f"{finding.verdict.upper()}: {finding.title}", style=STYLES[finding.verdict]))
        out.print(Padding(Text(sentence(finding, system)), (0, 0, 0, 2), expand=False))
        if finding.contributor:
            out.print(Padding(Text(f"The tolerance of {finding.contributor} contributes most."), (0, 0, 0, 2), expand=False))
    if not findings:
        out.print(Text(f"The rule does not apply to {checked.report.build}."))
    if bound is not None:
        if bound.rule.where:
            out.print(Padding(Text(f"It applies where {bound.rule.where}."), (0, 0, 0, 2), expand=False))
        for depth, text in chain(reasons(checked.world, bound), system):
            out.print(Padding(Text(text), (0, 0, 0, 2 + 2 * depth), expand=False))
    for finding in findings[:1]:
        out.print()
        out.print(Text(f"Why it matters: {finding.why}"))
        out.print(Text(f"Source: {finding.source}.", style="dim"))
    for finding in findings:
        for remedy in finding.remedies:
            out.print(Text(f"-> {remedy}"))
