"""What the columns of tables alike hold at the most, so that one setting of widths serves all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

__all__ = ["longest_held"]

TEXTS: Final = 12
"""Of so many texts that have most letters one is the widest."""
WORDS: Final = 6


def longest_held(tables: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The longest that each column holds in any of the tables, which all have the same columns.

    Parameters
    ----------
    tables : sequence of mappings
        Tables as the letter reads them: `columns` with `title`, `sort`, `share`; `rows` with `kind`, `cells`,
        `note`.

    Returns
    -------
    list of dict
        For each column its sort and share, the titles, the longest texts and words, and how many letters the
        longest small print has that stands in it.

    Examples
    --------
    >>> column = {"title": "Part", "sort": "text", "share": 1.0}
    >>> rows = [{"kind": "line", "cells": [text], "note": "new"} for text in ("stud, long", "nut")]
    >>> longest_held([{"columns": [column], "rows": rows}])[0]["texts"]
    ['stud, long', 'nut']
    """
    columns = tables[0]["columns"]
    rows = [row for table in tables for row in table["rows"]]
    noted = next((index for index, column in enumerate(columns) if column["sort"] == "text"), 0)
    return [
        {
            "sort": column["sort"],
            "share": column["share"],
            "titles": list(dict.fromkeys(table["columns"][index]["title"] for table in tables)),
            "texts": _longest((row["cells"][index] for row in rows if row["kind"] != "group"), TEXTS),
            "words": _longest(
                (word for row in rows if row["kind"] != "group" for word in row["cells"][index].split()), WORDS
            ),
            "note": max((len(row["note"]) for row in rows), default=0) if index == noted else 0,
        }
        for index, column in enumerate(columns)
    ]


def _longest(texts: Iterable[str], most: int) -> list[str]:
    return sorted(dict.fromkeys(texts), key=len, reverse=True)[:most]
