"""A report on a terminal: the answer first, then what stands against it, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from compat.rulebook.models import VERDICTS
from compat.units import show
from compat.words.report import Finding, Report

if TYPE_CHECKING:
    from rich.console import Console

__all__ = [
    "CAUTION",
    "STYLES",
    "answer",
    "print_heading",
    "print_indented",
    "print_report",
    "print_rows",
    "sentence",
]

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
    "unknown": ("question open for want of a spec", "questions open for want of a spec"),
    "measure": ("fit to measure", "fits to measure"),
    "caution": ("caution", "cautions"),
    "ok": ("check fine", "checks fine"),
}
_AGAINST = ("conflict", "shortfall", "missing")
_REMEDIES_SHOWN = {"ok": 0, "caution": 1, "measure": 2}
"""How many remedies a finding shows, four where nothing is said; `why` shows all."""


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
    if not report.clean:
        return f"{report.build} does NOT go together: {_counted(counts, _AGAINST)}."
    if counts["unknown"]:
        return f"{report.build} goes together as far as it is known: {count_of('unknown', counts)}."
    return f"{report.build} goes together: nothing conflicts, falls short or is missing."


def circumstances(report: Report, system: str = "metric") -> str:
    """The goal that was held against the build, and the count of what else was found."""
    counts = report.summary.counts
    shown = _AGAINST if not report.clean else ("unknown",)
    rest = _counted(counts, [verdict for verdict in VERDICTS if verdict not in (*shown, "ok")])
    return f"Goal: {goal_text(report, system)}." + (f" To see to as well: {rest}." if rest else "")


def _counted(counts: dict[str, int], verdicts: Iterable[str]) -> str:
    return ", ".join(count_of(verdict, counts) for verdict in verdicts if counts[verdict])


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
    text = f"{power} at {speed}"
    if goal.get("torque"):
        text += f", {show(read_band(goal['torque']).nominal, 'N*m', system)}"
    if goal.get("boost"):
        text += f", {show(read_band(goal['boost']).nominal, 'kPa', system)} boost"
    if goal.get("fuel"):
        text += f", {goal['fuel']}"
    return f"{text}, {goal['duty']}"


def print_report(console: Console, report: Report, system: str = "metric", everything: bool = False) -> None:
    """Print a report.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    report : Report
        What; its figures are printed as a table of loads when it has them.
    system : str
        ``metric`` or ``imperial``.
    everything : bool
        Show also what is fine.
    """
    style = "bold green" if report.clean else "bold red"
    print_indented(console, answer(report), 0, style)
    print_indented(console, circumstances(report, system), 0)
    if roots := most_involved(report):
        listing = ", ".join(f"{part} ({count})" for part, count in roots)
        print_indented(console, f"Most of it hangs on: {listing}.", 0)
    for verdict in VERDICTS:
        found = [finding for finding in report.findings if finding.verdict == verdict]
        if not found or (verdict == "ok" and not everything):
            continue
        print_heading(console, f"{verdict.upper()} ({len(found)})", STYLES[verdict])
        for finding in found:
            print_finding(console, finding)
    print_extras(console, report)
    print_unknown(console, report)
    if report.figures:
        from compat.paper.loads import print_loads

        print_loads(console, report, system)
    console.print()
    print_indented(console, CAUTION, 0, "dim")
    if not everything and report.summary.counts["ok"]:
        fine = count_of("ok", report.summary.counts)
        print_indented(
            console, f"{fine}; --all shows them, `compat why {report.build} RULE` shows a chain.", 0, "dim"
        )


def print_heading(console: Console, text: str, style: str = "bold") -> None:
    """Print the heading of a section, set off by an empty line."""
    console.print()
    print_indented(console, text, 0, style)


def print_finding(console: Console, finding: Finding) -> None:
    """Print one finding: title, figures, remedies."""
    from rich.text import Text

    indent = "  "
    for line in wrapped(f"{finding.title}  [{finding.rule}]", console.width, indent, indent):
        title, sign, rule = line.partition("  [")
        text = Text(title, style="bold")
        text.append(sign + rule, style="dim")
        console.print(text, soft_wrap=True)
    body = sentence(finding)
    if finding.rests_on_estimate and finding.verdict != "ok":
        body += f" {estimates_text(finding.rests_on_estimate)}"
    print_indented(console, body, 2)
    for remedy in finding.remedies[: _REMEDIES_SHOWN.get(finding.verdict, 4)]:
        print_indented(console, f"-> {remedy}", 2)


def estimates_text(names: Sequence[str]) -> str:
    """The estimates a finding rests on: the first two by name, the others by their number.

    >>> estimates_text(["air_flow"]), estimates_text(["air_flow", "fuel_flow", "heat", "drop"])
    ('Rests on an estimate: air flow.', 'Rests on estimates: air flow, fuel flow and 2 more.')
    """
    words = list(dict.fromkeys(name.replace("_", " ").replace(".", " ") for name in names))
    first, rest = words[:2], len(words) - 2
    listing = ", ".join(first) + (f" and {rest} more" if rest > 0 else "")
    return f"Rests on {'an estimate' if len(words) == 1 else 'estimates'}: {listing}."


def wrapped(text: str, width: int, indent: str = "", hang: str = "") -> list[str]:
    """Lines of a sentence folded to a width; a word longer than that stands alone and whole."""
    from textwrap import TextWrapper

    return TextWrapper(
        max(width, 20), initial_indent=indent, subsequent_indent=hang, break_on_hyphens=False,
        break_long_words=False,
    ).wrap(text)  # fmt: skip


def print_indented(console: Console, text: str, depth: int, style: str = "") -> None:
    """Print a sentence folded to the window, indented by its depth."""
    from rich.text import Text

    indent = " " * min(2 * depth, console.width // 3)
    hang = indent + "   " * text.startswith("-> ")
    for line in wrapped(text, console.width, indent, hang):
        console.print(Text(line, style=style), soft_wrap=True)


def sentence(finding: Finding) -> str:
    """The finding's sentence."""
    text = finding.because[:1].upper() + finding.because[1:]
    return text if text.endswith(".") else text + "."


def print_extras(console: Console, report: Report) -> None:
    """Print what the build forces: parts, work, joints."""
    if report.extra_parts:
        print_heading(console, f"EXTRA PARTS ({len(report.extra_parts)})")
        print_rows(console, [(f"{p.count} x", p.part, p.because) for p in report.extra_parts])
    if report.extra_work:
        hours = sum((Decimal(entry.hours) for entry in report.extra_work), Decimal(0))
        print_heading(console, f"EXTRA WORK ({len(report.extra_work)}, {hours} h)")
        rows = [(f"{w.hours} h", f"{w.name} ({w.work})", w.because) for w in report.extra_work]
        print_rows(console, rows)
    if report.opened_joints:
        print_heading(console, f"JOINTS OPENED ({len(report.opened_joints)})")
        print_rows(console, [("", joint.name, joint.because) for joint in report.opened_joints])


def print_rows(console: Console, rows: Iterable[tuple[str, str, str]]) -> None:
    """Print rows of three columns: the first to the right, the others folded to the window."""
    from rich.text import Text

    rows = list(rows)
    if not rows:
        return
    first = 2 + max(len(row[0]) for row in rows)
    room = max(console.width - first - 4, 20)
    longest = max(len(row[1]) for row in rows)
    second = longest if longest <= room * 0.6 else max(room // 2, min(longest, 26))
    third = room - second
    for left, middle, right in rows:
        lines = wrapped(middle, second) or [""]
        tails = (wrapped(right, third) if third >= 20 else []) if right else []
        for number in range(max(len(lines), len(tails))):
            text = Text(f"{left if number == 0 else '':>{first}}  ")
            text.append(lines[number] if number < len(lines) else "")
            if number < len(tails):
                text.pad_right(first + 4 + second - len(text))
                text.append(tails[number], style="dim")
            text.rstrip()
            console.print(text, soft_wrap=True)
        if right and third < 20:
            # too narrow for a third column: below, set in
            for line in wrapped(right, console.width, " " * (first + 4), " " * (first + 4)):
                console.print(Text(line, style="dim"), soft_wrap=True)


def print_unknown(console: Console, report: Report) -> None:
    """Print what is not stated and should be measured."""
    if not report.unknown:
        return
    print_heading(console, f"NOT STATED, TO BE MEASURED ({len(report.unknown)})")
    rows = [
        ("", entry.spec, f"{entry.part or 'the build'}; asked by {', '.join(entry.rules)}")
        for entry in report.unknown
    ]
    print_rows(console, rows)
    print_indented(
        console, "Measure them and state them in the build: `measured: {SPEC: value with its unit}`.", 1
    )
