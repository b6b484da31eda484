"""What the commands of the counter do: `find`, `parts`, `builds`, `quotes` and `history`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give
from compat.library.library import Library
from compat.shop.source import nearest

if TYPE_CHECKING:
    from compat.shop.source import Fault
    from compat.trade.filed import Filed

__all__ = [
    "Looked",
    "Span",
    "run_builds",
    "run_find",
    "run_history",
    "run_parts",
    "run_quotes",
    "run_quotes_again",
]


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
    give(builds_document(found, _currency(library)), paths, as_json)


@dataclass(frozen=True)
class Span:
    """Which kept quotes are meant, and the day on which they are looked at."""

    build: str
    since: date | None
    until: date | None
    on: date | None

    def found(self, library: Library) -> tuple[list[Filed], list[Fault]]:
        """Those that are meant, in the order of their days; and what could not be read."""
        from compat.trade.filed import filed, records
        from compat.trade.numbered import kept_quotes

        if self.since and self.until and self.until < self.since:
            stop(f"--until: {self.until} is before {self.since}")
        kept, faults = records(kept_quotes(library))
        found = sorted(map(filed, kept), key=lambda one: (one.on, one.number))
        known = [*library.shop.builds, *library.shop.variants, *(one.build for one in found)]
        if self.build and self.build not in known:
            hint = nearest(self.build, known)
            stop(f"no build or variant is called '{self.build}', and no quote is kept of one{hint}")
        first, last = self.since or date.min, self.until or date.max
        return [one for one in found if self.build in ("", one.build) and first <= one.on <= last], faults


def run_quotes(folder: Path, keep: bool, span: Span, out: Sequence[Path], as_json: bool) -> None:
    """List the kept quotes."""
    from compat.paper.counter import quotes_document

    paths = check_outs(out)
    found, faults = span.found(open_chosen(folder, keep))
    give(quotes_document(found, faults, span.on or date.today()), paths, as_json)


def run_quotes_again(
    folder: Path, keep: bool, span: Span, cores: int, out: Sequence[Path], as_json: bool
) -> int:
    """Reckon kept quotes again; gives the exit status."""
    from compat.cli.counted import STOPPED, Counted
    from compat.paper.again import again_document
    from compat.planning.again import QuotesAgain, again
    from compat.planning.processes import worth_beginning
    from compat.trade.numbered import kept_quotes

    paths = check_outs(out)
    library = open_chosen(folder, keep)
    meant, faults = span.found(library)
    numbers, on = [one.number for one in meant], span.on or date.today()
    counted = Counted()
    cores = cores or worth_beginning(len(numbers))
    told = counted.unless_stopped(
        lambda: again(folder, kept_quotes(library), numbers, on, cores, keep, counted)
    )
    if told is None:
        return STOPPED
    found = QuotesAgain(on, span.since, span.until, told, tuple(map(str, faults)))
    give(again_document(found), paths, as_json)
    return 1 if faults or len(found.of("same")) < len(told) else 0


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
