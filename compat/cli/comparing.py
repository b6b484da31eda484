"""The command `compare`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give

__all__ = ["run_compare"]


def run_compare(
    folder: Path,
    keep: bool,
    names: tuple[str, str],
    system: str,
    on: date | None,
    out: Sequence[Path],
    as_json: bool,
) -> None:
    """Put two builds side by side."""
    from compat.checking.session import Session
    from compat.paper.comparing import comparison_document
    from compat.planning.comparing import compare

    if names == ("-", "-"):
        stop("standard input holds one build; give the other by its id or its file")
    paths = check_outs(out)
    library = open_chosen(folder, keep, names)
    session = Session(library.shop, library.book, behind=library.answers)
    a, b = (session.check(named_build(library, name)) for name in names)
    day = on or date.today()
    give(comparison_document(compare(a, b, day, system), day, system), paths, as_json)
