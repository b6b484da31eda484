"""One finding on a terminal: in full, in short, or on one line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from compat.paper.lines import print_indented, print_run_in
from compat.paper.screen import print_line
from compat.paper.visible import visible
from compat.units import show, unit
from compat.words.report import Finding
from compat.words.wording import told

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["STYLES", "in_short", "print_brief", "print_finding", "print_short", "sentence"]

STYLES = {
    "conflict": "bold red",
    "shortfall": "red",
    "missing": "magenta",
    "unknown": "yellow",
    "measure": "cyan",
    "caution": "yellow",
    "ok": "green",
}


def sentence(finding: Finding) -> str:
    """The finding's sentence."""
    text = finding.because[:1].upper() + finding.because[1:]
    return text if text.endswith(".") else text + "."


def print_finding(console: Console, finding: Finding, depth: int = 1) -> None:
    """Print a finding in full: title, figures, remedies."""
    print_run_in(console, [(finding.title, "bold"), (f"[{finding.rule}]", "dim")], depth, hang=0)
    body = sentence(finding)
    if finding.rests_on_estimate and finding.verdict != "ok":
        body += f" {estimates_text(finding.rests_on_estimate)}"
    print_indented(console, body, depth + 1)
    for taken in finding.taken:
        print_indented(console, f"{taken}.", depth + 1, "dim")
    for remedy in finding.remedies:
        print_indented(console, f"-> {remedy}", depth + 1)
    for advice in finding.advice:
        print_indented(console, f"   {advice}", depth + 1)


def estimates_text(names: Iterable[str]) -> str:
    """The estimates a finding rests on: the first two by name, the others by their number.

    >>> estimates_text(["air_flow"]), estimates_text(["air_flow", "fuel_flow", "heat", "drop"])
    ('Rests on an estimate: air flow.', 'Rests on estimates: air flow, fuel flow and 2 more.')
    """
    words = list(dict.fromkeys(name.replace("_", " ").replace(".", " ") for name in names))
    first, rest = words[:2], len(words) - 2
    listing = ", ".join(first) + (f" and {rest} more" if rest > 0 else "")
    return f"Rests on {'an estimate' if len(words) == 1 else 'estimates'}: {listing}."


def in_short(finding: Finding, system: str = "metric") -> str:
    """What was found, in a few words behind the title.

    Parameters
    ----------
    finding : Finding
        The finding.
    system : str
        ``metric`` or ``imperial``.

    Returns
    -------
    str
        Value and limit, headroom and what is asked, or, where there is no number, the sentence.

    Examples
    --------
    >>> in_short(Finding("a", "conflict", "", "", value=-3.8, limit=-0.1, at_least=-0.1, unit="mm"))
    '-3.800 mm, at least -0.100'
    >>> in_short(Finding("a", "shortfall", "", "", load=360.0, headroom=-0.33, headroom_asked=0.15))
    'headroom -33%, 15% asked'
    >>> in_short(Finding("a", "shortfall", "", "", value=10.02, limit=10.0, at_most=10.0, unit="%"))
    '10.0 %, just over 10.0, the most allowed'
    """
    if finding.headroom is not None:
        asked = finding.headroom_asked or 0.0
        if finding.headroom < asked and f"{finding.headroom:.0%}" == f"{asked:.0%}":
            return f"headroom just below the {asked:.0%} asked"
        text = f"headroom {finding.headroom:.0%}"
        if finding.low is not None and finding.headroom >= (finding.headroom_asked or 0.0):
            text += f", {finding.low:.0%} at worst"
        return f"{text}, {finding.headroom_asked or 0.0:.0%} asked"
    if finding.verdict == "unknown" and finding.unstated:
        return f"not stated: {', '.join(finding.unstated)}"
    if finding.reason:
        return finding.because
    if finding.value is None:
        return finding.because.partition(". ")[0].rstrip(".")
    own = unit("" if finding.unit == "number" else finding.unit)
    low = finding.value if finding.low is None else finding.low
    half = abs(finding.value - low) * own.factor
    text = told(own.to_si(finding.value), finding.unit, half, system)
    if half and finding.verdict in ("measure", "caution"):
        ends = (
            told(own.to_si(finding.value) + side, finding.unit, half, system, bare=True)
            for side in (-half, half)
        )
        text += f" ({' to '.join(ends)})"
    if finding.limit is not None:
        limit = show(own.to_si(finding.limit), finding.unit, system, bare=True)
        least = finding.limit == finding.at_least
        beyond = finding.value < finding.limit if least else finding.value > finding.limit
        if beyond and told(own.to_si(finding.value), finding.unit, half, system, bare=True) == limit:
            how = "just under" if least else "just over"
            text += f", {how} {limit}, the {'least' if least else 'most'} allowed"
        else:
            text += f", at {'least' if least else 'most'} {limit}"
    return text


def print_short(console: Console, finding: Finding, says: str, depth: int = 1, *, named: bool = False) -> None:
    """Print a finding as one paragraph: title, id, and what is said of it in short.

    What does not stand against the build takes one line and what does two, cut where they must be; a reason
    stands whole.
    """
    pieces = [(finding.title, "bold"), (f"[{finding.rule}]", "dim"), (says, "")]
    if named:
        pieces.insert(0, (f"{finding.verdict.upper()}:", STYLES[finding.verdict]))
    most = 1 if finding.verdict in ("measure", "caution", "ok") else 2
    print_run_in(console, pieces, depth, most=None if finding.reason else most)


def print_brief(console: Console, finding: Finding, says: str) -> None:
    """Print a finding on one line: whole into a file or pipe, cut to the window on a terminal."""
    text = visible(f"{finding.rule}: {finding.title}{f': {says}' if says else ''}")
    print_line(console, (f"{finding.verdict:<9} ", STYLES[finding.verdict]), (text, "default"), cut=True)
