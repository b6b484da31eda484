"""The table of loads on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compat.checking.report import Report
from compat.units import preferred, show, unit

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["print_loads"]


def print_loads(console: Console, report: Report, system: str = "metric") -> None:
    """Print what the goal asks, and every load with its capacity and headroom.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    report : Report
        A report with its figures computed.
    system : str
        ``metric`` or ``imperial``.
    """
    from rich.table import Table
    from rich.text import Text

    console.print()
    console.print(Text("WHAT THE GOAL ASKS", style="bold"))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column()
    table.add_column(justify="right")
    table.add_column(style="dim")
    for entry in report.figures.values():
        if "value" not in entry:
            table.add_row(f"  {entry['name']}", "not known", entry["not_known"])
            continue
        own = unit(entry["unit"])
        value = show(own.to_si(entry["value"]), entry["unit"], system)
        half = entry["half_width"] * own.factor / unit(preferred(entry["unit"], system)).factor
        table.add_row(f"  {entry['name']}", value, f"±{half:.2g}" if half else "")
    console.print(table)
    found = [f for f in report.findings if f.load is not None and f.capacity is not None]
    if not found:
        return
    console.print()
    console.print(Text("LOAD AND CAPACITY", style="bold"))
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim")
    for title, justify in (("", "left"), ("load", "right"), ("capacity", "right"), ("headroom", "right"),
                           ("asked", "right"), ("at worst", "right")):  # fmt: skip
        table.add_column(title, justify=justify)  # type: ignore[arg-type]
    for finding in sorted(
        found, key=lambda f: (f.headroom if f.headroom is not None else 99) - (f.headroom_asked or 0)
    ):
        own = unit(finding.unit)
        table.add_row(
            f"  {finding.title}",
            show(own.to_si(finding.load or 0.0), finding.unit, system),
            show(own.to_si(finding.capacity or 0.0), finding.unit, system),
            "-" if finding.headroom is None else f"{finding.headroom:.0%}",
            "-" if finding.headroom_asked is None else f"{finding.headroom_asked:.0%}",
            "" if finding.low is None else f"{finding.low:.0%}",
        )
    console.print(table)
