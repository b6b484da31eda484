"""The table of loads on a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from compat.paper.lines import print_heading, print_indented, print_numbers
from compat.units import show, unit
from compat.words.report import Finding, Report
from compat.words.wording import half_width, told

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["print_loads"]


def print_loads(console: Console, report: Report, system: str = "metric") -> None:
    """Print what the goal asks, and every load with its capacity and headroom, least to spare first.

    Parameters
    ----------
    console : Console
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
