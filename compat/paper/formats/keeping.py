"""Rows of a table that belong together on a page, and rows that stand out."""

from __future__ import annotations

from collections.abc import Sequence

from compat.paper.document import Row

__all__ = ["kept_together", "standing_out"]


def kept_together(rows: Sequence[Row]) -> list[tuple[int, int]]:
    """Runs of rows that no page break goes through.

    A group row is held to the row below it; sums that follow one another are held to each other and to the two
    lines above them.

    Parameters
    ----------
    rows : Sequence[Row]
        Rows of a table.

    Returns
    -------
    list of (int, int)
        First row and count of rows of each run, from above; each run has two rows or more.

    Examples
    --------
    >>> line, total = Row([""]), Row([""], kind="total")
    >>> kept_together([Row([""], kind="group"), line, line, line, total, total])
    [(0, 2), (2, 4)]
    """
    held = [False] * len(rows)  # whether no page may break below this row
    for index, row in enumerate(rows[:-1]):
        below = rows[index + 1].kind
        after = rows[index + 2].kind if index + 2 < len(rows) else ""
        held[index] = (
            row.kind == "group" or below == "total" or (row.kind == below == "line" and after == "total")
        )
    runs, first = [], 0
    for index in range(len(rows)):
        if not held[index]:
            if index > first:
                runs.append((first, index - first + 1))
            first = index + 1
    return runs


def standing_out(rows: Sequence[Row]) -> list[bool]:
    """Which rows are set in strong letters.

    Parameters
    ----------
    rows : Sequence[Row]
        Rows of a table.

    Returns
    -------
    list of bool
        For each row: group rows, rows that say so, and the last of sums among which none says so.

    Examples
    --------
    >>> net, total = Row(["net"], kind="total"), Row(["total"], kind="total")
    >>> standing_out([Row(["line"]), net, total]), standing_out([Row(["all"], kind="total", strong=True), net])
    ([False, False, True], [True, False])
    """
    strong = [row.strong or row.kind == "group" for row in rows]
    last = len(rows) - 1
    said = False
    for index, row in enumerate(rows):
        if row.kind != "total":
            said = False
            continue
        said = said or row.strong
        if not said and (index == last or rows[index + 1].kind != "total"):
            strong[index] = True
    return strong
