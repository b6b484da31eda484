"""The table of loads on a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from compat.paper.terminal import print_heading, wrapped
from compat.units import show, unit
from compat.words.report import Finding, Report
from compat.words.wording import half_width, told

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["print_loads"]


def print_loads(console: Console, report: Report, system: str = "metric") -> None:
    """Print what the goal asks, and every load with its capacity and headroom, least to spare first.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    report : Report
        A report with its figures computed.
    system : str
        ``metric`` or ``imperial``.
    """
    print_heading(console, "WHAT THE GOAL ASKS")
    rows = [_figure(entry, system) for entry in report.figures.values()]
    print_numbers(console, ("", "", "either way"), [row for row in rows if row])
    if unknown := [(entry["name"], entry["not_known"]) for entry in report.figures.values()
                   if "value" not in entry]:  # fmt: skip
        from compat.paper.terminal import print_indented

        for name, gap in unknown:
            print_indented(console, f"{name}: not known; {gap}.", 1)
    found = [f for f in report.findings if f.load is not None and f.capacity is not None]
    if found:
        print_heading(console, "LOAD AND CAPACITY")
        titles = ("", "load", "capacity", "headroom", "asked", "at worst")
        print_numbers(console, titles, [_load(finding, system) for finding in sorted(found, key=_to_spare)])


def _figure(entry: Mapping[str, Any], system: str) -> tuple[str, ...]:
    if "value" not in entry:
        return ()
    own = unit(entry["unit"])
    half = entry["half_width"] * own.factor
    # a share that a search drove to zero is zero but for the last of its steps
    found = round(entry["value"], 3) + 0.0 if entry["unit"] == "%" else entry["value"]
    value = told(own.to_si(found), entry["unit"], half, system)
    return entry["name"], value, f"±{half_width(half, entry['unit'], system)}" if half else ""


def _to_spare(finding: Finding) -> float:
    return (finding.headroom if finding.headroom is not None else 99) - (finding.headroom_asked or 0)


def _load(finding: Finding, system: str) -> tuple[str, ...]:
    own = unit(finding.unit)
    return (
        finding.title,
        show(own.to_si(finding.load or 0.0), finding.unit, system),
        show(own.to_si(finding.capacity or 0.0), finding.unit, system),
        "-" if finding.headroom is None else f"{finding.headroom:.0%}",
        "-" if finding.headroom_asked is None else f"{finding.headroom_asked:.0%}",
        "" if finding.low is None else f"{finding.low:.0%}",
    )


def print_numbers(console: Console, titles: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    """Print a table: names to the left, folded, and columns of numbers to the right.

    In a window too narrow for the columns the numbers stand below their name.
    """
    from rich.text import Text

    table = [titles, *rows] if any(titles) else rows
    widths = [max((len(row[i]) for row in table), default=0) for i in range(1, len(titles))]
    room = console.width - sum(widths) - 2 * len(widths) - 2
    if room < 24:
        for row in rows:
            numbers = ", ".join(
                f"{title} {text}".strip() for title, text in zip(titles[1:], row[1:], strict=True) if text
            )
            for line in wrapped(row[0], console.width, "  ", "  "):
                console.print(Text(line), soft_wrap=True)
            for line in wrapped(numbers, console.width, "    ", "    "):
                console.print(Text(line, style="dim"), soft_wrap=True)
        return
    name_width = min(room, max(len(row[0]) for row in table))
    for number, row in enumerate(table):
        lines = wrapped(row[0], name_width) or [""]
        columns = "".join(f"  {text:>{width}}" for text, width in zip(row[1:], widths, strict=True))
        for index, line in enumerate(lines):
            tail = columns if index == len(lines) - 1 else ""
            text = f"  {line:<{name_width}}{tail}".rstrip()
            console.print(Text(text, style="dim" if number == 0 and any(titles) else ""), soft_wrap=True)
