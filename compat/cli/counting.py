"""What the commands of the counter do: `find`, `parts`, `builds`, `quotes` and `history`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give
from compat.library.library import Library
from compat.shop.source import nearest

__all__ = ["Looked", "run_builds", "run_find", "run_history", "run_parts", "run_quotes"]


@dataclass(frozen=True)
class Looked:
    """What was typed."""

    words: tuple[str, ...]
    build: str
    order: str
    supplier: str
    stock: bool
    most: int
    system: str
    on: date | None
    out: Sequence[Path]
    as_json: bool


def run_find(folder: Path, keep: bool, looked: Looked) -> int:
    """Find parts; gives the exit status."""
    from compat.planning.finding import Asked, find

    if not any(word.strip() for word in looked.words) and not (looked.supplier or looked.stock or looked.build):
        stop("say what to find: words, a size, --supplier ID, --stock or --for BUILD")
    paths = check_outs(looked.out)
    library = open_chosen(folder, keep)
    session = ready = None
    if looked.build:
        from compat.checking.session import Session
        from compat.cli.builds import named_build

        ready = named_build(library, looked.build)
        session = Session(library.shop, library.book, behind=library.answers)
    asked = Asked(
        looked.words, looked.on or date.today(), looked.order, looked.most, looked.supplier, looked.stock
    )
    found = find(library.shop, asked, session, ready, looked.system)
    if session is not None and library.answers is not None:
        library.answers.write()
    from compat.paper.counter import found_document

    name = ready.build.build if ready is not None else ""
    give(found_document(found, library.shop, looked.words, name), paths, looked.as_json)
    return 0 if found.hits else 1


def run_parts(
    folder: Path, keep: bool, position: str, on: date | None, out: Sequence[Path], as_json: bool
) -> None:
    """List the parts of a position."""
    from compat.paper.counter import parts_document
    from compat.planning.finding import parts_of

    paths = check_outs(out)
    library = open_chosen(folder, keep)
    wares = parts_of(library.shop, position, on or date.today())
    give(parts_document(wares, library.shop, position), paths, as_json)


def run_builds(
    folder: Path, keep: bool, priced: bool, system: str, on: date | None, out: Sequence[Path], as_json: bool
) -> None:
    """List the builds."""
    from compat.paper.counter import builds_document
    from compat.planning.history import list_builds
    from compat.trade.numbered import kept_quotes

    paths = check_outs(out)
    library = open_chosen(folder, keep)
    session = None
    if priced:
        from compat.checking.session import Session

        session = Session(library.shop, library.book, behind=library.answers)
    found = list_builds(library.shop, kept_quotes(library), on or date.today(), system, session)
    if session is not None and library.answers is not None:
        library.answers.write()
    give(builds_document(found, _currency(library)), paths, as_json)


def run_quotes(
    folder: Path, keep: bool, build: str, on: date | None, out: Sequence[Path], as_json: bool
) -> None:
    """List the kept quotes."""
    from compat.paper.counter import quotes_document
    from compat.trade.filed import filed, records
    from compat.trade.numbered import kept_quotes

    paths = check_outs(out)
    library = open_chosen(folder, keep)
    kept, faults = records(kept_quotes(library))
    found = sorted(map(filed, kept), key=lambda one: (one.on, one.number))
    known = [*library.shop.builds, *library.shop.variants, *(one.build for one in found)]
    if build and build not in known:
        stop(f"no build or variant is called '{build}', and no quote is kept of one{nearest(build, known)}")
    of_it = [one for one in found if build in ("", one.build)]
    give(quotes_document(of_it, faults, on or date.today()), paths, as_json)


def run_history(
    folder: Path, keep: bool, part: str, on: date | None, out: Sequence[Path], as_json: bool
) -> None:
    """Tell where a part stands."""
    from compat.paper.counter import history_document
    from compat.planning.history import history
    from compat.trade.numbered import kept_quotes

    paths = check_outs(out)
    library = open_chosen(folder, keep)
    found = history(library.shop, part, kept_quotes(library), on or date.today())
    give(history_document(found, _currency(library)), paths, as_json)


def _currency(library: Library) -> str:
    return library.shop.info.currency if library.shop.info is not None else ""
