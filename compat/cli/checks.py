"""The commands `check` and `why`."""

from __future__ import annotations

from pathlib import Path

from compat.checking.check import Checked, check
from compat.cli.options import console, stop
from compat.library.library import find_build, load
from compat.shop.source import nearest
from compat.words.reasons import reasons
from compat.words.reporting import report

__all__ = ["run_check", "run_why"]


def run_check(folder: Path, name: str, system: str, everything: bool, loads: bool, as_json: bool) -> int:
    """Check a build and print the report; gives the exit status."""
    checked = _checked(folder, name)
    said = report(checked, system, loads=loads)
    if as_json:
        from compat.paper.schemas import report_json

        print(report_json(said))
    else:
        from compat.paper.terminal import print_report

        print_report(console(), said, system, everything)
    return 0 if checked.clean else 1


def _checked(folder: Path, name: str) -> Checked:
    library = load(folder)
    return check(library.shop, library.book, find_build(library, name))


def run_why(folder: Path, name: str, rule: str, system: str) -> None:
    """Print the chain of reasons behind one rule on one build."""
    from compat.paper.sentences import chain, contributor_text
    from compat.paper.terminal import STYLES, print_indented, sentence
    from compat.words.wording import readable

    checked = _checked(folder, name)
    book = checked.world.settled.book
    every = report(checked, system).findings
    findings = [finding for finding in every if finding.rule == rule]
    bound = book.rules.get(rule)
    if bound is None and not findings:
        known = [*book.rules, *(finding.rule for finding in every)]
        stop(f"rule '{rule}' is not known{nearest(rule, known)}")
    out = console()
    for finding in findings:
        print_indented(out, f"{finding.verdict.upper()}: {finding.title}", 0, STYLES[finding.verdict])
        print_indented(out, sentence(finding), 1)
        if finding.contributor:
            print_indented(out, contributor_text(finding.contributor, checked.world.settled.shop), 1)
    if not findings:
        print_indented(
            out,
            f"The rule does not apply to {checked.world.settled.build.build}: "
            f"{bound.rule.title if bound else rule}.",
            0,
        )
    if bound is not None:
        if bound.rule.where:
            where = readable(checked.world.settled.shop, bound.rule.where)
            print_indented(out, f"It {'applies' if findings else 'would apply'} where {where}.", 1)
        for depth, text in chain(reasons(checked.world, bound, system), system):
            print_indented(out, text, 1 + depth)
        print_indented(out, f"Why it matters: {bound.rule.why}", 0)
        print_indented(out, f"Source: {bound.rule.source}.", 0, "dim")
    elif findings:
        print_indented(out, f"Why it matters: {findings[0].why}", 0)
        print_indented(out, f"Source: {findings[0].source}.", 0, "dim")
    for remedy in dict.fromkeys(remedy for finding in findings for remedy in finding.remedies):
        print_indented(out, f"-> {remedy}", 0)
