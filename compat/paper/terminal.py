"""A report on a terminal: the answer first, then what stands against it, worst first."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING

from compat.checking.report import Finding, Report
from compat.rulebook.models import VERDICTS
from compat.units import preferred, show, unit

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["CAUTION", "STYLES", "answer", "print_indented", "print_report", "print_rows", "sentence"]

STYLES = {
    "conflict": "bold red",
    "shortfall": "red",
    "missing": "magenta",
    "unknown": "yellow",
    "measure": "cyan",
    "caution": "yellow",
    "ok": "green",
}
CAUTION = (
    "Advice on stated figures, no warranty: the makers' instructions and local law come first, and a "
    "named, qualified person signs the measured sheet before the engine runs."
)
_SAY = {
    "conflict": ("conflict", "conflicts"),
    "shortfall": ("shortfall", "shortfalls"),
    "missing": ("thing missing", "things missing"),
    "unknown": ("spec question open", "spec questions open"),
    "measure": ("fit to measure", "fits to measure"),
    "caution": ("caution", "cautions"),
    "ok": ("check fine", "checks fine"),
}


def answer(report: Report, system: str = "metric") -> str:
    """The whole report in one line.

    Parameters
    ----------
    report : Report
        The report.
    system : str
        ``metric`` or ``imperial``.

    Returns
    -------
    str
        Whether it goes together at the goal, and the count of what stands against it.
    """
    counts = report.summary.counts
    against = [count_of(verdict, counts) for verdict in VERDICTS if verdict != "ok" and counts[verdict]]
    if not report.clean:
        lead = "does NOT go together as it stands"
    elif counts["unknown"]:
        lead = "goes together as far as it is known"
    else:
        lead = "goes together"
    listing = ", ".join(against) or "nothing stands against it"
    return f"{report.build}: {lead} for {goal_text(report, system)}: {listing}."


def most_involved(report: Report) -> list[tuple[str, int]]:
    """The changed parts that most findings against the build speak of, with their count."""
    from collections import Counter

    changed = set(report.changed.values())
    count = Counter(
        part
        for finding in report.findings
        if finding.verdict in ("conflict", "shortfall", "missing")
        for part in finding.parts
        if part in changed
    )
    return [(part, number) for part, number in count.most_common(4) if number > 1]


def count_of(verdict: str, counts: dict[str, int]) -> str:
    """Count and word of a verdict."""
    number = counts[verdict]
    return f"{number} {_SAY[verdict][number != 1]}"


def goal_text(report: Report, system: str) -> str:
    """The goal as words."""
    from compat.units import read_band

    goal = report.goal
    power = show(read_band(goal["power"]).nominal, "kW", system)
    speed = show(read_band(goal["speed"]).nominal, "rpm", system)
    boost = f", {show(read_band(goal['boost']).nominal, 'kPa', system)} boost" if goal.get("boost") else ""
    fuel = f" on {goal['fuel']}" if goal.get("fuel") else ""
    return f"{power} at {speed}{boost}{fuel}, {goal['duty']}"


def print_report(console: Console, report: Report, system: str = "metric", everything: bool = False) -> None:
    """Print a report.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    report : Report
        What.
    system : str
        ``metric`` or ``imperial``.
    everything : bool
        Show also what is fine.
    """
    from rich.text import Text

    style = "bold green" if report.clean else "bold red"
    print_indented(console, answer(report, system), 0, style)
    if roots := most_involved(report):
        print_indented(
            console, f"Most of it hangs on: {', '.join(f'{part} ({count})' for part, count in roots)}.", 0
        )
    for verdict in VERDICTS:
        found = [finding for finding in report.findings if finding.verdict == verdict]
        if not found or (verdict == "ok" and not everything):
            continue
        console.print()
        console.print(Text(f"{verdict.upper()} ({len(found)})", style=STYLES[verdict]))
        for finding in found:
            print_finding(console, finding, system)
    print_extras(console, report)
    print_unknown(console, report)
    console.print()
    print_indented(console, CAUTION, 0, "dim")
    if not everything and report.summary.counts["ok"]:
        fine = count_of("ok", report.summary.counts)
        print_indented(
            console, f"{fine}; --all shows them, `compat why {report.build} RULE` shows a chain.", 0, "dim"
        )


def print_finding(console: Console, finding: Finding, system: str) -> None:
    """Print one finding: title, figures, remedies."""
    from rich.text import Text

    head = Text("  ")
    head.append(finding.title, style="bold")
    head.append(f"  [{finding.rule}]", style="dim")
    console.print(head)
    body = sentence(finding, system)
    if finding.rests_on_estimate and finding.verdict != "ok":
        body += f" Rests on an estimate: {', '.join(finding.rests_on_estimate)}."
    print_indented(console, body, 2)
    most = {"ok": 0, "caution": 0, "measure": 2}.get(finding.verdict, 4)
    for remedy in finding.remedies[:most]:
        print_indented(console, f"-> {remedy}", 2)


def print_indented(console: Console, text: str, depth: int, style: str = "") -> None:
    """Print a sentence folded to the window, indented by its depth."""
    from textwrap import wrap

    from rich.text import Text

    indent = " " * min(2 * depth, console.width // 3)
    hang = indent + "   " * text.startswith("-> ")
    lines = wrap(
        text, max(console.width, 20), initial_indent=indent, subsequent_indent=hang, break_on_hyphens=False
    )
    for line in lines or [""]:
        console.print(Text(line, style=style), soft_wrap=True)


def sentence(finding: Finding, system: str) -> str:
    """The finding's sentence, in the reader's units."""
    text = finding.because[:1].upper() + finding.because[1:]
    if system == "imperial" and finding.unit and preferred(finding.unit, system) != finding.unit:
        text = _imperial(finding, system) or text
    return text if text.endswith(".") else text + "."


def _imperial(finding: Finding, system: str) -> str:
    own = unit(finding.unit)

    def say(number: float) -> str:
        return show(own.to_si(number), finding.unit, system)

    if finding.value is not None:
        text = say(finding.value)
        if finding.low is not None and finding.high is not None and finding.low != finding.high:
            text += f" ({say(finding.low)} to {say(finding.high)})"
        if finding.at_least is not None:
            text += f", at least {say(finding.at_least)}"
        if finding.at_most is not None:
            text += f", at most {say(finding.at_most)}"
        return text
    if finding.load is not None and finding.capacity is not None and finding.headroom is not None:
        asked = f", asked {finding.headroom_asked:.0%}" if finding.headroom_asked is not None else ""
        return (
            f"{say(finding.capacity)} against a load of {say(finding.load)}: "
            f"headroom {finding.headroom:.0%}{asked}"
        )
    return ""


def print_extras(console: Console, report: Report) -> None:
    """Print what the build forces: parts, work, joints."""
    from rich.text import Text

    if report.extra_parts:
        console.print()
        console.print(Text(f"EXTRA PARTS ({len(report.extra_parts)})", style="bold"))
        rows = [(f"{p.count} x", p.part, p.because) for p in report.extra_parts]
        print_rows(console, rows)
    if report.extra_work:
        console.print()
        hours = sum((Decimal(entry.hours) for entry in report.extra_work), Decimal(0))
        console.print(Text(f"EXTRA WORK ({len(report.extra_work)}, {hours} h)", style="bold"))
        print_rows(console, [(f"{w.hours} h", w.work, w.because) for w in report.extra_work])
    if report.opened_joints:
        console.print()
        console.print(Text(f"JOINTS OPENED ({len(report.opened_joints)})", style="bold"))
        print_rows(console, [("", joint.name, joint.because) for joint in report.opened_joints])


def print_rows(console: Console, rows: Iterable[tuple[str, str, str]]) -> None:
    """Print rows of three columns that fold in a narrow window."""
    from rich.table import Table

    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(overflow="fold")
    table.add_column(overflow="fold", style="dim")
    for first, second, third in rows:
        table.add_row(f"  {first}", second, third)
    console.print(table)


def print_unknown(console: Console, report: Report) -> None:
    """Print what is not stated and should be measured."""
    from rich.text import Text

    if not report.unknown:
        return
    console.print()
    console.print(Text(f"NOT STATED, TO BE MEASURED ({len(report.unknown)})", style="bold"))
    print_rows(
        console,
        [("", entry.spec, f"{entry.part}; asked by {', '.join(entry.rules)}") for entry in report.unknown],
    )
