"""The command `sheet`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from compat.cli.checks import checked_build
from compat.cli.outs import check_outs, give
from compat.cli.refusing import tell_findings

__all__ = ["run_sheet"]

FORMS = (".xlsx", ".csv")
"""Endings that take the form for measured values rather than the sheet itself."""


def run_sheet(
    folder: Path,
    keep: bool,
    name: str,
    system: str,
    whole: bool,
    despite_findings: bool,
    out: Sequence[Path] | None,
    as_json: bool,
    measured: Sequence[Path] = (),
) -> int:
    """Make the bench sheet of a build and give it out; gives the exit status."""
    paths = check_outs(out)
    checked = checked_build(folder, keep, name, measured)
    from compat.bench.sheet import bench_sheet
    from compat.paper.sheet import sheet_document
    from compat.paper.sheet_form import measured_form

    sheet = bench_sheet(checked, system, whole=whole)
    if not sheet.clean and not despite_findings:
        against = [finding for finding in sheet.against if finding.verdict != "unknown"]
        tell_findings(
            f"{sheet.report.build} does not go together: {len(against)} finding{'s' * (len(against) != 1)} "
            "against it, so no sheet is given.",
            name,
            [(finding.verdict, finding.title, finding.because) for finding in against],
            "--despite-findings gives the sheet all the same, and they stand on its face.",
        )
        return 1
    info, today = checked.world.settled.shop.info, date.today()
    forms = [path for path in paths if path.suffix.lower() in FORMS]
    rest = [path for path in paths if path not in forms]
    if forms:
        give(measured_form(sheet, info, system, today), forms, False)
    if rest or as_json or not paths:
        document = sheet_document(sheet, info, system, today)
        give(document, rest, as_json)
    return 0
