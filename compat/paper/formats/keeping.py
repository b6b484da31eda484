"""Which rows of a table stay on one page: a group's heading with what follows, sums with what they sum."""

from __future__ import annotations

from collections.abc import Sequence

from compat.paper.document import Row

__all__ = ["kept_together"]


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
