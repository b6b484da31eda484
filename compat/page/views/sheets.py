"""The bench sheet of a build, and the form for what is measured on it."""

from __future__ import annotations

from datetime import date
from typing import Literal

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from compat.page.at_bench import bench_of
from compat.page.handing import As, as_file, inside
from compat.page.showing import show
from compat.page.sittings import AtBench, desk_of
from compat.page.table import Name, table_of

__all__ = ["router"]

router = APIRouter()


@router.get("/sheet/{name}")
def sheet(
    request: Request,
    sitting: AtBench,
    name: Name,
    despite: bool = False,
    whole: bool = False,
    ending: As = "",
    form: Literal["xlsx", "csv", ""] = "",
) -> Response:
    """The bench sheet, to look at, save and print; with a form the table of what is to be measured."""
    from compat.bench.sheet import bench_sheet
    from compat.paper.sheet import sheet_document
    from compat.paper.sheet_form import measured_form

    desk = desk_of(request)
    if sitting.role == "counter":
        checked = table_of(request, sitting, name).checked()
    else:
        # the bench builds what is saved, whatever lies on the counter
        checked = bench_of(desk, name, sitting.units).checked
    made = bench_sheet(checked, sitting.units, whole=whole)
    against = [finding for finding in made.against if finding.verdict != "unknown"]
    count = f"{len(against)} finding{'s' * (len(against) != 1)} against it"
    why = f"{made.report.build} does not go together: {count}, so no sheet is given"
    refused = not made.clean and not despite
    if refused and (ending or form):
        raise HTTPException(403, why)
    info, today = desk.library.shop.info, date.today()
    if form:
        document = measured_form(made, info, sitting.units, today)
        return as_file(request, document, form, f"measured-{made.report.build}")
    document = sheet_document(made, info, sitting.units, today)
    if ending == "xml":
        raise HTTPException(404)
    if ending:
        return as_file(request, document, ending, f"sheet-{made.report.build}")
    return show(
        request, "sheet.html", name=name, made=made, against=against, why=why if refused else "", whole=whole,
        despite=despite, paper=None if refused else inside(document),
    )  # fmt: skip
