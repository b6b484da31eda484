"""What a build forces beside its findings: parts, work, opened joints, and what is to be measured."""

from __future__ import annotations

from collections.abc import Sequence, Set
from decimal import Decimal
from typing import TYPE_CHECKING

from compat.paper.lines import print_heading, print_indented, print_rows
from compat.words.report import ExtraPart, Report, TakenFigure, UnknownSpec

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["counted_part", "print_extras"]


def print_extras(
    console: Console, report: Report, *, reasons: bool = True, told: Set[str] = frozenset()
) -> None:
    """Print what the build forces: parts, work, joints, unstated specs.

    Parameters
    ----------
    console : Console
        Where to.
    report : Report
        The report.
    reasons : bool
        Say of each why; without, what stands elsewhere in the report is not said again.
    told : set of str
        Parts that were told where they are missing, with how many it takes.
    """
    parts = [part for part in report.extra_parts if not part.held_back]
    if parts:
        print_heading(console, f"EXTRA PARTS ({len(parts)})")
        print_parts(console, report, parts, reasons=reasons, told=told)
    works = [work for work in report.extra_work if not work.held_back]
    if works:
        hours = sum((Decimal(entry.hours) for entry in works), Decimal(0))
        print_heading(console, f"EXTRA WORK ({len(works)}, {hours} h)")
        if reasons:
            print_rows(console, [(f"{w.hours} h", f"{w.name} ({w.work})", w.because) for w in works])
        else:
            print_indented(console, f"{', '.join(f'{w.work} {w.hours} h' for w in works)}.", 1)
    print_held_back(console, report, reasons=reasons)
    if report.opened_joints and reasons:
        print_heading(console, f"JOINTS OPENED ({len(report.opened_joints)})")
        print_rows(console, [("", joint.name, joint.because) for joint in report.opened_joints])
    asked = {spec for f in report.findings if f.verdict == "unknown" and not reasons for spec in f.unstated}
    print_unknown(console, [entry for entry in report.unknown if entry.spec not in asked])

    print_taken(console, report.taken, reasons=reasons)


def print_taken(console: Console, taken: Sequence[TakenFigure], *, reasons: bool) -> None:
    """Print what the rulebook takes in place of what nobody stated; without reasons, which figures alone."""
    if not taken:
        return
    if not reasons:
        names = ", ".join(entry.figure.replace("_", " ") for entry in taken)
        print_indented(console, f"Not stated, taken as the rulebook says (--all tells): {names}.", 0)
        return
    print_heading(console, f"NOT STATED, TAKEN AS THE RULEBOOK SAYS ({len(taken)})")
    for entry in taken:
        number = len(entry.rules)
        on_it = f"{entry.rules[0]} rests on it" if number == 1 else f"{number} findings rest on it"
        print_indented(console, f"{entry.says}; {on_it}.", 1)


def print_held_back(console: Console, report: Report, *, reasons: bool) -> None:
    """Print what is not to be ordered or done before what stands against it is settled."""
    held = [(f"{p.count} x", p.part, p.position, p.held_back) for p in report.extra_parts if p.held_back]
    held += [(f"{w.hours} h", w.name, w.work, w.held_back) for w in report.extra_work if w.held_back]
    if not held:
        return
    print_heading(console, f"HELD BACK UNTIL THIS IS SETTLED ({len(held)})")
    rows = []
    for count, name, place, why in held:
        first, *more = why.split("; ")
        short = f"{first}; {len(more)} more" if more else first
        rows.append((count, name, f"{place}: {why if reasons else short}"))
    print_rows(console, rows)


def print_parts(
    console: Console, report: Report, parts: Sequence[ExtraPart], *, reasons: bool, told: Set[str]
) -> None:
    """Print parts to order, each with its position; without reasons what joints consume is a paragraph."""
    if reasons:
        rows = [(f"{p.count} x", p.part, f"{p.position}: {p.because}") for p in parts]
        print_rows(console, rows)
        return
    joints = {f"{joint.name} is opened" for joint in report.opened_joints}
    for consumed in (False, True):
        named = [
            counted_part(part, placed=not consumed)  # `renew: all` says where what joints consume goes
            for part in parts
            if (part.because in joints) is consumed and (consumed or part.part not in told)
        ]
        if before := sum(part.part in told and part.because not in joints for part in parts) * (not consumed):
            named = [f"{before} told above", *named]
        opened = f"{len(joints)} joint{'s' * (len(joints) != 1)} opened" if consumed else "The build"
        if named:
            verb = "consume" if len(joints) > 1 else "consumes"
            print_indented(console, f"{f'{opened} {verb}' if consumed else 'Missing'}: {', '.join(named)}.", 1)


def counted_part(part: ExtraPart, *, placed: bool = True) -> str:
    """How many of a part and, where its id does not say so itself, for which position.

    >>> counted_part(ExtraPart("cb-oil-tee", 2, "", position="oil_tee"))
    '2 x cb-oil-tee'
    >>> counted_part(ExtraPart("bm-washer-banjo", 1, "", position="banjo_washer"))
    'bm-washer-banjo (banjo_washer)'
    """
    said = not placed or part.position.replace("_", "-") in part.part
    return f"{f'{part.count} x ' * (part.count > 1)}{part.part}{'' if said else f' ({part.position})'}"


def print_unknown(console: Console, unknown: Sequence[UnknownSpec]) -> None:
    """Print what is not stated and should be measured."""
    if not unknown:
        return
    print_heading(console, f"NOT STATED, TO BE MEASURED ({len(unknown)})")
    rows = [
        ("", entry.spec, f"{entry.part or 'the build'}; asked by {', '.join(entry.rules)}") for entry in unknown
    ]
    print_rows(console, rows)
    print_indented(
        console, "Measure them and state them in the build: `measured: {SPEC: value with its unit}`.", 1
    )
