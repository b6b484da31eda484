"""A report on a terminal: the answer first, then what stands against it by its causes, then the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from compat.checking.worth import most_telling
from compat.paper.causes import Background, Cause, Choice, Section, by_weight, sections
from compat.paper.extras import counted_part, print_extras
from compat.paper.findings import STYLES, in_short, print_brief, print_finding, print_short
from compat.paper.lines import print_heading, print_indented, print_rows, print_run_in
from compat.record import record
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.units import show
from compat.words.house import judged_by
from compat.words.report import Finding, Report

if TYPE_CHECKING:
    from compat.paper.screen import Console
    from compat.words.remedying import Remedier

__all__ = ["CAUTION", "View", "answer", "circumstances", "print_report", "section_text"]

CAUTION = (
    "Advice on stated figures, no warranty: the makers' instructions and local law come first, and a "
    "named, qualified person signs the measured sheet before the engine runs."
)
_SAY = {
    "conflict": ("conflict", "conflicts"),
    "shortfall": ("shortfall", "shortfalls"),
    "missing": ("thing missing", "things missing"),
    "unknown": ("open question", "open questions"),
    "measure": ("fit to measure", "fits to measure"),
    "caution": ("caution", "cautions"),
    "ok": ("check fine", "checks fine"),
}
FEW = 12
"""So many findings are told in full at once."""


@record
class View:
    """How much of a report is told."""

    everything: bool = False
    """Each finding in full, with what is fine and the standing notes."""
    notes: bool = False
    """The standing notes too."""
    brief: bool = False
    """A line for each finding and nothing else."""
    only: Sequence[str] = ()
    """Verdicts, rules, positions and systems to keep to, in full."""


def answer(report: Report) -> str:
    """The whole report in one line.

    Parameters
    ----------
    report : Report
        The report.

    Returns
    -------
    str
        Whether it goes together at the goal, and the count of what stands against it.

    Examples
    --------
    >>> from compat.words.report import Summary
    >>> answer(Report("mule", "", "", {}, Summary("conflict", conflict=2, caution=1), [], [], [], [], []))
    'mule does NOT go together: 2 conflicts.'
    """
    counts = report.summary.counts
    scope = f" ({report.scoped.scope.replace('_', ' ')} only)" if report.scoped is not None else ""
    what = f"{report.build}{scope}"
    if not report.clean:
        return f"{what} does NOT go together: {_counted(counts, (*AGAINST, 'unknown'))}."
    if not report.summary.proven:
        return f"{what} is NOT proven: nothing found wrong, but {count_of('unknown', counts)}."
    return f"{what} goes together: nothing conflicts, falls short or is missing."


def circumstances(report: Report, system: str = "metric") -> str:
    """The goal that was held against the build, and the count of what else was found."""
    counts = report.summary.counts
    rest = _counted(counts, ("measure", "caution"))
    return f"Goal: {goal_text(report, system)}." + (f" To see to as well: {rest}." if rest else "")


def _counted(counts: Mapping[Verdict, int], verdicts: Iterable[Verdict]) -> str:
    return ", ".join(count_of(verdict, counts) for verdict in verdicts if counts[verdict])


def section_text(section: Section) -> str:
    """What findings that are told together have in common, as a heading."""
    if section.cause is not None:
        return cause_text(section.cause)
    what = "THIS ENGINE CANNOT MAKE THE GOAL" if section.verdict is None else section.verdict.upper()
    return f"{what} ({len(section.findings)})"


def cause_text(cause: Cause) -> str:
    """A part and what hangs on it, as a heading."""
    counts = Counter(finding.verdict for finding in cause.findings)
    what = f"{cause.part} ({cause.position})" if cause.part else "Each on its own"
    return f"{what}: {_counted(counts, [verdict for verdict in AGAINST if counts[verdict]])}"


def count_of(verdict: Verdict, counts: Mapping[Verdict, int]) -> str:
    """Count and word of a verdict."""
    number = counts[verdict]
    return f"{number} {_SAY[verdict][number != 1]}"


def goal_text(report: Report, system: str) -> str:
    """The goal as words."""
    from compat.units import read_band

    goal = report.goal
    power = show(read_band(goal["power"]).nominal, "kW", system)
    speed = show(read_band(goal["speed"]).nominal, "rpm", system)
    text = f"{power} at {speed}"
    if goal.get("torque"):
        text += f", {show(read_band(goal['torque']).nominal, 'N*m', system)}"
    if goal.get("boost"):
        text += f", {show(read_band(goal['boost']).nominal, 'kPa', system)} boost"
    if goal.get("fuel"):
        text += f", {goal['fuel']}"
    return f"{text}, {goal['duty']}"


def print_report(
    console: Console,
    report: Report,
    system: str = "metric",
    view: View | None = None,
    background: Background | None = None,
    trying: Remedier | None = None,
) -> None:
    """Print a report.

    Parameters
    ----------
    console : Console
        Where to.
    report : Report
        What; its figures are printed as a table of loads when it has them.
    system : str
        ``metric`` or ``imperial``.
    view : View
        How much of it.
    background : Background
        Systems of the positions, rules and standing notes of the shop.
    trying : Remedier, optional
        Tries the remedies of what is told; without it they stand as the rules name them.
    """
    _Printer(console, report, system, view or View(), background or Background(), trying).run()


class _Printer:
    def __init__(
        self,
        console: Console,
        report: Report,
        system: str,
        view: View,
        background: Background,
        trying: Remedier | None,
    ) -> None:
        self.console, self.report, self.system, self.view = console, report, system, view
        self.trying = trying
        self.choice = Choice(view.only, report, background)
        asked = [finding for finding in report.findings if self.choice.holds(finding)]
        self.background = background
        self.findings = by_weight(filter(self.told, asked), background)
        self.folded = sum(background.is_note(finding) and not self.told(finding) for finding in asked)
        self.added = [(f"{work.name} (work {work.work},", f"work {work.work}") for work in report.extra_work]
        self.added += [(f"Add {part.part} ", f"add {counted_part(part)}") for part in report.extra_parts]
        """What the check adds to the build, by how the remedy begins that names it."""
        self.named: set[str] = set()
        """What findings said that is to be added; it is not said again."""
        self.full = view.everything or bool(self.choice) or len(self.findings) <= FEW

    def told(self, finding: Finding) -> bool:
        if self.view.everything or self.choice.names_rule(finding):
            return True
        if self.background.is_note(finding):
            return self.view.notes
        return finding.verdict != "ok" or "ok" in self.view.only

    def run(self) -> None:
        proven = "bold green" if self.report.summary.proven else "bold yellow"
        style = proven if self.report.clean else "bold red"
        print_indented(self.console, answer(self.report), 0, style)
        print_indented(self.console, circumstances(self.report, self.system), 0)
        if self.view.brief:
            self.console.print()
            for finding in self.findings:
                print_brief(self.console, finding, self.few_words(finding))
        else:
            self.sections()
        if self.report.figures:
            from compat.paper.loads import print_loads

            print_loads(self.console, self.report, self.system)
        self.close()

    def sections(self) -> None:
        for section in sections(self.report, self.findings, self.background):
            if section.cause is not None:
                self.cause(section.cause)
            else:
                verdict = section.verdict or "shortfall"
                print_heading(self.console, section_text(section), STYLES[verdict])
                self.each(section.findings)
        if self.report.measured is not None and not self.choice:
            from compat.paper.measured import print_measured

            print_measured(self.console, self.report.measured, self.system)
        if not self.choice:
            print_extras(self.console, self.report, reasons=self.full, told=self.named)
            self.next_measured()

    def next_measured(self) -> None:
        """Where much is not stated: what to measure first."""
        if not self.background.measured:
            return
        telling = most_telling({entry.spec: entry.rules for entry in self.report.unknown})
        print_heading(self.console, "WORTH MEASURING NEXT, with how many verdicts hang on each")
        how = self.background.measured
        print_rows(self.console, [(str(count), spec, how.get(spec, "")) for spec, count in telling])

    def cause(self, cause: Cause) -> None:
        counts: Counter[str] = Counter(finding.verdict for finding in cause.findings)
        worst = next(verdict for verdict in VERDICTS if counts[verdict])
        print_heading(self.console, cause_text(cause), STYLES[worst])
        for verdict in AGAINST:
            found = [finding for finding in cause.findings if finding.verdict == verdict]
            alone = len(found) == 1 and len(counts) > 1 and not self.full
            if found and len(counts) > 1 and not alone:
                print_indented(self.console, f"{verdict.upper()} ({len(found)})", 1, STYLES[verdict])
            self.each(found, named=alone)
        if not self.full and cause.part:
            self.ways_out(cause)

    def ways_out(self, cause: Cause) -> None:
        """What clears most findings of a cause; where nothing was tried, what most of them name."""
        if self.trying is not None:
            for way in self.trying.of_cause(cause.position, (finding.rule for finding in cause.findings)):
                print_indented(self.console, f"-> {way.says}", 1)
            return
        count = Counter(remedy for finding in cause.findings for remedy in dict.fromkeys(finding.remedies))
        if often := [(remedy, number) for remedy, number in count.most_common(3) if number > 2]:
            text = "; ".join(f"{remedy.rstrip('.')} ({number} name it)" for remedy, number in often)
            print_indented(self.console, f"-> {text}", 1)

    def each(self, findings: Sequence[Finding], named: bool = False) -> None:
        """Tell findings; named: each by its verdict too, where no heading does."""
        if self.full:
            for finding in findings:
                print_finding(self.console, self.trying.finding(finding) if self.trying else finding)
            return
        renewals = [finding for finding in findings if self.background.kinds.get(finding.rule) == "renew"]
        folded = renewals if len(renewals) > 1 else []
        for finding in findings:
            if finding not in folded:
                print_short(self.console, finding, self.few_words(finding), named=named)
        if folded:
            rules = ", ".join(finding.rule for finding in folded)
            head = f"{len(folded)} opened joints whose seals and bolts are not renewed"
            says = "order the extra parts and write `renew: all` in the build"
            print_run_in(self.console, [(head, "bold"), (f"[{rules}]", "dim"), (says, "")], 1)

    def few_words(self, finding: Finding) -> str:
        """What is said of a finding behind its title."""
        match self.background.kinds.get(finding.rule, "need"):
            case "need" if finding.verdict != "ok" and finding.remedies:
                first = finding.remedies[0]
                for start, says in self.added:
                    if first.startswith(start):
                        self.named.add(start.split()[1])
                        return says
                return in_short(finding, self.system)
            case "renew":
                return ""  # the title says what is done, and the extra parts what it takes
            case "match":
                first, *more = finding.because.split("; ")
                return f"{first}; {len(more)} more" if more else first
        return in_short(finding, self.system)

    def close(self) -> None:
        self.console.print()
        for line in judged_by(self.report):
            print_indented(self.console, line, 0)
        if not self.view.brief:
            print_indented(self.console, CAUTION, 0, "dim")
        more = [] if self.view.everything else [self.more()]
        if self.folded:
            notes = f"{self.folded} standing note{'s' * (self.folded != 1)}"
            more.insert(0, f"{notes}; --notes shows {'them' if self.folded > 1 else 'it'}.")
        if more:
            print_indented(self.console, " ".join(more), 0, "dim")

    def more(self) -> str:
        """Which option shows what was left out."""
        if self.choice:
            shown, total = len(self.findings), len(self.report.findings)
            return f"{shown} of {total} findings; --all has those that are fine too, no --only all others."
        fine = self.report.summary.ok
        says = (
            f"In full, with {count_of('ok', self.report.summary.counts)}: --all" if fine else "In full: --all"
        )
        if not self.full or self.view.brief:
            says += "; a rule, position, verdict or system of it: --only WORD"
        return f"{says}; a chain of reasons: `compat why {self.report.build} RULE`."
