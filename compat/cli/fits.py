"""The command `fits`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give
from compat.shop.source import nearest

__all__ = ["run_fits"]


def run_fits(
    folder: Path,
    keep: bool,
    name: str,
    build: str,
    system: str,
    reasons: bool,
    out: Sequence[Path],
    as_json: bool,
) -> None:
    """Tell what goes into a position of a build, or where a part goes in."""
    from compat.checking.session import Session
    from compat.paper.fitting import fits_document, places_document
    from compat.planning.fitting import fits, where_it_fits

    paths = check_outs(out)
    library = open_chosen(folder, keep, [build] if build else [])
    shop = library.shop
    session = Session(shop, library.book, behind=library.answers)
    if name in shop.positions:
        if not build:
            stop(f"say on which build: `compat fits {name} BUILD`")
        ready = named_build(library, build)
        found = fits(session, ready, name, system)
        document = fits_document(found, shop.positions[name].name, ready.build.name, reasons)
    elif name in shop.parts:
        if build:
            stop(f"'{name}' is a part, and is looked at on every variant; a build goes with a position")
        document = places_document(where_it_fits(session, name, system), shop.parts[name].name, reasons)
    else:
        hint = nearest(name, [*shop.positions, *shop.parts])
        stop(f"'{name}' is neither a position nor a part of this shop{hint}")
    give(document, paths, as_json)
